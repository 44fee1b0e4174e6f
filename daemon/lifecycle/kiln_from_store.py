"""What the file knows of a kiln: its past firings, with the thermocouple and the elements that are in now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, tzinfo
from itertools import takewhile

import sqlite_utils

from daemon.firing.plan.schedule import planned_parts
from daemon.kiln.past_firing import PastFiring, Ran, is_quiet
from daemon.lifecycle.broke_off import broken_off
from daemon.lifecycle.setup_from_store import plan_of
from daemon.store import firings, found_parts, readings
from daemon.store.firings import Firing
from daemon.store.wear import part_changes

MOST_FIRINGS = 12
"""Firings that a kiln is learned from at most, the latest. [chosen: a season; elements tire over years]"""


def past_firings(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None) -> list[PastFiring]:
    """Return the latest whole firings of a kiln with the parts that are in now, the earliest first.

    Parameters
    ----------
    db
        An open database.
    kiln_id
        Which kiln.
    zone
        The owner's time zone, by whose calendar parts are changed; None is the computer's own.
    """
    return [firing for _, firing in past_of(db, with_present_parts(db, kiln_id, zone, MOST_FIRINGS))]


def with_present_parts(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None, most: int) -> list[Firing]:
    """Return up to ``most`` of the latest firings with the parts that are in now, the latest first.

    They have the thermocouple of the last firing, and none of them is older than the last change of a part.
    """
    ended = firings.latest_of_kiln(db, kiln_id, most)
    changed = [change.day for change in part_changes.changes(db, kiln_id)]
    return list(takewhile(
        lambda row: row.probe_id == ended[0].probe_id and not (changed and _day(row, zone) < max(changed)), ended))


def past_of(db: sqlite_utils.Database, rows: Sequence[Firing]) -> list[tuple[int, PastFiring]]:
    """Return those of the firings that teach something of the kiln, with their numbers, in reverse order."""
    left_out = broken_off(db, rows)
    found = [(row.firing_id, past_firing(db, row)) for row in rows if row.firing_id not in left_out]
    return [(number, replace(firing, is_quiet=is_quiet(_told(db, number))))
            for number, firing in found[::-1] if firing is not None]


def _told(db: sqlite_utils.Database, number: int) -> list[tuple[str, str]]:
    """Return kind and rank of every alert of a firing."""
    return list(db.execute("SELECT kind, rank FROM alert WHERE firing_id = ?", [number]).fetchall())


def dated_firings(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None,
                  most: int) -> list[tuple[date, PastFiring]]:
    """Return the latest whole firings of a kiln with the parts that are in now, ``most`` at most, with their days."""
    rows = with_present_parts(db, kiln_id, zone, most)
    days = {row.firing_id: _day(row, zone) for row in rows}
    return [(days[number], firing) for number, firing in past_of(db, rows)]


def _day(row: Firing, zone: tzinfo | None) -> date:
    return row.started_utc.astimezone(zone).date()


def past_firing(db: sqlite_utils.Database, row: Firing) -> PastFiring | None:
    """Return a firing as a kiln is learned from it; None where nothing can be: no plan, lines keyed in, no trace."""
    plan = plan_of(db, row)
    trace = [(t_s, temp_c - (row.offset_c or 0.0)) for t_s, temp_c in readings.by_minute(db, row.firing_id)]
    if plan is None or plan.keyed_in is not None or not trace:
        return None
    planned = planned_parts(plan)
    ran = [Ran(part.index, part.start_s, part.end_s) for part in found_parts.parts(db, row.firing_id)
           if part.end_s is not None and 0 <= part.index < len(planned)]
    return PastFiring(planned, ran, trace)
