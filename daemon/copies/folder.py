"""Copies in a folder: on another disk, in the house's network, or on a stick that is found by its label."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from daemon.copies.place import PICTURES, TOP, NotTaken, Stored, capital, failed

CHUNK_BYTES = 1024 * 1024
"""Written in one go; between two the time is looked at. [chosen: a slow stick takes a second for it]"""
LONGEST_S = 3600.0
"""A place that takes longer for one night's copy is too slow [s]. [chosen: 100 MB at 30 kB/s]"""
_PART = ".part"
"""Ends the name of what is not whole yet."""


class FolderPlace:
    """A folder that copies are kept in.

    Parameters
    ----------
    called
        What it is called in a sentence.
    folder
        It; it has to be there.
    now_s
        A clock that nobody sets [s].
    """

    def __init__(self, called: str, folder: Path, now_s: Callable[[], float]) -> None:
        self.called = called
        self._top = folder / TOP
        self._folder = folder
        self._disk = folder.stat().st_dev if folder.is_dir() else None
        """The file system it lies on; once that is unmounted, the same path leads to this computer's own card."""
        self._now_s = now_s
        self._until_s = now_s() + LONGEST_S

    def marks(self) -> list[str]:
        """Return the marks of all records that have copies there."""
        with self._says():
            return sorted(path.name for path in self._top.iterdir() if path.is_dir()) if self._top.is_dir() else []

    def stored(self, mark: str) -> Stored:
        """Return what lies there of a record."""
        with self._says():
            return Stored(_sizes(self._top / mark, ".db"), _sizes(self._top / mark / PICTURES, ".jpg"))

    def put(self, mark: str, copy: Path, pictures: Sequence[Path]) -> None:
        """Write a copy, and the photographs that are not there in full; what is unfinished has another name."""
        there = self.stored(mark)
        with self._says():
            (self._top / mark / PICTURES).mkdir(parents=True, exist_ok=True)
            self._clear_away(self._top / mark)
            for picture in pictures:
                if there.pictures.get(picture.name) != picture.stat().st_size:
                    self._write(picture, self._top / mark / PICTURES / picture.name)
            if there.copies.get(copy.name) != copy.stat().st_size:
                self._write(copy, self._top / mark / copy.name)

    def read_back(self, mark: str, name: str, scratch: Path) -> Path:
        """Return the file there, with nothing of it kept in memory: it will be read from the place itself."""
        folder = self._top / mark / PICTURES if name.endswith(".jpg") else self._top / mark
        with self._says(), (folder / name).open("rb") as file:
            if hasattr(os, "posix_fadvise"):
                os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        return folder / name

    def drop(self, mark: str, names: Collection[str]) -> None:
        """Remove files of ours."""
        with self._says():
            for name in names:
                (self._top / mark / (PICTURES if name.endswith(".jpg") else "") / name).unlink(missing_ok=True)

    def _write(self, source: Path, target: Path) -> None:
        """Copy a file and wait until it is on the disk; only then does it get its name."""
        part = target.with_name(target.name + _PART)
        try:
            with source.open("rb") as read, part.open("wb") as write:
                while chunk := read.read(CHUNK_BYTES):
                    write.write(chunk)
                    if self._now_s() > self._until_s:
                        raise NotTaken(f"{capital(self.called)} is too slow: it took over {LONGEST_S / 60:.0f} min.",
                                       "Take a faster one.")
                write.flush()
                os.fsync(write.fileno())
            os.replace(part, target)
        except BaseException:
            _remove(part)
            raise

    def _clear_away(self, folder: Path) -> None:
        """Remove what an earlier night left unfinished."""
        for part in (*folder.glob(f"*{_PART}"), *(folder / PICTURES).glob(f"*{_PART}")):
            part.unlink(missing_ok=True)

    @contextmanager
    def _says(self) -> Iterator[None]:
        """Make a sentence of an error of the system, and of a disk that is not mounted there any more."""
        try:
            if self._folder.stat().st_dev != self._disk:
                raise OSError(errno.ENODEV, os.strerror(errno.ENODEV))
            yield
        except OSError as err:
            raise failed(self.called, err) from None


def stick(label: str, called: str, *, root: Path = Path("/"),
          number: Callable[[Path], int] = lambda path: path.stat().st_rdev) -> Path:
    """Return where the stick with a label is mounted.

    Parameters
    ----------
    label
        The label of its file system.
    called
        What it is called in a sentence.
    root
        Where the system's own files are.
    number
        Returns the number of the device that a path leads to.

    Raises
    ------
    NotTaken
        Where it is not in, or not mounted.
    """
    device = root / "dev/disk/by-label" / _as_udev_writes(label)
    try:
        found = number(device)
    except OSError:
        raise NotTaken(f"{capital(called)} is not in.", "Put it in. The next copy is taken within an hour, the kiln "
                       "being cold.") from None
    mounts = (root / "proc/self/mountinfo").read_text(encoding="utf-8", errors="surrogateescape").splitlines()
    wanted = f"{os.major(found)}:{os.minor(found)}"
    for fields in (line.split() for line in mounts):
        # The third field is the device, the fourth what of it is mounted, the fifth where (proc(5), mountinfo).
        if len(fields) > 4 and fields[2] == wanted and fields[3] == "/":
            return Path(re.sub(r"\\(\d{3})", lambda octal: chr(int(octal[1], 8)), fields[4]))
    raise NotTaken(f"{capital(called)} is in, but not mounted.", "docs/install.md, “A copy elsewhere”, has the line "
                   "for /etc/fstab that does it.")


def _as_udev_writes(label: str) -> str:
    r"""Return a label as udev names it: ``\x20`` for a blank, and so on (from memory: udev(7), ID_FS_LABEL_ENC)."""
    return "".join(letter if letter.isalnum() or letter in "#+-.:=@_" else
                   "".join(f"\\x{byte:02x}" for byte in letter.encode()) for letter in label)


def _sizes(folder: Path, ending: str) -> dict[str, int]:
    """Return the files in a folder with their sizes [bytes]; none where there is no such folder."""
    if not folder.is_dir():
        return {}
    return {path.name: path.stat().st_size for path in folder.iterdir() if path.suffix == ending and path.is_file()}


def _remove(path: Path) -> None:
    """Remove a file if that can be done."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return
