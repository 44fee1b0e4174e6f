"""An archive read and checked, one firing at a time, before anything of it is taken into a record."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from itertools import groupby
from typing import Any

from daemon.archive import schema
from daemon.archive.names import FIRING_FILE, PHOTOGRAPH_FILE, STUDIO
from daemon.archive.source import Source
from daemon.errors import BadInput
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Text
from daemon.firing.plan.plan import parse_plan
from daemon.firing.text_json import text_of
from daemon.glass.materials import FAMILIES
from daemon.glass.reading import parse_glass
from daemon.store.chain import contents
from daemon.store.chain.check import Own, faults
from daemon.store.chain.links import Link, own_of
from daemon.store.chain.verify import Verified
from daemon.store.readings import FAULT_CODES, STEPS_PER_C
from daemon.store.stamps import moment

MOST_READINGS = 250_000
"""Readings of one firing. [derived: two weeks, at one every 5 s]"""
_JPEG = b"\xff\xd8"
"""How a photograph begins. [source: ITU-T T.81, table B.1, SOI]"""
_MOST_S = 10_000_000
"""No reading is later [s]. [chosen: 115 days]"""
_COLDEST_C, _HOTTEST_C = -273.15, 2400
"""What a thermocouple can read [°C]. [source: absolute zero; IEC 60584-1, type C, up to 2315 °C]"""
_THICKEST_MM = 1000
"""No piece is thicker [mm]. [chosen: beyond any kiln]"""
_FAULTS = {code: word for word, code in FAULT_CODES.items()}
Row = tuple[int, int | None, int | None, int | None, int | None]
"""A reading: second, 1/128 °C, below, above, fault."""


@dataclass(frozen=True, slots=True)
class FiringIn:
    """One firing of an archive, checked."""

    name: str
    """Its file."""
    kept: dict[str, Any]
    rows: list[Row]

    @property
    def chain(self) -> list[Link]:
        """Return its links; none where it had no chain when it was exported."""
        return [Link(no, link["kind"], link["ref"], bytes.fromhex(link["own"]), bytes.fromhex(link["head"]))
                for no, link in enumerate(self.kept["links"])]

    def owns(self) -> Iterator[Own]:
        """Yield all of it that can have a link, as ``daemon.store.chain.check.kept`` does."""
        yield contents.FIRING, 0, own_of(self.kept["firing"])
        for block, rows in groupby((list(row) for row in self.rows), contents.block_of):
            yield contents.READINGS, block, own_of(list(rows))
        yield contents.PARTS, 0, own_of(self.kept["parts"])
        for alert in self.kept["alert"]:
            yield contents.ALERT, alert["no"], own_of(alert)
        for kind in contents.NUMBERED:
            for ref, row in enumerate(self.kept[kind], start=1):
                yield kind, ref, own_of({key: value for key, value in row.items() if key != "piece"})
        for gap in self.kept["gap"]:
            yield contents.GAP, gap["from_s"], own_of(gap)
        for mark in self.kept["clock_mark"]:
            yield contents.CLOCK, mark["t_s"], own_of(mark)
        meter = next(iter(self.kept["meter_reading"]), None)
        for kind, content in ((contents.MILESTONES, self.kept["milestone"]), (contents.METER, meter),
                              (contents.SOURCE, self.kept.get("source"))):
            if content:
                yield kind, 0, own_of(content)


def studio_of(source: Source) -> dict[str, Any]:
    """Return ``studio.json``, checked.

    Raises
    ------
    BadInput
        Where it can't be used.
    """
    found: dict[str, Any] = source.json(STUDIO, schema.STUDIO)
    for key, rows in (("kiln", found["kilns"]), ("plan", found["plans"]), ("piece", found["pieces"])):
        numbers = [row[key] for row in rows]
        if len(set(numbers)) != len(numbers):
            raise source.refuse(STUDIO, f"has two rows of one {key} number.")
    for plan in found["plans"]:
        _usable(source, STUDIO, partial(parse_plan, plan["toml"], f"plan {plan['plan']}"))
    for piece in found["pieces"]:
        _glass(source, STUDIO, piece["glass"], piece["thickness_mm"])
        _has_files(source, STUDIO, piece["photograph"])
    return found


def firings_of(source: Source, studio: dict[str, Any]) -> Iterator[FiringIn]:
    """Yield the firings of an archive in order, each checked; only one is held at a time.

    Raises
    ------
    BadInput
        Naming the file, what is wrong in it, and of a changed chain the ten minutes.
    """
    names = sorted(name for name in source.sizes if FIRING_FILE.fullmatch(name))
    for name in names:
        kept = source.json(name, schema.FIRING)
        folder = name.removesuffix("/firing.json")
        if int(folder.rpartition("/")[2]) != kept["number"]:
            raise source.refuse(name, f"is of number {kept['number']}, and lies in {folder}.")
        _check_refers(source, name, kept, studio)
        _check_words(source, name, kept)
        _check_source(source, f"{folder}/source.csv", kept.get("source"))
        found = FiringIn(name, kept, list(_rows(source, f"{folder}/readings.csv")))
        _check_chain(source, found)
        yield found


def check_rest(source: Source) -> int:
    """Read through all but the studio and the firings; return how many photographs there are.

    Raises
    ------
    BadInput
        Where one holds other bytes than its name says.
    """
    count = 0
    for name in sorted(source.sizes):
        if name == STUDIO or name.endswith(("/firing.json", "/readings.csv", "/source.csv")):
            continue
        photo = PHOTOGRAPH_FILE.fullmatch(name)
        digest, begins = sha256(), b""
        for block in source.blocks(name):
            begins = begins or block[:len(_JPEG)]
            digest.update(block)
        if photo and begins != _JPEG:
            raise source.refuse(name, "is no JPEG.")
        if photo and photo[2] == "whole":
            count += 1
            if digest.hexdigest() != photo[1]:
                raise source.refuse(name, "is another picture than its name says.")
    return count


def _rows(source: Source, name: str) -> Iterator[Row]:
    """Yield the readings of ``readings.csv``."""
    if name not in source.sizes:
        raise source.refuse(name, "is missing.")
    try:
        lines = b"".join(source.blocks(name)).decode("ascii").splitlines()
    except UnicodeDecodeError:
        raise source.refuse(name, "holds bytes that no such file has.") from None
    if not lines or lines[0] != ",".join(schema.READINGS_COLUMNS):
        raise source.refuse(name, f"row 1 does not name the columns {','.join(schema.READINGS_COLUMNS)}.")
    if len(lines) > MOST_READINGS:
        raise source.refuse(name, f"has more than {MOST_READINGS} rows.")
    before = -1
    for number, line in enumerate(lines[1:], start=2):
        try:
            row = _row(line)
        except ValueError as err:
            raise source.refuse(name, f"row {number}: {err}.") from None
        if row[0] <= before:
            raise source.refuse(name, f"row {number}: second {row[0]} comes after second {before}.")
        before = row[0]
        yield row


def _row(line: str) -> Row:
    fields = line.split(",")
    if len(fields) != len(schema.READINGS_COLUMNS):
        raise ValueError(f"has {len(fields)} fields of {len(schema.READINGS_COLUMNS)}")
    if any(len(field) > 20 for field in fields):
        raise ValueError("has a field that is no number")
    t_s, steps, below, above, code = (int(field) if field else None for field in fields[:5])
    if t_s is None or not 0 <= t_s <= _MOST_S:
        raise ValueError(f"second {t_s} is outside 0 to {_MOST_S}")
    if steps is not None and not _COLDEST_C * STEPS_PER_C <= steps <= _HOTTEST_C * STEPS_PER_C:
        raise ValueError(f"{steps / STEPS_PER_C:.0f} °C can't be read")
    if any(span is not None and not 0 <= span <= _HOTTEST_C * STEPS_PER_C for span in (below, above)):
        raise ValueError("how far below or above it is can't be")
    if fields[5] != ("" if steps is None else repr(steps / STEPS_PER_C)):
        raise ValueError(f"celsius {fields[5]!a} is not {steps} steps of 1/{STEPS_PER_C} °C")
    if (code is not None and code not in _FAULTS) or fields[6] != _FAULTS.get(code or 0, ""):
        raise ValueError(f"fault {fields[6]!a} is not the one of its code")
    return t_s, steps, below, above, code


def _check_source(source: Source, name: str, said: dict[str, Any] | None) -> None:
    """Refuse a file of another logger that is not the one that the firing names."""
    if said is None or name not in source.sizes:
        if said is not None or name in source.sizes:
            raise source.refuse(name, "is missing." if said is not None else "belongs to no firing.")
        return
    digest, size = sha256(), 0
    for block in source.blocks(name):
        digest.update(block)
        size += len(block)
    if (size, digest.hexdigest()) != (said["bytes"], said["sha256"]):
        raise source.refuse(name, "is another file than the one that the firing was taken in from.")


def _check_refers(source: Source, name: str, kept: dict[str, Any], studio: dict[str, Any]) -> None:
    """Refuse a firing that refers to a kiln, plan, piece, photograph or alert that is not there."""
    plans = {plan["plan"]: plan["toml"] for plan in studio["plans"]}
    pieces = {piece["piece"]: piece["created_utc"] for piece in studio["pieces"]}
    if kept["kiln"] not in {kiln["kiln"] for kiln in studio["kilns"]}:
        raise source.refuse(name, f"kiln {kept['kiln']} is not in {STUDIO}.")
    if kept["plan"] is not None and kept["plan"] not in plans:
        raise source.refuse(name, f"plan {kept['plan']} is not in {STUDIO}.")
    is_of = None if kept["plan"] is None else sha256(plans[kept["plan"]].encode()).hexdigest()
    if kept["firing"]["plan_sha256"] != is_of:
        raise source.refuse(name, f"plan {kept['plan']} is another one than it was fired by.")
    named = [*kept["pieces"], *(row["piece"] for row in (*kept["outcome"], *kept["photograph"]))]
    for piece in named:
        if piece is not None and piece not in pieces:
            raise source.refuse(name, f"piece {piece} is not in {STUDIO}.")
    for row in kept["outcome"]:
        made_utc = None if row["piece"] is None else pieces[row["piece"]]
        if row.get("piece_made_utc", made_utc) != made_utc:
            raise source.refuse(name, f"an outcome is of a piece that was written down at {row['piece_made_utc']}, "
                                f"not of piece {row['piece']}.")
    numbers = [alert["no"] for alert in kept["alert"]]
    if len(set(numbers)) != len(numbers) or not {told["alert_no"] for told in kept["told"]} <= set(numbers):
        raise source.refuse(name, "its alerts are not numbered as their steps are.")
    _has_files(source, name, kept["photograph"])


def _has_files(source: Source, name: str, photographs: list[dict[str, Any]]) -> None:
    """Refuse a photograph whose small file is there and whose own is not; one that was lost before has neither."""
    for photo in photographs:
        there = [size for size in ("small", "thumb") if f"photographs/{photo['mark']}-{size}.jpg" in source.sizes]
        if there and f"photographs/{photo['mark']}-whole.jpg" not in source.sizes:
            raise source.refuse(name, f"photograph {photo['mark'][:12]} is there in small only.")


def _check_words(source: Source, name: str, kept: dict[str, Any]) -> None:
    """Refuse what the pages could not show: an unknown kind of alert, text that is no JSON, a glass that is none."""
    facts = kept["firing"]
    _glass(source, name, facts["glass"], facts["thickness_mm"])
    if facts["speed"] <= 0 or facts["ended_s"] < 0:
        raise source.refuse(name, f"speed {facts['speed']} or end {facts['ended_s']} s can't be.")
    known = {kind.name for kind in KINDS}
    for alert in kept["alert"]:
        kinds = {alert["kind"], *([] if alert["under"] is None else [alert["under"]])}
        if not kinds <= known:
            raise source.refuse(name, f"alert {alert['no']} is of a kind that is unknown here: "
                                f"{ascii(sorted(kinds - known)[0])[:60]}.", "Update Lehrling first: lehrling update.")
        _usable(source, name, partial(_words_of, alert))
    for judged in kept["judgement"]:
        if not isinstance(_json(source, name, judged["told"]), dict):
            raise source.refuse(name, "a verdict is no JSON object.")


def _words_of(alert: dict[str, Any]) -> None:
    """Read what an alert said as a page does."""
    try:
        tuple((float(t_s), str(kind)) for t_s, kind in json.loads(alert["named"]))
        text_of(Text(alert["what"], alert["meaning"], alert["advice"], alert["time_left_s"]),
                json.loads(alert["pieces"]))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise BadInput(f"alert {alert['no']}", "what it said in pieces can't be read.") from None


def _json(source: Source, name: str, text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise source.refuse(name, "a verdict is no JSON.") from None


def _glass(source: Source, name: str, glass: str, thickness_mm: float) -> None:
    if glass not in FAMILIES:
        _usable(source, name, partial(parse_glass, glass, "its glass"))
    if not 0 < thickness_mm <= _THICKEST_MM:
        raise source.refuse(name, f"a thickness of {thickness_mm:g} mm can't be.")


def _usable(source: Source, name: str, read: Callable[[], object]) -> None:
    """Refuse what ``read`` refuses, naming the file of the archive."""
    try:
        read()
    except BadInput as err:
        raise source.refuse(name, f"{err.where}: {err.problem}") from None


def _check_chain(source: Source, found: FiringIn) -> None:
    """Refuse a firing that is not as it was kept."""
    if not found.kept["links"]:
        return
    wrong = faults(found.chain, found.owns(), is_open=False)
    if wrong:
        facts = found.kept["firing"]
        seen = Verified(found.kept["number"], facts["title"], moment(facts["started_utc"]), 1, None, "", "changed",
                        tuple(wrong))
        began = moment(facts["started_utc"]).tzinfo
        assert began is not None
        raise source.refuse(found.name, f"is not as it was kept. {seen.sentences(began)[0]}")
