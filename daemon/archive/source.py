"""An archive opened to be read: a folder or a zip of it. What could do harm is refused before anything is read."""

from __future__ import annotations

import json
import os
import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

from daemon.archive.names import HEAD, NAME
from daemon.archive.schema import FORMAT, VERSION, Schema, complaints
from daemon.archive.schema import HEAD as HEAD_SCHEMA
from daemon.errors import BadInput

MOST_FILES = 200_000
"""Files that an archive has at most. [derived: 5,000 firings with three files and some photographs each]"""
MOST_BYTES = 32 * 1024 * 1024
"""The longest file that is read [bytes]. [chosen: the readings of a firing of two weeks are some 12 MB, a list of
200,000 files some 30 MB]"""
MOST_JSON_BYTES = 16 * 1024 * 1024
"""The longest JSON file that is read, its list of files left aside [bytes]. [chosen: 5,000 pieces take some 3 MB]"""
_BLOCK_BYTES = 64 * 1024
"""Read in one go. [chosen: bounds the memory of a small Pi]"""
REMEDY = "The record here is as it was. Get the archive again from where it was exported."


class Source:
    """The files of an archive.

    Attributes
    ----------
    sizes
        Size of each file [bytes], by its name in the archive; ``archive.json`` left out.
    """

    def __init__(self, where: str, sizes: dict[str, int], opener: Callable[[str], IO[bytes]]) -> None:
        self.where = where
        self._opener = opener
        self.sizes = sizes
        self._listed: dict[str, Any] = {}

    def refuse(self, name: str, what: str, remedy: str = REMEDY) -> BadInput:
        """Return the error that names a file of the archive and what is wrong with it."""
        return BadInput(f"{self.where}, {name}" if name else self.where, what, remedy)

    def read_head(self) -> None:
        """Read the list of files, and hold it against those that are there.

        Raises
        ------
        BadInput
            Where it is no archive, of a newer version, cut short, or has files that are not in the list.
        """
        try:
            head = self._parsed(HEAD, b"".join(self._blocks(HEAD, MOST_BYTES)))
        except KeyError:
            raise self.refuse("", "is no archive of Lehrling: it has no archive.json.",
                              "Name the folder or the zip that lehrling archive export wrote.") from None
        if not isinstance(head, dict) or head.get("format") != FORMAT:
            raise self.refuse(HEAD, f"does not say that it is a {FORMAT}.",
                              "Name the folder or the zip that lehrling archive export wrote.")
        newer = head.get("version")
        if isinstance(newer, int) and newer > VERSION:
            raise self.refuse(HEAD, f"is of version {newer} of the format; version {VERSION} is known here.",
                              "Update Lehrling first: lehrling update. The record here is as it was.")
        self.against(HEAD, head, HEAD_SCHEMA)
        self._listed = head["files"]
        if missing := sorted(self._listed.keys() - self.sizes.keys()):
            raise self.refuse(missing[0], f"is missing, with {len(missing) - 1} more." if len(missing) > 1
                              else "is missing.")
        if added := sorted(self.sizes.keys() - self._listed.keys()):
            raise self.refuse(added[0], "is not in the list of archive.json.")

    def blocks(self, name: str) -> Iterator[bytes]:
        """Yield a file's bytes; its size and digest are compared at the end.

        Raises
        ------
        BadInput
            Where they are not those of the list, or the file can't be read.
        """
        listed, digest, size = self._listed[name], sha256(), 0
        most_bytes = MOST_JSON_BYTES if name.endswith(".json") else MOST_BYTES
        for block in self._blocks(name, min(listed["bytes"], most_bytes)):
            digest.update(block)
            size += len(block)
            yield block
        if size != listed["bytes"] or digest.hexdigest() != listed["sha256"]:
            raise self.refuse(name, "holds other bytes than were written into it.")

    def json(self, name: str, schema: Schema) -> Any:
        """Return a JSON file that is as its schema asks.

        Raises
        ------
        BadInput
            Where it is not.
        """
        value = self._parsed(name, b"".join(self.blocks(name)))
        self.against(name, value, schema)
        return value

    def against(self, name: str, value: Any, schema: Schema) -> None:
        """Refuse a value that is not as a schema asks, naming the first place."""
        for complaint in complaints(value, schema):
            raise self.refuse(name, f"{complaint}.")

    def _parsed(self, name: str, raw: bytes) -> Any:
        try:
            return json.loads(raw.decode(), object_pairs_hook=_once, parse_constant=_no_number)
        except RecursionError:
            raise self.refuse(name, "is nested too deeply.") from None
        except ValueError as err:
            raise self.refuse(name, f"is no JSON: {ascii(str(err))[1:-1][:100]}.") from None

    def _blocks(self, name: str, most_bytes: int) -> Iterator[bytes]:
        """Yield a file's bytes, and refuse it once it is longer than it may be."""
        left = most_bytes
        try:
            with self._opener(name) as file:
                while block := file.read(_BLOCK_BYTES):
                    left -= len(block)
                    if left < 0:
                        raise self.refuse(name, f"is longer than {most_bytes} bytes.")
                    yield block
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as err:
            raise self.refuse(name, f"can't be read: {err}.") from None


@contextmanager
def open_archive(path: Path) -> Iterator[Source]:
    """Open an archive, and hold its list against its files.

    Raises
    ------
    BadInput
        Where it is none, or one that could do harm.
    """
    if path.is_dir():
        source = _folder(path)
        source.read_head()
        yield source
        return
    with _zip(path) as source:
        source.read_head()
        yield source


def _folder(path: Path) -> Source:
    """Return the files of a folder; links and what is no plain file are refused."""
    sizes: dict[str, int] = {}
    for folder, folders, files in os.walk(path):
        for name in (*folders, *files):
            found = Path(folder, name)
            called = found.relative_to(path).as_posix()
            mode = found.lstat()
            if name in files or stat.S_ISLNK(mode.st_mode):
                _take(str(path), called, mode.st_size, sizes, plain=stat.S_ISREG(mode.st_mode))
    return Source(str(path), _without_head(sizes), lambda name: _plain_file(path / name))


def _plain_file(path: Path) -> IO[bytes]:
    """Open a file, though not through a link that took its place."""
    try:
        return os.fdopen(os.open(path, os.O_RDONLY | os.O_NOFOLLOW), "rb")
    except FileNotFoundError:
        raise KeyError(path.name) from None


def _zip(path: Path) -> AbstractContextManager[Source]:
    """Return the files of a zip."""
    @contextmanager
    def opened() -> Iterator[Source]:
        try:
            whole = zipfile.ZipFile(path)
        except FileNotFoundError:
            raise BadInput(str(path), "there is no such file or folder.", "Name an archive.") from None
        except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as err:
            raise BadInput(str(path), f"is no archive, or cut short: {err}.", REMEDY) from None
        with whole:
            sizes: dict[str, int] = {}
            top = _top(whole)
            for info in whole.infolist():
                called = info.filename.removeprefix(top)
                if info.is_dir() and (called in ("", "firings/", "photographs/")
                                      or NAME.fullmatch(f"{called}firing.json")):
                    continue
                mode = info.external_attr >> 16
                _take(str(path), called, info.file_size, sizes, is_secret=bool(info.flag_bits & 1),
                      plain=not info.is_dir() and stat.S_IFMT(mode) in (0, stat.S_IFREG))
            yield Source(str(path), _without_head(sizes), lambda name: whole.open(top + name))
    return opened()


def _top(whole: zipfile.ZipFile) -> str:
    """Return the one folder that all files of a zip lie in, as other programs pack it; empty where there is none."""
    first = next((info.filename for info in whole.infolist()), "").split("/")[0] + "/"
    names = whole.namelist()
    is_packed = first not in ("firings/", "photographs/", "/", "../", "./") and all(
        name.startswith(first) for name in names)
    return first if is_packed else ""


def _take(where: str, name: str, size: int, sizes: dict[str, int], *, plain: bool, is_secret: bool = False) -> None:
    """Note a file of an archive, or refuse the archive for it."""
    shown = ascii(name)[1:-1][:120]
    if not NAME.fullmatch(name):
        raise BadInput(f"{where}, {shown}", "no file of an archive has such a name.",
                       "Take that file out, or get the archive again. The record here is as it was.")
    if not plain:
        raise BadInput(f"{where}, {shown}", "is a link or a device, not a plain file.", REMEDY)
    if is_secret:
        raise BadInput(f"{where}, {shown}", "is encrypted.", "Unpack it with its password, and name the folder.")
    if name in sizes:
        raise BadInput(f"{where}, {shown}", "is in it twice.", REMEDY)
    if size > MOST_BYTES or len(sizes) >= MOST_FILES:
        raise BadInput(f"{where}, {shown}", f"is too much: at most {MOST_BYTES // 2**20} MB a file and {MOST_FILES} "
                       "files are read.", REMEDY)
    sizes[name] = size


def _without_head(sizes: dict[str, int]) -> dict[str, int]:
    return {name: size for name, size in sizes.items() if name != HEAD}


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object whose names are each there once."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name is there twice in one object")
    return found


def _no_number(word: str) -> Any:
    raise ValueError(f"{word} is no number in JSON")
