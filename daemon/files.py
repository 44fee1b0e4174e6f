"""Text files read and written whole, or refused with a reason."""

from __future__ import annotations

from pathlib import Path

from daemon.errors import BadInput

LARGEST_BYTES = 200 * 1024 * 1024
"""More than a year of second-by-second readings; a larger file is not a trace."""


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
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as err:
        line = data.count(b"\n", 0, err.start) + 1
        raise BadInput(f"{path}, row {line}", f"holds a byte that is not UTF-8 (0x{data[err.start]:02x}).",
                       "Save it as UTF-8.") from None


def write_text(path: str, text: str) -> None:
    """Write a text file whole; BadInput says why it can't be."""
    try:
        Path(path).write_text(text, encoding="utf-8")
    except (OSError, ValueError) as err:
        reason = getattr(err, "strerror", None) or str(err)
        raise BadInput(path, f"can't be written: {reason}.", "Give a file in a folder you may write.") from None
