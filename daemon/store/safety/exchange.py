"""A record set aside, never overwritten, and a copy put in its place; while no daemon has it open."""

from __future__ import annotations

import os
import shutil
from datetime import datetime
from pathlib import Path

_BESIDE = ("", "-wal", "-shm")
"""What SQLite keeps of one database, by the ends of the names."""


def set_aside(record: Path, utc: datetime, why: str) -> Path:
    """Rename a record and what lies beside it; return the new path.

    Parameters
    ----------
    record
        The database.
    utc
        Wall time.
    why
        A word or two with hyphens, for the new name.

    Raises
    ------
    OSError
        Where it can't be renamed.
    """
    aside = record.with_name(f"{record.stem}-{why}-{utc:%Y-%m-%dT%H%M%SZ}{record.suffix}")
    for end in _BESIDE:
        here = record.with_name(record.name + end)
        if here.exists():
            os.replace(here, aside.with_name(aside.name + end))
    return aside


def put_in_place(copy: Path, record: Path) -> None:
    """Copy a file to where the record is to be, in one step at the end.

    Raises
    ------
    OSError
        Where it can't be copied; nothing stands in the place of the record then.
    """
    part = record.with_name(record.name + ".part")
    shutil.copyfile(copy, part)
    flush(part)
    os.replace(part, record)


def take_place(part: Path, record: Path) -> None:
    """Give a whole file that is on the disk the record's name, where nothing has it.

    What lies beside it is of another file, and goes.

    Raises
    ------
    OSError
        Where it can't be renamed.
    """
    for end in _BESIDE[1:]:
        record.with_name(record.name + end).unlink(missing_ok=True)
    os.replace(part, record)
    flush(record.parent)


def flush(path: Path) -> None:
    """Have a file, or the names in a folder, on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
