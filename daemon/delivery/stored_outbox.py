"""The outbox in the record, as delivery opens and uses it: never waited for long, never a reason to fall."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Sequence
from pathlib import Path

import sqlite_utils

from daemon.store import outbox
from daemon.store.database import NoDatabase, is_current, open_database
from daemon.store.outbox import Mark, Pending

LOG = logging.getLogger("lehrling.deliver")
LOCKED_WAIT_S = 0.25
"""How long a round waits for a locked record, for each channel [s]; what can't be marked then is marked later.
[from: daemon.service.assembly.WRITE_WAIT_S]"""


def open_outbox(path: Path) -> sqlite_utils.Database | NoDatabase:
    """Return the record, open; or what stands in the way: there is none yet, or it can't be read."""
    try:
        db = open_database(path, busy_s=LOCKED_WAIT_S)
    except NoDatabase as err:
        return err
    except sqlite3.Error as err:
        return NoDatabase(str(path), f"can't be opened: {err}.", "Is it a Lehrling database, and this user's?")
    try:
        if is_current(db):
            return db
        trouble = NoDatabase(str(path), "has not all its tables yet.", "Start lehrling daemon; it makes them.")
    except sqlite3.Error as err:
        trouble = NoDatabase(str(path), f"can't be read: {err}.", "Is lehrling daemon at work on it?")
    db.close()
    return trouble


class StoredBox:
    """The outbox in the database; a lock or a full disk makes it wait, never fall."""

    def __init__(self, db: sqlite_utils.Database) -> None:
        self.db = db
        self._troubled = False

    def pending(self, channel: str) -> list[Pending] | None:
        """Return what waits for a channel, oldest first; None when it can't be read now."""
        try:
            return outbox.pending(self.db, channel)
        except sqlite3.Error as err:
            self._say(err)
            return None

    def mark(self, marks: Sequence[Mark]) -> bool:
        """Store what became of messages; False when it can't be stored now."""
        try:
            outbox.mark(self.db, marks)
        except sqlite3.Error as err:
            self._say(err)
            return False
        self._troubled = False
        return True

    def _say(self, err: sqlite3.Error) -> None:
        """Log that the record can't be used, once until it can."""
        if not self._troubled:
            LOG.warning("The outbox can't be used just now (%s); trying again.", err)
        self._troubled = True
