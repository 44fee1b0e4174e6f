"""Deleting a firing that is empty or was only a test, and taking it back; never one that runs."""

from __future__ import annotations

from datetime import datetime

import sqlite_utils

from daemon.errors import BadInput
from daemon.lifecycle.requests import Delete, TakeBack
from daemon.store import bin, firings, readings
from daemon.store.firings import Firing
from daemon.store.write_queue import Op

COLD_C = 100.0
"""A firing that never was hotter holds nothing of glass [°C]. [chosen: no glass is fired so cold]"""
SHORT_S = 1800.0
"""Nor does one that was shorter [s]. [chosen: no kiln fires glass in half an hour]"""


def is_empty(row: Firing, highest_c: float | None) -> bool:
    """Return whether a firing can be deleted without a word: an invented, cold or short one."""
    return row.invented or highest_c is None or highest_c < COLD_C or (row.ended_s or 0) < SHORT_S


def deletion(db: sqlite_utils.Database, ask: Delete, now_utc: datetime) -> Op:
    """Return the op that puts a firing into the bin.

    Raises
    ------
    BadInput
        Where there is none, where it runs, or where it was hot and nobody said that it was a test.
    """
    row = firings.firing(db, ask.firing_id)
    if row is None or row.emptied_utc is not None:
        raise BadInput("firing", f"there is no number {ask.firing_id}.", "Load the page again.")
    if row.ended_s is None:
        raise BadInput("firing", f"“{row.title}” runs. A firing that runs is never deleted.", "End it first.")
    if not ask.is_test and not is_empty(row, readings.highest_c(db, ask.firing_id)):
        raise BadInput("firing", f"“{row.title}” was a real firing.", "Say that it was only a test, or keep it.")
    return lambda db: bin.put_into_bin(db, ask.firing_id, now_utc)


def taking_back(db: sqlite_utils.Database, ask: TakeBack) -> Op:
    """Return the op that takes a firing out of the bin.

    Raises
    ------
    BadInput
        Where nothing is left of it.
    """
    row = firings.firing(db, ask.firing_id)
    if row is None or row.emptied_utc is not None:
        raise BadInput("firing", f"number {ask.firing_id} is gone.",
                       f"A deleted one is kept {bin.KEPT_FOR.days} days.")
    return lambda db: bin.take_back(db, ask.firing_id)
