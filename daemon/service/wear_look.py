"""Looks after each firing whether the kiln has changed: kept for the page, and told once as what can wait."""

from __future__ import annotations

import logging
import sqlite3
from datetime import tzinfo
from pathlib import Path

import sqlite_utils

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.firing.units import Units
from daemon.kiln.wear.judged import judged
from daemon.kiln.wear.shown import shown
from daemon.kiln.wear.told import HEADLINES, wear_lines
from daemon.lifecycle.kiln_from_store import dated_firings
from daemon.notify.other_messages import Post, of_wear
from daemon.store import firings, kilns, outbox
from daemon.store.database import open_database, transaction
from daemon.store.wear import part_changes, told_wear
from daemon.store.wear.told_wear import ToldWear

LOG = logging.getLogger(__name__)
MOST_FIRINGS = 24
"""Firings that are compared at most, the latest. [chosen: a year of a small studio, and some seconds of a Pi]"""


def look_at_wear(record: Path, kiln: str, post: Post, clock: Clock, zone: tzinfo | None, unit: str) -> bool:
    """Compare the firings of a kiln where one has ended, or a part was changed, since it was last looked.

    Parameters
    ----------
    record
        The database, opened for this alone: it is called in a thread of its own.
    kiln
        Name of the kiln.
    post
        Whom to tell.
    clock
        Wall time.
    zone
        The owner's time zone; None is the computer's own.
    unit
        The owner's unit, "C" or "F".

    Returns
    -------
    bool
        Whether there was anything to compare. It never raises.
    """
    try:
        db = open_database(record)
        try:
            number = kilns.find(db, kiln)
            return number is not None and _look(db, number, kiln, post, clock, zone, Units(unit))
        finally:
            db.close()
    except (sqlite3.Error, OSError, BadInput) as err:
        LOG.error("Whether the kiln has changed could not be looked up: %s.", err)
        return False


def _look(db: sqlite_utils.Database, number: int, kiln: str, post: Post, clock: Clock, zone: tzinfo | None,
          words: Units) -> bool:
    ended = firings.latest_of_kiln(db, number, MOST_FIRINGS)
    parts = " ".join(str(change.part_change_id) for change in part_changes.changes(db, number))
    looked_at = f"{' '.join(str(firing.firing_id) for firing in ended)}; {parts}"
    last = told_wear.of_kiln(db, number)
    if not ended or (last is not None and last.looked_at == looked_at):
        return False
    dated = dated_firings(db, number, zone, MOST_FIRINGS)
    seen = shown([firing for _, firing in dated])
    found = judged(seen)
    lines = list(wear_lines(seen, [day for day, _ in dated], found, words)) if dated else []
    is_same_kiln = last is not None and last.looked_at.rpartition("; ")[2] == parts
    told = list(last.told) if last is not None and is_same_kiln else []
    has_changed = found is not None and found.cause != "chance"
    with transaction(db):
        if found is not None and has_changed and found.cause not in told:
            told.append(found.cause)
            outbox.post(db, of_wear(f"{kiln}: {HEADLINES[found.cause]}", lines, post), clock.utc())
        told_wear.put(db, number, ToldWear(looked_at, lines, has_changed, told))
    return True
