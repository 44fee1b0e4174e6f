"""The record's file deleted or exchanged while a process has it open.

On Linux such a process goes on reading and writing a file that no longer has a name, and all of it is gone when the
process ends. SQLite does not say so (https://sqlite.org/howtocorrupt.html, section 4.4, "Unlinking or renaming a
database file while in use").
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

import sqlite_utils

from daemon.store.safety.exchange import flush, take_place


class OpenFile:
    """The file that a connection has open, and what stands under its name now.

    Parameters
    ----------
    db
        A connection that was opened just now.
    """

    def __init__(self, db: sqlite_utils.Database) -> None:
        self.path = Path(db.execute("PRAGMA database_list").fetchone()[2])
        self._mark = _mark(self.path)

    @property
    def is_deleted(self) -> bool:
        """Return whether nothing stands under its name, in a folder of the same disk."""
        folder = _mark(self.path.parent)
        return (self._mark is not None and folder is not None and folder[0] == self._mark[0]
                and not self.path.exists())

    @property
    def is_exchanged(self) -> bool:
        """Return whether another file stands under its name."""
        now = _mark(self.path)
        return self._mark is not None and now is not None and now != self._mark


def _mark(path: Path) -> tuple[int, int] | None:
    """Return the disk and the number of a file or folder; None where there is none, or it can't be looked at."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def write_anew(db: sqlite_utils.Database, path: Path) -> None:
    """Write what an open connection holds to where its file stood, and close the connection.

    Raises
    ------
    sqlite3.Error, OSError
        Where it can't be written; nothing stands there then, and what was written so far lies beside it.
    """
    db.execute("SELECT count(*) FROM sqlite_master").fetchone()  # one that was closed has nothing to give
    anew = path.with_name(path.name + ".anew")
    anew.unlink(missing_ok=True)
    copy = sqlite3.connect(anew)
    try:
        db.conn.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
    finally:
        copy.close()
    flush(anew)
    db.close()  # before the name is taken: closing clears away what lies beside it
    take_place(anew, path)
