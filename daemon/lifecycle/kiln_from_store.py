"""What the file knows of a kiln: its past firings, with the thermocouple and the elements that are in now."""

from __future__ import annotations

from datetime import date, tzinfo

import sqlite_utils

from daemon.firing.plan.schedule import planned_parts
from daemon.kiln.past_firing import PastFiring, Ran
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
    return [firing for _, firing in dated_firings(db, kiln_id, zone, MOST_FIRINGS)]


def dated_firings(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None,
                  most: int) -> list[tuple[date, PastFiring]]:
    """Return the same with the day of each, ``most`` firings at most."""
    ended = firings.latest_of_kiln(db, kiln_id, most)
    left_out = broken_off(db, ended)
    changed = [change.day for change in part_changes.changes(db, kiln_id)]
    found = []
    for row in ended:
        day = _day(row, zone)
        if row.probe_id != ended[0].probe_id or (changed and day < max(changed)):
            break
        firing = None if row.firing_id in left_out else past_firing(db, row)
        if firing is not None:
            found.append((day, firing))
    return found[::-1]


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
