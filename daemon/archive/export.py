"""An archive written: a folder, or the same as a zip; finished under another name, so that half a one has no name."""

from __future__ import annotations

import json
import os
import shutil
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import Any

import sqlite_utils

from daemon.archive import read_out
from daemon.archive.names import ABOUT, HEAD, SCHEMA, STUDIO, firing_folder, photograph_name
from daemon.archive.schema import FORMAT, READINGS_COLUMNS, VERSION, published
from daemon.errors import BadInput
from daemon.store.chain import source_file
from daemon.store.photographs import FOLDER as PICTURES
from daemon.store.photographs import SIZES
from daemon.store.stamps import stamp

BLOCK_BYTES = 64 * 1024
"""Copied in one go. [chosen: bounds the memory of a small Pi]"""
_WHEN = (1980, 1, 1, 0, 0, 0)
"""The time that each file in a zip carries; archive.json says when it was made. [chosen: zip knows no earlier]"""
_TEXT = """This is an archive of firings, written by Lehrling. It can be read without Lehrling.

index.html            open it in a browser: the list of firings, and a page of each (if they were asked for)
firings/*/firing.json what is kept of a firing: facts, parts, alerts, notes, verdicts, and its chain
firings/*/readings.csv its readings: second, temperature in steps of 1/128 degrees C, how far below and above the
                      readings around it went, and the same in degrees C
firings/*/source.csv  the file of another logger that a firing was taken in from, byte for byte
studio.json           kilns, plans and pieces
photographs/          the photographs
schema.json           JSON Schema 2020-12 of the JSON files
archive.json          size and SHA-256 of each file

Not in it: firings that run, what was deleted, messages that were sent, settings, passwords.
The figures are those of one thermocouple. Lehrling is a helper, not a safety device.
"""


@dataclass
class Written:
    """What was written.

    Attributes
    ----------
    firings, pieces, photographs
        How many.
    missing
        Photographs whose file is not there.
    running, deleted
        Firings that were left out, since they run, or lie in the bin.
    """

    firings: int = 0
    pieces: int = 0
    photographs: int = 0
    missing: list[str] = field(default_factory=list)
    running: int = 0
    deleted: int = 0


class _Target:
    """Takes files by name, and notes size and digest of each."""

    def __init__(self, part: Path, *, as_zip: bool) -> None:
        self._part = part
        self._zip = zipfile.ZipFile(part, "x", zipfile.ZIP_DEFLATED) if as_zip else None
        if self._zip is None:
            part.mkdir()
        self.files: dict[str, dict[str, Any]] = {}

    def add(self, name: str, blocks: Iterable[bytes], *, listed: bool = True) -> None:
        """Write a file."""
        digest, size = sha256(), 0
        if self._zip is not None:
            info = zipfile.ZipInfo(name, _WHEN)
            info.compress_type = zipfile.ZIP_STORED if name.endswith(".jpg") else zipfile.ZIP_DEFLATED
            info.external_attr = 0o100644 << 16
            target = self._zip.open(info, "w", force_zip64=True)
        else:
            path = self._part / name
            path.parent.mkdir(parents=True, exist_ok=True)
            target = path.open("xb")
        with target:
            for block in blocks:
                digest.update(block)
                size += len(block)
                target.write(block)
        if listed:
            self.files[name] = {"bytes": size, "sha256": digest.hexdigest()}

    def close(self) -> None:
        """Finish what was written."""
        if self._zip is not None:
            self._zip.close()


Pages = Callable[[Iterable[int]], Iterable[tuple[str, str]]]
"""Draws the pages of firings to read: name in the archive and HTML of each."""


def write_archive(db: sqlite_utils.Database, data: Path, out: Path, utc: datetime, *, piece_id: int | None = None,
                  pages: Pages | None = None, progress: Callable[[Sequence[int]], Iterable[int]] = iter) -> Written:
    """Write an archive of the record, or of one piece with its firings.

    Parameters
    ----------
    db
        An open record; it is read in one transaction, pages left aside, and nothing is written.
    data
        The data folder, where the photographs are.
    out
        The folder to make, or a zip where its name ends with ``.zip``; nothing may be there yet.
    utc
        Wall time.
    piece_id
        The piece; None for everything.
    pages
        Draws the pages to read; None for an archive without them.
    progress
        Called with the firings, yields them again.

    Raises
    ------
    BadInput
        Where something is there already.
    OSError
        Where it can't be written; nothing of it stays.
    """
    if out.exists() or out.is_symlink():
        raise BadInput(str(out), "is there already.", "Name one that is not.")
    if not out.parent.is_dir():
        raise BadInput(str(out), f"there is no folder {out.parent}.", "Make it first, or name another place.")
    part = out.with_name(out.name + ".part")
    _remove(part)
    target = _Target(part, as_zip=out.suffix.lower() == ".zip")
    try:
        db.execute("BEGIN")
        try:
            done, numbers = _write(db, data, target, piece_id, progress)
        finally:
            db.rollback()
        for name, page in pages(progress(numbers)) if pages is not None else ():
            target.add(name, [page.encode()])
        head = {"format": FORMAT, "version": VERSION, "made_utc": stamp(utc), "lehrling": version("lehrling"),
                "files": target.files}
        target.add(HEAD, [_json(head)], listed=False)
        target.close()
        os.replace(part, out)
    except BaseException:
        with suppress(OSError, ValueError):
            target.close()
        _remove(part)
        raise
    return done


def _write(db: sqlite_utils.Database, data: Path, target: _Target, piece_id: int | None,
           progress: Callable[[Sequence[int]], Iterable[int]]) -> tuple[Written, list[int]]:
    """Write all files but pages and head; return what was written, and the firings."""
    numbers = read_out.ended(db, piece_id)
    running, deleted = read_out.left_out(db)
    done = Written(len(numbers), running=running, deleted=deleted)
    target.add(ABOUT, [_TEXT.encode()])
    target.add(SCHEMA, [_json(published())])
    studio = read_out.studio(db, frozenset(numbers), piece_id)
    target.add(STUDIO, [_json(studio)])
    done.pieces = len(studio["pieces"])
    marks = {photo["mark"] for piece in studio["pieces"] for photo in piece["photograph"]}
    for number in progress(numbers):
        kept = read_out.firing(db, number, piece_id)
        marks.update(photo["mark"] for photo in kept["photograph"])
        folder = firing_folder(number)
        target.add(f"{folder}/firing.json", [_json(kept)])
        target.add(f"{folder}/readings.csv", _csv(db, number))
        source = source_file.get(db, number)
        if source is not None:
            target.add(f"{folder}/source.csv", [source[1]])
    for mark in sorted(marks):
        sizes = [size for size in SIZES if (data / PICTURES / f"{mark}-{size}.jpg").is_file()]
        if SIZES[0] not in sizes:
            done.missing.append(mark)
            continue
        done.photographs += 1
        for size in sizes:
            target.add(photograph_name(mark, size), _blocks(data / PICTURES / f"{mark}-{size}.jpg"))
    return done, numbers


def _csv(db: sqlite_utils.Database, number: int) -> Iterator[bytes]:
    yield (",".join(READINGS_COLUMNS) + "\r\n").encode()
    for line in read_out.readings_csv(db, number):
        yield (line + "\r\n").encode()


def _json(value: Any) -> bytes:
    return (json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()


def _blocks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            yield block


def _remove(part: Path) -> None:
    """Remove what an earlier try left."""
    if part.is_dir() and not part.is_symlink():
        shutil.rmtree(part)
    else:
        part.unlink(missing_ok=True)
