"""Deleted firings: they lie in a bin for a month and can be taken back; then all but their number is removed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import sqlite_utils

from daemon.store import photographs
from daemon.store.database import transaction
from daemon.store.firings import SELECT, Firing, as_firing
from daemon.store.stamps import stamp

KEPT_FOR = timedelta(days=30)
"""How long a deleted firing can be taken back. [chosen: a month; long enough to miss it]"""
_ROWS_AT_ONCE = 2000
"""Readings that are removed in one transaction, so that the watch can write between two. [chosen: some ten
milliseconds' work]"""
_OF_A_FIRING = ("gap", "clock_mark", "said", "part", "milestone", "note", "outcome", "judgement", "photograph",
                "firing_piece", "heat_use", "meter_reading", "thinned_trace", "source_file", "known_kiln",
                "link")
"""Tables whose rows belong to one firing, alerts and readings left aside."""
_OF_ALERTS = (
    "DELETE FROM delivery WHERE outbox_id IN (SELECT outbox_id FROM outbox JOIN transition USING (transition_id)"
    " JOIN alert USING (alert_id) WHERE firing_id = ?)",
    "DELETE FROM outbox WHERE transition_id IN (SELECT transition_id FROM transition JOIN alert USING (alert_id)"
    " WHERE firing_id = ?)",
    "DELETE FROM transition WHERE alert_id IN (SELECT alert_id FROM alert WHERE firing_id = ?)",
    "DELETE FROM alert WHERE firing_id = ?",
)


def put_into_bin(db: sqlite_utils.Database, firing_id: int, now_utc: datetime) -> None:
    """Delete a firing that has ended; one that runs stays as it is."""
    db.execute("UPDATE firing SET binned_utc = ? WHERE firing_id = ? AND ended_s IS NOT NULL AND binned_utc IS NULL",
               [stamp(now_utc), firing_id])


def take_back(db: sqlite_utils.Database, firing_id: int) -> None:
    """Take a firing out of the bin; one that was emptied is gone."""
    db.execute("UPDATE firing SET binned_utc = NULL WHERE firing_id = ? AND emptied_utc IS NULL", [firing_id])


def in_bin(db: sqlite_utils.Database) -> list[Firing]:
    """Return the firings that can be taken back, the one deleted last first."""
    return [as_firing(row) for row in db.query(
        SELECT + "WHERE binned_utc IS NOT NULL AND emptied_utc IS NULL ORDER BY binned_utc DESC, firing_id DESC")]


def due(db: sqlite_utils.Database, now_utc: datetime) -> list[int]:
    """Return the ids of the firings that have lain in the bin for KEPT_FOR."""
    return [firing.firing_id for firing in in_bin(db)
            if firing.binned_utc is not None and now_utc - firing.binned_utc >= KEPT_FOR]


def empty(db: sqlite_utils.Database, firing_id: int, now_utc: datetime, folders: list[Path],
          pause: Callable[[], None] = lambda: None) -> None:
    """Remove all that is kept of a firing in the bin but its number.

    Parameters
    ----------
    db
        An open database.
    firing_id
        A firing in the bin.
    now_utc
        Wall time.
    folders
        Where pictures are kept; a picture that nothing else shows is removed.
    pause
        Called between two steps.
    """
    removed = _ROWS_AT_ONCE
    while removed == _ROWS_AT_ONCE:
        removed = db.execute(
            "DELETE FROM reading WHERE firing_id = ? AND t_s IN (SELECT t_s FROM reading WHERE firing_id = ?"
            " LIMIT ?)", [firing_id, firing_id, _ROWS_AT_ONCE]).rowcount
        pause()
    marks = [mark for (mark,) in db.execute("SELECT mark FROM photograph WHERE firing_id = ?", [firing_id])]
    with transaction(db):
        for statement in _OF_ALERTS:
            db.execute(statement, [firing_id])
        for table in _OF_A_FIRING:
            db.execute(f"DELETE FROM {table} WHERE firing_id = ?", [firing_id])
        db.execute("UPDATE firing SET title = 'Deleted', plan_id = NULL, highest_128 = NULL, emptied_utc = ?"
                   " WHERE firing_id = ?", [stamp(now_utc), firing_id])
    for mark in marks:
        if not photographs.is_shown(db, mark):
            photographs.remove_files(mark, folders)
