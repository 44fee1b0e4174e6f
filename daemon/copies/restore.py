"""The record put back from a copy: fetched and checked first, while the watch goes on; then exchanged in a moment.

The present record is set aside, never overwritten. Photographs that are here stay as they are.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import IO, NamedTuple

from daemon.copies.bundle import PICTURE, unpack
from daemon.copies.identity import mark_of
from daemon.copies.place import TOP, NotTaken, Place
from daemon.errors import BadInput
from daemon.lifecycle.checkpoint import FILE_NAME as CHECKPOINT
from daemon.store.database import open_database, unknown_steps
from daemon.store.photographs import FOLDER as PICTURES
from daemon.store.safety import copies
from daemon.store.safety.exchange import put_in_place, set_aside

SCRATCH = "restoring"
"""The folder, beside the record, that a copy is fetched into."""
_RECORD = "record.db"
_DAMAGED = "Name an older one; lehrling copies list shows them."
_ZIP = b"PK"
"""How a zip begins."""


class Fetched(NamedTuple):
    """A copy that was fetched into the scratch folder and is in order."""

    name: str
    """Its file name."""
    pictures: int
    """Photographs that are missing here and came with it."""
    lost: int
    """Photographs that belong to it, are missing here, and could not be fetched."""
    newest: int
    """The highest number of a copy where it came from."""


def from_place(place: Place, record: Path, *, mark: str = "", name: str = "") -> Fetched:
    """Fetch a copy from a place.

    Parameters
    ----------
    place
        Where from.
    record
        The present record, or where it would be.
    mark
        Which record's copies; empty for the present one's, else for the only one there.
    name
        Which copy; empty for the newest.

    Raises
    ------
    BadInput, NotTaken
        Saying why none of them can be used.
    """
    mark = _which(place, record, mark)
    stored = place.stored(mark)
    found = sorted(copy for copy in (copies.by_name(Path(one)) for one in stored.copies) if copy is not None)
    wanted = [copy.path.name for copy in found if name in ("", copy.path.name)]
    if not wanted:
        raise BadInput(name or place.called, f"there is no such copy at {place.called}.", _DAMAGED)
    scratch = _scratch(record)
    _take(place.read_back(mark, wanted[-1], scratch), scratch, scratch / _RECORD)
    _check(scratch / _RECORD, wanted[-1])
    came, lost = 0, []
    for picture in sorted(stored.pictures):
        if not PICTURE.fullmatch(picture) or (record.parent / PICTURES / picture).exists():
            continue
        try:
            _take(place.read_back(mark, picture, scratch), scratch, scratch / PICTURES / picture)
            came += 1
        except NotTaken:
            lost.append(picture)
    return Fetched(wanted[-1], came, _count_lost(lost, record), found[-1].number)


def from_file(file: IO[bytes], name: str, record: Path) -> Fetched:
    """Fetch a copy from a file: a database, or the zip that the page gives.

    Raises
    ------
    NotTaken
        Where it is neither, damaged, or newer than this program.
    """
    scratch = _scratch(record)
    begins = file.read(len(_ZIP))
    file.seek(0)
    if begins != _ZIP:
        with (scratch / _RECORD).open("wb") as target:
            shutil.copyfileobj(file, target)
        _check(scratch / _RECORD, name)
        return Fetched(name, 0, _count_lost((), record), 0)
    copy, pictures, missing = unpack(file, scratch)
    os.replace(copy, scratch / _RECORD)
    _check(scratch / _RECORD, copy.name)
    here = [picture for picture in pictures if (record.parent / PICTURES / picture.name).exists()]
    for picture in here:
        picture.unlink()
    lost = [name for name in missing if not (record.parent / PICTURES / name).exists()]
    return Fetched(copy.name, len(pictures) - len(here), _count_lost(lost, record), 0)


def from_here(record: Path, name: str = "") -> Fetched:
    """Take a copy that lies beside the record: a named one, else the newest that is in order.

    Raises
    ------
    BadInput, NotTaken
        Where none can be used.
    """
    found = [copy for copy in copies.copies_of(record) if name in ("", copy.path.name)]
    if not found:
        raise BadInput(name or str(record.parent / copies.FOLDER), "there is no such copy.", _DAMAGED)
    for copy in reversed(found):
        scratch = _scratch(record)
        _take(copy.path, scratch, scratch / _RECORD)
        try:
            _check(scratch / _RECORD, copy.path.name)
        except NotTaken:
            if copy is found[0]:
                raise
            continue
        came = _own_pictures(record, scratch)
        return Fetched(copy.path.name, came, 0, 0)
    raise AssertionError("a copy that is not in order was raised above")


def _count_lost(files: Iterable[str], record: Path) -> int:
    """Return how many photographs would be lost: those of some files, and those that the fetched record shows.

    One of the record's is lost where its largest file is neither here nor fetched.
    """
    scratch = record.parent / SCRATCH
    marks = {name.rpartition("-")[0] for name in files}
    db = open_database(scratch / _RECORD, readonly=True)
    try:
        shown = [row[0] for row in db.execute("SELECT mark FROM photograph WHERE removed_utc IS NULL")]
    except sqlite3.OperationalError:
        shown = []  # of a version without photographs
    finally:
        db.close()
    marks |= {mark for mark in shown if not any(
        (folder / PICTURES / f"{mark}-whole.jpg").exists() for folder in (record.parent, scratch))}
    return len(marks)


def clear(record: Path) -> None:
    """Remove what was fetched, where it is not put in place."""
    shutil.rmtree(record.parent / SCRATCH, ignore_errors=True)


def exchange(fetched: Fetched, record: Path, utc: datetime) -> str:
    """Set the present record aside and put the fetched one in its place, while no daemon runs.

    Return the name of what was set aside; empty where there was no record.

    Raises
    ------
    OSError
        Where the disk refuses.
    """
    scratch = record.parent / SCRATCH
    aside = set_aside(record, utc, "replaced") if record.exists() else None
    put_in_place(scratch / _RECORD, record)
    (record.parent / CHECKPOINT).unlink(missing_ok=True)  # of the other record
    pictures = scratch / PICTURES
    if pictures.is_dir():
        (record.parent / PICTURES).mkdir(exist_ok=True)
        for picture in sorted(pictures.iterdir()):
            os.replace(picture, record.parent / PICTURES / picture.name)
    _count_on(fetched, record)
    clear(record)
    return "" if aside is None else aside.name


def _which(place: Place, record: Path, mark: str) -> str:
    """Return the mark of the record whose copies are asked for."""
    there = place.marks()
    own = ""
    try:
        own = mark_of(record, there) if record.exists() else ""
    except sqlite3.Error:
        own = ""  # the record is damaged; that is why a copy is asked for
    wanted = mark or own
    if wanted in there:
        return wanted
    if len(there) == 1 and not mark:
        return there[0]
    if not there:
        raise BadInput(place.called, "holds no copies.", f"Name a copy, or the folder that {TOP} lies in.")
    raise BadInput(place.called, f"holds copies of {len(there)} records: {', '.join(there)}.",
                   "Say which: --of NAME")


def _check(copy: Path, name: str) -> None:
    """Refuse what is no record of ours, damaged, or newer than this program."""
    try:
        with copy.open("rb") as file:
            begins = file.read(16)
        if not begins.startswith(b"SQLite format 3\0"):
            raise NotTaken(f"{name} is no copy of a record.", "Name a copy, or the zip that the page gave you.")
        db = open_database(copy, readonly=True)
        try:
            tables = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            unknown = unknown_steps(db) if "_sqlite_migrations" in tables else []
        finally:
            db.close()
        if not {"firing", "reading", "_sqlite_migrations"} <= tables:
            raise NotTaken(f"{name} is a database, but no record of Lehrling’s.", "Name a copy of the record.")
        if unknown:
            raise NotTaken(f"{name} was written by a newer Lehrling (it has {unknown[-1]}, unknown here).",
                           "Update Lehrling first, then restore.")
        copies.check(copy)
    except (sqlite3.Error, UnicodeDecodeError) as err:
        raise NotTaken(f"{name} is damaged: {err}.", _DAMAGED) from None


def _scratch(record: Path) -> Path:
    """Return an empty folder beside the record."""
    scratch = record.parent / SCRATCH
    shutil.rmtree(scratch, ignore_errors=True)
    (scratch / PICTURES).mkdir(parents=True)
    return scratch


def _take(source: Path, scratch: Path, target: Path) -> None:
    """Bring a file to its place in the scratch folder, where a tool may have put it under another name."""
    if source.parent == scratch:
        os.replace(source, target)
    else:
        shutil.copyfile(source, target)


def _own_pictures(record: Path, scratch: Path) -> int:
    """Take from the own copies of photographs those that are missing; return how many."""
    folder, came = record.parent / copies.FOLDER / PICTURES, 0
    for picture in sorted(folder.glob("*.jpg")) if folder.is_dir() else ():
        if not (record.parent / PICTURES / picture.name).exists():
            shutil.copyfile(picture, scratch / PICTURES / picture.name)
            came += 1
    return came


def _count_on(fetched: Fetched, record: Path) -> None:
    """Keep the restored record as a copy here, so that the next one gets a higher number than any elsewhere."""
    found = copies.by_name(Path(fetched.name))
    made = copies.copies_of(record)
    if found is None or (made and made[-1].number >= fetched.newest):
        return
    folder = record.parent / copies.FOLDER
    folder.mkdir(exist_ok=True)
    shutil.copyfile(record, folder / copies.name_of(max(fetched.newest, found.number) + 1, found.made_utc))

