"""Text files read and written whole, or refused with a reason."""

from __future__ import annotations

from errno import EISDIR
from os import strerror
from pathlib import Path

from daemon.errors import BadInput

LARGEST_BYTES = 200 * 1024 * 1024
"""More than a year of second-by-second readings; a larger file is not a trace. [chosen: bounds the memory]"""


def read_bytes(path: str, *, what: str) -> bytes:
    """Return what a file holds.

    Parameters
    ----------
    path
        The file.
    what
        What it should be, for the messages ("plan", "trace").

    Raises
    ------
    BadInput
        Where it is missing, unreadable or too large.
    """
    try:
        with Path(path).open("rb") as file:  # not by its size: that of a device or a pipe is nothing
            data = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise BadInput(path, "there is no such file.", f"Give the path of a {what}.") from None
    except IsADirectoryError:
        raise BadInput(path, "is a folder.", f"Give the path of a {what} in it.") from None
    except (OSError, ValueError) as err:
        reason = getattr(err, "strerror", None) or str(err)
        raise BadInput(path, f"can't be read: {reason}.", f"Give a {what} that you may read.") from None
    if len(data) > LARGEST_BYTES:
        raise BadInput(path, f"is larger than {LARGEST_BYTES // 1024**2} MiB.", f"Is this the {what}?")
    return data


def read_text(path: str, *, what: str) -> str:
    """Return the text of a UTF-8 file, with or without a byte order mark.

    Parameters
    ----------
    path
        The file.
    what
        What it should be, for the messages ("plan", "trace").

    Raises
    ------
    BadInput
        Where it is missing, unreadable, too large or not UTF-8.
    """
    data = read_bytes(path, what=what)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        line = data.count(b"\n", 0, err.start) + 1
        raise BadInput(f"{path}, row {line}", f"holds a byte that is not UTF-8 (0x{data[err.start]:02x}).",
                       "Save it as UTF-8.") from None


def write_text(path: str, text: str, *, like: str) -> None:
    """Write a text file whole, or leave what was there as it was.

    Parameters
    ----------
    path
        The file.
    text
        What it will hold.
    like
        How a file of this kind begins. One that is there already is replaced only where it begins so, and a
        plan or a recorded trace named by a slip of the hand is kept.

    Raises
    ------
    BadInput
        Where it can't be written, or another kind of file is in its place.
    """
    try:
        _write(Path(path), text, like)
    except (OSError, ValueError) as err:
        reason = getattr(err, "strerror", None) or str(err)
        raise BadInput(path, f"can't be written: {reason}.", "Give a file in a folder you may write.") from None


def _write(path: Path, text: str, like: str) -> None:
    if path.is_dir():
        raise IsADirectoryError(EISDIR, strerror(EISDIR))
    if path.exists() and not path.is_file():
        path.write_text(text, encoding="utf-8")  # a device or a pipe has nothing to lose
        return
    path = path.resolve()
    if path.exists() and not _begins(path, like.encode()):
        raise BadInput(str(path), "holds something else and is left as it is.", "Give the name of a new file.")
    unfinished = path.with_name(f".{path.name}.unfinished")
    try:
        unfinished.write_text(text, encoding="utf-8")
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)


def _begins(path: Path, like: bytes) -> bool:
    """Return whether a file begins like this; an empty one may become anything."""
    with path.open("rb") as file:
        return file.read(len(like)) in (like, b"")
