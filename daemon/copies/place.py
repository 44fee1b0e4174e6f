"""What a place for copies does, and what can go wrong with it."""

from __future__ import annotations

import errno
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

TOP = "lehrling-copies"
"""The folder at a place that is ours; nothing outside it is ever touched."""
PICTURES = "photographs"
"""Within it, beside the copies of a record."""


class NotTaken(Exception):
    """A copy could not be taken, or not read back.

    Parameters
    ----------
    said
        What happened, in a sentence.
    do
        What to do about it.
    """

    def __init__(self, said: str, do: str) -> None:
        self.said, self.do = said, do
        super().__init__(f"{said} {do}")


@dataclass(frozen=True)
class Stored:
    """What lies at a place of one record: copies and photographs by their file names, with their sizes [bytes]."""

    copies: Mapping[str, int] = field(default_factory=dict)
    pictures: Mapping[str, int] = field(default_factory=dict)


class Place(Protocol):
    """A place where copies are kept. Each method raises NotTaken where it can't be done."""

    called: str
    """What it is called in a sentence."""

    def marks(self) -> list[str]:
        """Return the marks of all records that have copies there."""

    def stored(self, mark: str) -> Stored:
        """Return what lies there of the record with a mark."""

    def put(self, mark: str, copy: Path, pictures: Sequence[Path]) -> None:
        """Write a copy there, and the photographs that it needs and that are not there yet."""

    def read_back(self, mark: str, name: str, scratch: Path) -> Path:
        """Return a file with what lies there under a name, read from there; it may be made in ``scratch``."""

    def drop(self, mark: str, names: Collection[str]) -> None:
        """Remove copies or photographs of ours by their names."""


def failed(called: str, err: OSError) -> NotTaken:
    """Return what to say of an error of the system at a place."""
    number = err.errno
    if number in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return NotTaken(f"There is no room on {called}.", "Make room there, or take a larger one. The copies on it "
                        "stay.")
    if number == errno.EROFS:
        return NotTaken(f"{capital(called)} takes no writing. A stick does that when it fails, or by a switch on it.",
                        "Take another one.")
    if number in (errno.EACCES, errno.EPERM):
        return NotTaken(f"Lehrling may not write to {called}.", "docs/install.md, “A copy elsewhere”, says how to "
                        "let it.")
    if number in (errno.EIO, errno.ENODEV, errno.ENXIO, errno.ENOENT, errno.ENOTCONN, errno.ESTALE, errno.ENOTDIR):
        return NotTaken(f"{capital(called)} went away, or fails ({err.strerror}).", "Put it in again. If that does "
                        "not help, take another one.")
    return NotTaken(f"{capital(called)} can’t be used: {err.strerror or err}.", "Look at it, or take another one.")


def capital(sentence: str) -> str:
    """Return a sentence with a capital letter at its head."""
    return sentence[:1].upper() + sentence[1:]
