"""A firing, and what was found of its chain, as lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import tzinfo
from typing import Any

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
    highest = facts["highest_128"]
    yield f"{row.firing_id}  {row.title}"
    yield f"  began     {row.started_utc.astimezone(zone):%Y-%m-%d %H:%M}"
    yield "  took      " + ("runs" if row.ended_s is None else duration(row.ended_s))
    if highest is not None:
        yield f"  highest   {Units(unit).temp(highest / STEPS_PER_C)}"
    yield f"  plan      {'none' if plan is None else f'{plan.title}, version {plan.version}'}"
    yield f"  pieces    {', '.join(pieces) or 'none named'}"
    for name, key in (("alerts", "alert"), ("notes", "note"), ("verdicts", "judgement"), ("photos", "photograph")):
        yield f"  {name:<9} {len(kept[key])}"
    yield f"  mark      {kept['mark'] or 'no chain yet: from the next night on'}"
