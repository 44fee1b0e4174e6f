"""An archive taken into a record: whole or not at all, each firing under a new number, and nothing twice."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from itertools import takewhile
from pathlib import Path
from typing import Any

import sqlite_utils

from daemon.archive.names import PHOTOGRAPH_FILE
from daemon.archive.read_in import FiringIn, check_rest, firings_of, studio_of
from daemon.archive.source import Source
from daemon.store import kilns
from daemon.store.chain import contents, links, source_file
from daemon.store.chain.check import faults, kept
from daemon.store.chain.links import own_of
from daemon.store.database import insert, transaction
from daemon.store.photographs import FOLDER as PICTURES
from daemon.store.readings import keep_thinned
from daemon.store.schema.plan_words import plan_words
from daemon.store.stamps import moment


@dataclass
class TakenIn:
    """What came of it.

    Attributes
    ----------
    numbers
        Of each firing that was taken, the number it had and the one it has now.
    here
        Of each firing that is here already, the number it had and the one it has here.
    differs
        Of those the ones, by the number they have here, of which the archive has another or a later state.
    """

    numbers: dict[int, int] = field(default_factory=dict)
    here: dict[int, int] = field(default_factory=dict)
    differs: list[int] = field(default_factory=list)
    photographs: int = 0


Progress = Callable[[Iterable[FiringIn]], Iterable[FiringIn]]


def check_all(source: Source, progress: Progress = iter) -> tuple[dict[str, Any], int, int]:
    """Read an archive through; return its studio, and how many firings and photographs it has.

    Raises
    ------
    BadInput
        Where anything in it can't be used.
    """
    studio = studio_of(source)
    count = sum(1 for _ in progress(firings_of(source, studio)))
    return studio, count, check_rest(source)


def take_in(source: Source, db: sqlite_utils.Database, data: Path, utc: datetime,
            progress: Progress = iter) -> TakenIn:
    """Check an archive, then take it into a record in one transaction.

    Parameters
    ----------
    source
        The archive.
    db
        The record, open for writing.
    data
        The data folder.
    utc
        Wall time, for firings that have no chain yet.
    progress
        Called with the firings when they are checked and when they are taken, yields them again.

    Raises
    ------
    BadInput
        Where anything in it can't be used; record and photographs are as before.
    OSError, sqlite3.Error
        Where the disk refuses; record and photographs are as before.
    """
    studio, _, _ = check_all(source, progress)
    done = TakenIn()
    new: list[Path] = []
    try:
        _take_photographs(source, data / PICTURES, new)
        with transaction(db):
            _Taking(source, db, studio, utc, done).take(progress(firings_of(source, studio)))
    except sqlite3.IntegrityError as err:
        _remove(new)
        raise source.refuse("", f"has rows that can't stand side by side ({err}).") from None
    except BaseException:
        _remove(new)
        raise
    done.photographs = sum(path.name.endswith("-whole.jpg") for path in new)
    return done


class _Taking:
    """Inserts what an archive holds; kilns, plans and pieces that are here already are used."""

    def __init__(self, source: Source, db: sqlite_utils.Database, studio: dict[str, Any], utc: datetime,
                 done: TakenIn) -> None:
        self._source, self._db, self._utc, self._done = source, db, utc, done
        self._kilns = {kiln["kiln"]: self._kiln(kiln) for kiln in studio["kilns"]}
        self._pieces: dict[int, int] = {}
        for piece in studio["pieces"]:
            self._pieces[piece["piece"]] = self._piece(piece)
        self._plans: dict[int, int] = {}
        self._only_for: dict[int, int] = {}
        for plan in studio["plans"]:
            self._plan(plan)

    def take(self, found: Iterable[FiringIn]) -> None:
        """Insert the firings that are not here."""
        for one in found:
            number = one.kept["number"]
            here = self._same(one)
            if here is None:
                self._done.numbers[number] = self._firing(one)
                continue
            self._done.here[number] = here
            if one.chain and one.chain[-1].head not in {link.head for link in links.links(self._db, here)}:
                self._done.differs.append(here)
        numbers = {**self._done.here, **self._done.numbers}
        for plan, firing in self._only_for.items():
            self._db.execute("UPDATE plan SET only_for = ? WHERE plan_id = ?", [numbers.get(firing), plan])

    def _same(self, one: FiringIn) -> int | None:
        """Return the firing here that began at the same second of the same boot, with the same first readings."""
        first = [list(row) for row in takewhile(
            lambda row: row[0] // contents.BLOCK_S == one.rows[0][0] // contents.BLOCK_S, one.rows)]
        facts = one.kept["firing"]
        for (number,) in self._db.execute(
                "SELECT firing_id FROM firing WHERE start_boot_id = ? AND start_clock_s = ? AND emptied_utc IS NULL",
                [facts["start_boot_id"], facts["start_clock_s"]]).fetchall():
            lowest = self._db.execute("SELECT min(t_s) FROM reading WHERE firing_id = ?", [number]).fetchone()[0]
            block = None if lowest is None else lowest // contents.BLOCK_S
            here = [] if block is None else contents.one(self._db, number, contents.READINGS, block)
            if own_of(here) == own_of(first):
                return int(number)
        return None

    def _firing(self, one: FiringIn) -> int:
        """Insert a firing with all that belongs to it, and hold it against its chain."""
        db, kept_of = self._db, one.kept
        facts = dict(kept_of["firing"])
        facts.pop("plan_sha256")
        kiln = self._kilns[kept_of["kiln"]]
        probe = kilns.probe_id(db, kiln, facts.pop("probe"), facts.pop("thermocouple_type"))
        plan = None if kept_of["plan"] is None else self._plans[kept_of["plan"]]
        number = insert(db, "firing", {**facts, "kiln_id": kiln, "probe_id": probe, "plan_id": plan})
        for piece in kept_of["pieces"]:
            db.execute("INSERT INTO firing_piece VALUES (?, ?)", [number, self._pieces[piece]])
        db.conn.executemany("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?)", ((number, *row) for row in one.rows))
        self._rows("part", number, [{"seq": seq, **part} for seq, part in enumerate(kept_of["parts"])])
        self._alerts(number, kept_of)
        for table in ("said", "note", "judgement", "gap", "clock_mark", "milestone", "meter_reading"):
            self._rows(table, number, kept_of[table])
        for table in ("outcome", "photograph"):
            self._rows(table, number, [self._of_piece(row) for row in kept_of[table]])
        self._source_file(one, number)
        keep_thinned(db, number)
        self._chain(one, number)
        return number

    def _source_file(self, one: FiringIn, number: int) -> None:
        """Insert the file that a firing was taken in from, where it was."""
        said = one.kept.get("source")
        if said is not None:
            data = b"".join(self._source.blocks(one.name.removesuffix("firing.json") + "source.csv"))
            source_file.put(self._db, number, said["name"], data, moment(said["kept_utc"]))

    def _chain(self, one: FiringIn, number: int) -> None:
        """Insert the links as they are, and look whether the record gives back what they are of."""
        if not one.chain:
            links.adopt(self._db, number, self._utc)
            return
        self._db.conn.executemany("INSERT INTO link VALUES (?, ?, ?, ?, ?, ?)",
                                  ((number, *link) for link in one.chain))
        if faults(links.links(self._db, number), kept(self._db, number), is_open=False):
            raise self._source.refuse(one.name, "does not come back from the record as it was written into it.")

    def _alerts(self, number: int, kept_of: dict[str, Any]) -> None:
        """Insert the alerts and their steps."""
        ids = {alert["no"]: insert(self._db, "alert", {"firing_id": number, **alert}) for alert in kept_of["alert"]}
        for told in kept_of["told"]:
            row = dict(told)
            insert(self._db, "transition", {"alert_id": ids[row.pop("alert_no")], **row})

    def _rows(self, table: str, number: int, rows: list[dict[str, Any]]) -> None:
        """Insert rows of a firing."""
        for row in rows:
            self._insert(table, {"firing_id": number, **row})

    def _of_piece(self, row: dict[str, Any]) -> dict[str, Any]:
        """Return a row with the number that its piece has here."""
        row = dict(row)
        piece = row.pop("piece")
        row.pop("piece_made_utc", None)
        if "words" in row:
            row["words"] = json.dumps(row["words"])
        return {"piece_id": None if piece is None else self._pieces[piece], **row}

    def _kiln(self, kiln: dict[str, Any]) -> int:
        """Return the kiln of that name here, made where there is none, with its changed parts and calibrations."""
        number = kilns.kiln_id(self._db, kiln["name"])
        changes: dict[int | None, int | None] = {None: None}
        for given in kiln["part_change"]:
            row = {"kiln_id": number, **given}
            old = row.pop("part_change")
            changes[old] = self._found("part_change", row, ("kiln_id", "part", "day", "wall_utc")) \
                or insert(self._db, "part_change", row)
        for given in kiln["calibration"]:
            if given["part_change"] not in changes:
                raise self._source.refuse("studio.json", f"part_change {given['part_change']} is not there.")
            row = {"kiln_id": number, **given}
            row["part_change_id"] = changes[row.pop("part_change")]
            if not self._found("calibration", row, ("kiln_id", "method", "wall_utc", "reading_c")):
                insert(self._db, "calibration", row)
        return number

    def _piece(self, piece: dict[str, Any]) -> int:
        """Return the piece of that name and making here, made where there is none, with its photographs.

        Two of an archive stay two, however alike.
        """
        row = {key: value for key, value in piece.items() if key not in ("piece", "photograph")}
        same = self._db.execute("SELECT piece_id FROM piece WHERE name = ? AND created_utc = ? ORDER BY piece_id",
                                [row["name"], row["created_utc"]]).fetchall()
        free = [number for (number,) in same if number not in self._pieces.values()]
        number = free[0] if free else insert(self._db, "piece", row)
        for photo in piece["photograph"]:
            of_piece = {"piece_id": number, **photo}
            if not self._found("photograph", of_piece, ("piece_id", "mark", "moment")):
                insert(self._db, "photograph", of_piece)
        return number

    def _plan(self, plan: dict[str, Any]) -> None:
        """Note the same plan here, made as the next free version of its title where there is none."""
        row = {key: value for key, value in plan.items() if key not in ("plan", "only_for")}
        found = self._found("plan", row, ("title", "toml"))
        if found is None:
            if self._found("plan", row, ("title", "version")):
                row["version"] = self._db.execute("SELECT max(version) + 1 FROM plan WHERE title = ?",
                                                  [row["title"]]).fetchone()[0]
            found = insert(self._db, "plan", {**row, "words": plan_words(row["toml"])})
            if plan["only_for"] is not None:
                self._only_for[found] = plan["only_for"]
        self._plans[plan["plan"]] = found

    def _found(self, table: str, row: dict[str, Any], same: tuple[str, ...]) -> int | None:
        """Return the key of the row that has the same values in the columns ``same``."""
        found = self._db.execute(f"SELECT {table}_id FROM {table} WHERE "
                                 + " AND ".join(f"{column} IS ?" for column in same),
                                 [row[column] for column in same]).fetchone()
        return None if found is None else int(found[0])

    def _insert(self, table: str, row: dict[str, Any]) -> None:
        """Insert a row by its columns."""
        self._db.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})",
                         list(row.values()))


def _take_photographs(source: Source, folder: Path, new: list[Path]) -> None:
    """Write the photographs that are not here, and note each in ``new``."""
    for name in sorted(source.sizes):
        if not PHOTOGRAPH_FILE.fullmatch(name):
            continue
        target = folder / name.rpartition("/")[2]
        if target.exists():
            continue
        folder.mkdir(exist_ok=True)
        part = target.with_name(target.name + ".part")
        try:
            with part.open("wb") as file:
                for block in source.blocks(name):
                    file.write(block)
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, target)
        finally:
            part.unlink(missing_ok=True)
        new.append(target)


def _remove(new: list[Path]) -> None:
    """Remove photographs that were written just now."""
    for path in new:
        path.unlink(missing_ok=True)
