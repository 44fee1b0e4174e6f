"""One file to carry away: a copy of the record and all photographs as a zip, with the digest of each."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

from daemon.copies.place import PICTURES, NotTaken
from daemon.store.safety.copies import by_name

DIGESTS = "digests.json"
"""The last file in it: SHA-256 by name."""
BLOCK_BYTES = 32 * 1024
"""Given out in one go. [chosen: bounds the memory of a small Pi]"""
PICTURE = re.compile(r"[0-9a-z][0-9a-z-]{0,99}\.jpg")
"""The name of a photograph's file."""
_WHEN = (1980, 1, 1, 0, 0, 0)
"""The time that each file in it carries; the copy's own name says when it was made. [chosen: zip knows no earlier]"""


class _Line(io.RawIOBase):
    """Takes what the zip writes until it is given out."""

    def __init__(self) -> None:
        self._waits: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self._waits.append(bytes(data))
        return len(self._waits[-1])

    def taken(self) -> bytes:
        """Return what was written since the last call."""
        waits, self._waits = self._waits, []
        return b"".join(waits)


def bundle(copy: Path, pictures: Sequence[Path]) -> Iterator[bytes]:
    """Yield the zip in blocks, reading the files meanwhile; a photograph that is gone is left out.

    Raises
    ------
    OSError
        Where the copy can't be read.
    """
    line, digests = _Line(), {}
    with zipfile.ZipFile(line, "w", zipfile.ZIP_STORED) as whole:
        for path in (copy, *pictures):
            name = path.name if path == copy else f"{PICTURES}/{path.name}"
            try:
                source = path.open("rb")
            except FileNotFoundError:
                if path == copy:
                    raise
                continue
            digest = sha256()
            with source, whole.open(zipfile.ZipInfo(name, _WHEN), "w", force_zip64=True) as target:
                while block := source.read(BLOCK_BYTES):
                    digest.update(block)
                    target.write(block)
                    yield line.taken()
            digests[name] = digest.hexdigest()
        whole.writestr(zipfile.ZipInfo(DIGESTS, _WHEN), json.dumps(digests))
        yield line.taken()
    yield line.taken()


def unpack(file: IO[bytes], scratch: Path) -> tuple[Path, list[Path], list[str]]:
    """Lay out what such a file holds in a folder; return the copy, the photographs and the names of missing ones.

    Raises
    ------
    NotTaken
        Where it is no such file, or damaged.
    """
    damaged = "Download it again, or take another copy."
    try:
        with zipfile.ZipFile(file) as whole:
            names = whole.namelist()
            copies = [name for name in names if by_name(Path(name)) is not None and "/" not in name]
            if len(copies) != 1 or DIGESTS not in names:
                raise NotTaken("This zip holds no copy of a record.", "Name one that the page gave you.")
            digests = json.loads(whole.read(DIGESTS))
            pictures, listed = _pictures(names), _pictures(digests)
            for name in (*copies, *pictures):
                _lay_out(whole, name, digests.get(name), scratch)
    except (zipfile.BadZipFile, ValueError, AttributeError, EOFError, NotImplementedError, RuntimeError) as err:
        raise NotTaken(f"This zip is damaged: {err}.", damaged) from None
    missing = sorted({Path(name).name for name in listed} - {Path(name).name for name in pictures})
    return scratch / copies[0], [scratch / name for name in pictures], missing


def _pictures(names: Iterable[str]) -> list[str]:
    """Return those of some names in a zip that a photograph can have."""
    return [name for name in names
            if name.startswith(f"{PICTURES}/") and PICTURE.fullmatch(name.removeprefix(f"{PICTURES}/"))]


def _lay_out(whole: zipfile.ZipFile, name: str, wanted: object, scratch: Path) -> None:
    """Write one file of the zip, and compare its digest."""
    target, digest = scratch / name, sha256()
    target.parent.mkdir(exist_ok=True)
    with whole.open(name) as source, target.open("wb") as write:
        while block := source.read(BLOCK_BYTES):
            digest.update(block)
            write.write(block)
    if digest.hexdigest() != wanted:
        raise zipfile.BadZipFile(f"{name} has other bytes than were put in")
