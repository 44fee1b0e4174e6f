"""The record and its newest copy, read without changing either."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from daemon.doctor.finding import Finding, good, mend, note
from daemon.errors import BadInput
from daemon.store import readings
from daemon.store.database import NoDatabase, is_begun, is_current, open_database
from daemon.store.safety.copies import copies_of

COPY_IS_OLD = timedelta(days=2)
"""A copy is made every night; an older newest one says that this fails."""
READ_THROUGH_S = 2.0
"""So long a copy is read through [s]; a larger one was read through when it was made. [chosen: a short wait]"""
_STEPS = 10_000
"""SQLite's instructions between two looks at the clock. [chosen: milliseconds]"""
RECENT_S = 300.0
"""Readings of so long tell the scatter of the probe [s]. [chosen: 60 readings]"""
_RESTORE = "To go back to the newest sound copy, while no kiln is hot: sudo lehrling copies restore"


def record(path: Path) -> Finding:
    """Return whether the record can be read and is of this version."""
    try:
        db = open_database(path, readonly=True)
        try:
            if is_begun(db) and not is_current(db):
                return note("record", "It is of an older version. The daemon copies and changes it when it starts.")
            firings = db.execute("SELECT count(*) FROM firing").fetchone()[0]
        finally:
            db.close()
    except NoDatabase:
        return note("record", "There is none yet. The daemon makes it when it first starts.")
    except (sqlite3.Error, UnicodeDecodeError, BadInput) as err:
        return mend("record", f"It can't be read: {err}.", f"Leave the file as it is. {_RESTORE}")
    return good("record", f"It can be read, and holds {firings} firing{'' if firings == 1 else 's'}.")


def newest_copy(path: Path, utc: datetime, now_s: Callable[[], float]) -> Finding:
    """Return how old the newest copy beside the record is, and whether it is in order.

    Parameters
    ----------
    path
        The record.
    utc, now_s
        Wall time, and a clock that is not set [s].
    """
    copies = copies_of(path)
    if not copies:
        if not path.exists():
            return note("newest copy", "There is none yet.")
        return note("newest copy", "There is none yet. One is made every night.",
                    "Leave the box switched on overnight.")
    newest = copies[-1]
    age = utc - newest.made_utc
    days = "today" if age < timedelta(days=1) else "yesterday" if age < timedelta(days=2) else f"{age.days} days ago"
    said = f"It was made {days}" if age >= timedelta(0) else "It was made at a time that the clock has not reached"
    try:
        is_whole = _is_whole(newest.path, now_s)
    except sqlite3.Error as err:
        return mend("newest copy", f"It is damaged: {err}.", "Leave the box on overnight: the next copy is checked "
                    "before an older one is dropped. Look at the disk, too.")
    said += ", and can be read from end to end." if is_whole else "; it was read from end to end when it was made."
    if age > COPY_IS_OLD:
        return mend("newest copy", said, "Leave the box on overnight, and read: journalctl -u lehrling-daemon")
    return good("newest copy", said)


def _is_whole(copy: Path, now_s: Callable[[], float]) -> bool:
    """Return whether a copy could be read through in the time there is.

    Raises
    ------
    sqlite3.Error
        Where it is damaged.
    """
    until_s = now_s() + READ_THROUGH_S
    db = sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    try:
        db.execute("SELECT count(*) FROM firing").fetchone()
        db.set_progress_handler(lambda: now_s() >= until_s, _STEPS)
        found = [row[0] for row in db.execute("PRAGMA quick_check(1)")]
    except sqlite3.OperationalError as err:
        if "interrupt" in str(err):
            return False
        raise
    finally:
        db.close()
    if found != ["ok"]:
        raise sqlite3.DatabaseError(str(found[0]))
    return True


def recent_readings(path: Path, firing_id: int, t_s: float) -> list[float]:
    """Return the last readings of a firing [°C], oldest first; none where the record can't be read."""
    try:
        db = open_database(path, readonly=True)
        try:
            found = readings.samples(db, firing_id, t_s - RECENT_S)
        finally:
            db.close()
    except (sqlite3.Error, BadInput):
        return []
    return [sample.temp_c for sample in found if sample.temp_c is not None]
