"""A record that is damaged or empty when the daemon starts: set aside, and the newest good copy put in its place.

The watch never waits for this: whatever fails here is logged, and watching goes on from memory.
"""

from __future__ import annotations

import logging
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

from daemon.store.database import NoDatabase, is_current, open_database
from daemon.store.safety.copies import Copy, check, copies_of
from daemon.store.safety.exchange import put_in_place, set_aside

LOG = logging.getLogger(__name__)
_BEGINS = b"SQLite format 3\0"
"""How each database begins (https://sqlite.org/fileformat.html, 1.3)."""


def replace_if_damaged(record: Path, utc: datetime) -> list[str]:
    """Set a damaged record aside and go on with the newest copy that is in order, or with none.

    Parameters
    ----------
    record
        The database; a missing one is no damage.
    utc
        Wall time, for the name of what is set aside.

    Returns
    -------
    list of str
        Sentences for the maker; empty where nothing is wrong.
    """
    try:
        if not _is_damaged(record):
            return []
        aside = set_aside(record, utc, "damaged")
        copy = _put_back(record)
    except OSError as err:
        LOG.error("The damaged record %s can't be replaced: %s.", record, err.strerror)
        return [f"The record is damaged and can't be replaced ({err.strerror}). Watching goes on from memory."]
    was = f"The record was damaged or empty. It is set aside as {aside.name}."
    if copy is None:
        said = f"{was} There was no good copy, so a new record was begun."
    else:
        there = copy.made_utc.replace(tzinfo=UTC).astimezone()
        said = (f"{was} Lehrling goes on with the copy of {there:%-d %B %Y, %H:%M}. What was kept after that is in "
                "the damaged file only: keep that file.")
    LOG.error("%s", said)
    return [said]


def _is_damaged(record: Path) -> bool:
    """Return whether there is a file that is no record, or that SQLite calls damaged when it is opened."""
    if not record.is_file():
        return False
    with record.open("rb") as file:
        begins = file.read(len(_BEGINS))
    if not begins:
        waits = record.with_name(record.name + "-wal")
        return not (waits.exists() and waits.stat().st_size)  # else it was begun just now, and all waits beside it
    if begins != _BEGINS:
        return True  # not opened: SQLite would clear away what lies beside it
    try:
        db = open_database(record)
        try:
            if is_current(db):
                db.execute("SELECT max(firing_id) FROM firing").fetchone()
        finally:
            db.close()
    except (NoDatabase, sqlite3.OperationalError):
        return False  # there is none yet, or it can't be opened now
    except (sqlite3.DatabaseError, UnicodeDecodeError) as err:
        LOG.error("The record %s is damaged: %s.", record, err)
        return True
    return False


def _put_back(record: Path) -> Copy | None:
    """Put the newest copy that is in order in the place of the record; return it, or None without one."""
    for copy in reversed(copies_of(record)):
        try:
            check(copy.path)
        except (sqlite3.Error, UnicodeDecodeError) as err:
            LOG.error("The copy %s is damaged, too: %s.", copy.path.name, err)
            continue
        put_in_place(copy.path, record)
        return copy
    return None
