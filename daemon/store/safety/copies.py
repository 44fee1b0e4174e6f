"""Copies of the record beside it: made whole, checked, numbered in the order of making, and thinned out with time.

A copy counts only once it was read back and found in order; until then no older one is dropped. Copies are numbered,
since a computer without a clock may date one by 1970.
"""

from __future__ import annotations

import fcntl
import logging
import os
import re
import sqlite3
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from daemon.store.database import open_database

LOG = logging.getLogger(__name__)
FOLDER = "backups"
DAYS, WEEKS, MONTHS = 3, 4, 6
"""The newest copy is kept of each of so many days, weeks and months that have one. [chosen: a mistake is found within
days, or when a season's work is looked through]"""
_UNSET_BEFORE = 2020
"""A copy of an earlier year was made while the clock was not set. [derived: no version of Lehrling is so old]"""
STEP_PAGES = 256
"""Pages that a copy takes in one step: a megabyte; between two steps the watch gets its turn. [derived: pages of
4096 bytes]"""
_NAME = re.compile(r"lehrling-(?:(\d{6,})-)?(\d{4}-\d\d-\d\dT\d{6}Z)\.db")
_STAMP = "%Y-%m-%dT%H%M%SZ"


class Copy(NamedTuple):
    """One copy."""

    number: int
    """Its number in the order of making; 0 for one of a version that did not number them."""
    made_utc: datetime
    """When it was made, as the computer's clock said."""
    path: Path


def copies_of(record: Path) -> list[Copy]:
    """Return the copies beside a record, in the order in which they were made."""
    found = (by_name(path) for path in (record.parent / FOLDER).glob("lehrling-*.db"))
    return sorted(copy for copy in found if copy is not None)


def by_name(path: Path) -> Copy | None:
    """Return the copy that a file is by its name, wherever it lies; None for any other file."""
    name = _NAME.fullmatch(path.name)
    try:
        made_utc = datetime.strptime(name[2], _STAMP).replace(tzinfo=UTC) if name is not None else None
    except ValueError:
        return None  # a day that no calendar has
    return None if name is None or made_utc is None else Copy(int(name[1] or 0), made_utc, path)


def name_of(number: int, made_utc: datetime) -> str:
    """Return the file name of a copy."""
    return f"lehrling-{number:06d}-{made_utc:{_STAMP}}.db"


def make_copy(record: Path, utc: datetime, pause: Callable[[], None] = lambda: None) -> Path:
    """Copy the record as it is now, check the copy, drop older ones that are not needed; return the copy's path.

    The copy is finished under another name first, so that a half one is never taken for a whole one. One read
    transaction spans all steps: without it every reading kept meanwhile would start the copy anew.

    Parameters
    ----------
    record
        The database.
    utc
        Wall time.
    pause
        Called between two steps.

    Raises
    ------
    sqlite3.Error, OSError
        Where it can't be made, or is damaged; older copies stay.
    """
    folder = record.parent / FOLDER
    folder.mkdir(exist_ok=True)
    with _alone(folder):
        return _make(record, folder, utc, pause)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Wait until nobody else makes a copy there: the night and a command may meet."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _make(record: Path, folder: Path, utc: datetime, pause: Callable[[], None]) -> Path:
    """Make a copy, as make_copy says."""
    part = folder / "unfinished.part"
    part.unlink(missing_ok=True)
    source = open_database(record, readonly=True)
    target = sqlite3.connect(part)
    try:
        source.execute("BEGIN")
        source.execute("SELECT count(*) FROM sqlite_master").fetchone()
        source.conn.backup(target, pages=STEP_PAGES, sleep=0, progress=lambda status, remaining, total: pause())
        target.execute("PRAGMA journal_mode = DELETE")
    finally:
        target.close()
        source.close()
    _keep_on_disk(part)
    check(part)
    number = max((copy.number for copy in copies_of(record)), default=0) + 1
    done = folder / name_of(number, utc)
    os.replace(part, done)
    for copy in not_needed(copies_of(record)):
        copy.path.unlink()
    LOG.info("The record was copied to %s.", done.name)
    return done


def check(copy: Path) -> None:
    """Read a copy through.

    Raises
    ------
    sqlite3.DatabaseError
        Where it is damaged, or holds no record.
    """
    db = sqlite3.connect(f"{copy.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
    try:
        found = [row[0] for row in db.execute("PRAGMA integrity_check(3)")]
        if found != ["ok"]:
            raise sqlite3.DatabaseError(f"the copy is damaged: {'; '.join(found)}")
        db.execute("SELECT count(*) FROM firing").fetchone()
    finally:
        db.close()


def is_broken(copy: Path) -> bool:
    """Return whether a look at a copy's head and size shows that it is none; ``check`` reads it through.

    The head of a database is 100 bytes: "SQLite format 3" and a zero; at 16 the size of a page, where 1 means 65536;
    at 28 the number of pages, which holds where the numbers at 24 and 92 are the same. [source: SQLite, "Database
    File Format", 1.3]
    """
    try:
        with copy.open("rb") as file:
            head = file.read(100)
        size_bytes = copy.stat().st_size
    except OSError:
        return True
    if len(head) < 100 or not head.startswith(b"SQLite format 3\0"):
        return True
    page_bytes = int.from_bytes(head[16:18], "big")
    pages = int.from_bytes(head[28:32], "big") if head[24:28] == head[92:96] else 0
    return size_bytes < (65536 if page_bytes == 1 else page_bytes) * pages


def not_needed(copies: list[Copy]) -> list[Copy]:
    """Return which copies, given in the order of making, are dropped.

    Several copies of one day count as one, the newest: each was read through before an older one went. So somebody
    who makes a copy again and again loses no earlier night.
    """
    kept = set(copies[-1:]) | _newest_of_days(copies)
    kept |= _newest_of_each(copies, WEEKS, lambda copy: copy.made_utc.isocalendar()[:2])
    kept |= _newest_of_each(copies, MONTHS, lambda copy: (copy.made_utc.year, copy.made_utc.month))
    return [copy for copy in copies if copy not in kept]


def _newest_of_days(copies: list[Copy]) -> set[Copy]:
    """Return the newest copy of each of the last days [UTC].

    A clock that is not set begins on the same day at each start, so its copies tell no day. As many of them are kept
    besides, until so many days have a copy that was made later.
    """
    days: dict[Hashable, Copy] = {}
    unset: list[Copy] = []
    for copy in reversed(copies):
        if len(days) == DAYS:
            break
        if copy.made_utc.year >= _UNSET_BEFORE:
            days.setdefault(copy.made_utc.date(), copy)
        elif len(unset) < DAYS:
            unset.append(copy)
    return {*days.values(), *unset}


def _newest_of_each(copies: list[Copy], most: int, span: Callable[[Copy], Hashable]) -> set[Copy]:
    """Return the newest copy of each of the last ``most`` spans of time that have one."""
    newest: dict[Hashable, Copy] = {}
    for copy in reversed(copies):
        newest.setdefault(span(copy), copy)
    return set(list(newest.values())[:most])


def _keep_on_disk(path: Path) -> None:
    """Wait until a file is on the disk."""
    with path.open("rb") as file:
        os.fsync(file.fileno())
