"""Opening the one file: WAL, every commit on disk, types enforced; only the daemon makes and migrates it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlite_utils
from sqlite_utils.migrations import Migrations

from daemon.errors import BadInput
from daemon.store.schema.migrations import MIGRATIONS

FILE_NAME = "lehrling.db"
BUSY_S = 5.0
"""How long a writer waits for another one [s]; the daemon takes less and tries again later. [source: Python
documentation, sqlite3.connect, default of timeout]"""


class NoDatabase(BadInput):
    """There is no file yet, or the daemon has not made its tables yet."""


def open_database(path: Path, *, readonly: bool = False, busy_s: float = BUSY_S) -> sqlite_utils.Database:
    """Return an open connection to an existing file, for use in this thread only.

    Parameters
    ----------
    path
        The file, usually ``lehrling.db`` of the data folder.
    readonly
        Whether every write shall be refused.
    busy_s
        How long to wait for another writer [s].

    Raises
    ------
    NoDatabase
        Where there is no such file.
    sqlite3.Error
        Where the file can't be opened or is no database.
    """
    if not path.is_file():
        raise NoDatabase(str(path), "no such database.", "Start lehrling daemon first; it makes the file.")
    return _connect(path, "ro" if readonly else "rw", busy_s)


def open_unwritable(path: Path) -> sqlite_utils.Database:
    """Return a connection for reading a file on a disk that takes no writing at all.

    Reading in WAL mode wants to write two small files beside the database. Where they can't be made and
    the file was closed in order (nothing waits in a ``-wal``), it is read as it stands.

    Raises
    ------
    NoDatabase, sqlite3.Error
        As open_database does.
    """
    try:
        return open_database(path, readonly=True)
    except sqlite3.OperationalError:
        waiting = path.with_name(path.name + "-wal")
        if waiting.exists() and waiting.stat().st_size:
            raise
        return _connect(path, "ro&immutable=1", BUSY_S)


def create_database(path: Path, *, busy_s: float = BUSY_S) -> sqlite_utils.Database:
    """Return an open connection to the file, made where it is missing and brought to today's schema.

    Only the daemon calls this (and what seeds a demo before the daemon starts).

    Raises
    ------
    BadInput
        Where the file was written by a newer program.
    sqlite3.Error
        Where the file can't be opened, written or migrated; a step that failed is rolled back.
    """
    db = _connect(path, "rwc", busy_s)
    try:
        migrate(db, str(path))
    except BaseException:
        db.close()
        raise
    return db


def migrate(db: sqlite_utils.Database, source: str, migrations: Migrations = MIGRATIONS) -> None:
    """Apply the steps that are missing, each in a transaction of its own.

    Raises
    ------
    BadInput
        Where ``db`` has a step that this program does not know; nothing is changed then.
    """
    unknown = unknown_steps(db, migrations)
    if unknown:
        raise BadInput(source, f"was written by a newer Lehrling (it has {unknown[-1]}, unknown here).",
                       "Update the program, or put a backup of the older file in its place.")
    db.enable_wal()
    if migrations.pending(db):
        migrations.apply(db)


def unknown_steps(db: sqlite_utils.Database, migrations: Migrations = MIGRATIONS) -> list[str]:
    """Return the steps that a newer program has applied and this one does not know."""
    known = {step.name for step in migrations.pending(db)} | set(_names(migrations))
    return [step.name for step in migrations.applied(db) if step.name not in known]


def is_current(db: sqlite_utils.Database) -> bool:
    """Return whether the daemon has made every table that this program knows."""
    return not MIGRATIONS.pending(db)


def is_begun(db: sqlite_utils.Database) -> bool:
    """Return whether the daemon has made any of its tables."""
    return bool(MIGRATIONS.applied(db))


def data_version(db: sqlite_utils.Database) -> int:
    """Return a number that changes when another connection has committed to the file."""
    return int(db.execute("PRAGMA data_version").fetchone()[0])


@contextmanager
def transaction(db: sqlite_utils.Database) -> Iterator[None]:
    """Write all of the block or nothing; takes the write lock at once, so that it can't fail half-way.

    Inside another transaction it is a part of that one.
    """
    if db.conn.in_transaction:
        with db.atomic():
            yield
        return
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
        db.commit()
    except BaseException:
        db.rollback()
        raise


def insert(db: sqlite_utils.Database, table: str, record: dict[str, Any]) -> int:
    """Insert one row into a table with a whole-number key of its own and return that key."""
    key = db.table(table).insert(record).last_pk
    if not isinstance(key, int):
        raise TypeError(f"table {table} has no whole-number key")
    return key


def _names(migrations: Migrations) -> list[str]:
    """Return the names of all steps of ``migrations``."""
    fresh = sqlite_utils.Database(memory=True)
    try:
        return [step.name for step in migrations.pending(fresh)]
    finally:
        fresh.close()


def _connect(path: Path, mode: str, busy_s: float) -> sqlite_utils.Database:
    """Return a connection that checks keys and has every commit on disk; proven by a first read."""
    conn = sqlite3.connect(f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=busy_s)
    try:
        db = sqlite_utils.Database(conn)
        db.execute("PRAGMA foreign_keys = ON")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        conn.close()
        raise
    return db
