"""What ``lehrling archive`` prints, as lines and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import tzinfo
from pathlib import Path
from typing import Any

from daemon.archive.export import Written
from daemon.archive.take_in import TakenIn
from daemon.firing.durations import duration
from daemon.firing.units import Units
from daemon.store.chain.verify import Verified
from daemon.store.firings import Firing
from daemon.store.plans import StoredPlan
from daemon.store.readings import STEPS_PER_C


def verified_lines(found: Verified, zone: tzinfo | None) -> Iterator[str]:
    """Yield the line of a firing, and what is wrong with it below."""
    day = "          " if found.started_utc is None else f"{found.started_utc.astimezone(zone):%Y-%m-%d}"
    said = {"whole": found.mark, "changed": "NOT AS IT WAS KEPT", "unchained": "no chain yet: from the next night on",
            "emptied": "deleted", "missing": "MISSING"}[found.state]
    since = "" if found.chained_utc is None else (
        f" (chained on {found.chained_utc.astimezone(zone):%Y-%m-%d}; says nothing of before)")
    yield f"{found.firing_id:>5}  {day}  {said:<23}  {found.title}{since}".rstrip()
    if found.state in ("changed", "missing"):
        yield from (f"         {sentence}" for sentence in found.sentences(zone))


def verified_json(found: Verified, zone: tzinfo | None) -> dict[str, Any]:
    """Return what was found of a firing; a place is a kind and its number, of readings the ten minutes from 0."""
    return {
        "number": found.firing_id, "title": found.title, "state": found.state, "mark": found.mark or None,
        "links": found.links,
        "started_utc": None if found.started_utc is None else found.started_utc.isoformat(),
        "chained_utc": None if found.chained_utc is None else found.chained_utc.isoformat(),
        "faults": [{"how": fault.how.value, "kind": fault.kind, "ref": fault.ref} for fault in found.faults],
        "sentences": found.sentences(zone) if found.state in ("changed", "missing") else [],
    }


def firing_lines(row: Firing, kept: dict[str, Any], plan: StoredPlan | None, pieces: Sequence[str],
                 zone: tzinfo | None, unit: str) -> Iterator[str]:
    """Yield what is kept of a firing, in the owner's time zone and unit."""
    facts = kept["firing"]
    told = json.loads(kept["judgement"][-1]["told"]) if kept["judgement"] else {}
    peak_c = told.get("peak_c")  # the highest one-minute median, as the page has it
    if peak_c is None and facts["highest_128"] is not None:
        peak_c = facts["highest_128"] / STEPS_PER_C
    yield f"{row.firing_id}  {row.title}"
    yield f"  began     {row.started_utc.astimezone(zone):%Y-%m-%d %H:%M}"
    yield "  took      " + ("runs" if row.ended_s is None else duration(row.ended_s))
    if peak_c is not None:
        yield f"  highest   {Units(unit).temp(peak_c)}"
    yield f"  plan      {'none' if plan is None else f'{plan.title}, version {plan.version}'}"
    yield f"  pieces    {', '.join(pieces) or 'none named'}"
    for name, key in (("alerts", "alert"), ("notes", "note"), ("verdicts", "judgement"), ("photos", "photograph")):
        yield f"  {name:<9} {len(kept[key])}"
    yield f"  mark      {kept['mark'] or 'no chain yet: from the next night on'}"


def exported_json(done: Written) -> dict[str, Any]:
    """Return what was written into an archive."""
    return {"firings": done.firings, "pieces": done.pieces, "photographs": done.photographs,
            "missing_photographs": done.missing, "left_out": {"running": done.running, "deleted": done.deleted}}


def exported_lines(done: Written, out: Path) -> Iterator[str]:
    """Yield what was written into the archive ``out``, and what was left out."""
    yield (f"{counted(done.firings, 'firing')}, {counted(done.pieces, 'piece')} and "
           f"{counted(done.photographs, 'photograph')} are in {out}.")
    if done.missing:
        yield f"{counted(len(done.missing), 'photograph')} could not be put in: the file is not there any more."
    if done.running or done.deleted:
        yield f"Left out: firings that run ({done.running}), and deleted ones ({done.deleted})."


def taken_json(done: TakenIn) -> dict[str, Any]:
    """Return what was taken into the record; ``was`` is the number in the archive."""
    return {"taken": [{"was": was, "number": now} for was, now in done.numbers.items()],
            "here_already": [{"was": was, "number": now} for was, now in done.here.items()],
            "differs": done.differs, "photographs": done.photographs}


def taken_lines(done: TakenIn) -> Iterator[str]:
    """Yield what was taken into the record, and what was here already."""
    yield (f"{counted(len(done.numbers), 'firing')} and {counted(done.photographs, 'photograph')} were taken in"
           + (f", as number {spans(done.numbers.values())}." if done.numbers else "."))
    if done.here:
        yield (f"{counted(len(done.here), 'firing')} {'is' if len(done.here) == 1 else 'are'} here already: "
               f"number {spans(done.here.values())}.")
    for number in done.differs:
        yield f"Number {number}: the archive has another or a later state of it. The one here stays as it is."


def counted(count: int, one: str, many: str = "") -> str:
    """Return how many of something: ``1 entry``, ``2 entries``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def spans(numbers: Iterable[int]) -> str:
    """Return numbers as ``3, 5 to 9``."""
    found: list[list[int]] = []
    for number in sorted(numbers):
        if found and number == found[-1][-1] + 1:
            found[-1][1:] = [number]
        else:
            found.append([number])
    return ", ".join(" to ".join(map(str, span)) for span in found)
