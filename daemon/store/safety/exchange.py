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
    with part.open("rb") as file:
        os.fsync(file.fileno())
    os.replace(part, record)
