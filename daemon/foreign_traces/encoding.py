"""The bytes of a logger's file as text."""

from __future__ import annotations

from daemon.errors import BadInput

_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""How a workbook's file begins. [from memory: the marks of a zip archive and of a compound file]"""


class Unreadable(BadInput):
    """A file that can't be read however its columns are understood; only another file helps."""


def text_of(data: bytes, source: str) -> str:
    """Return the text of a file in UTF-8, in UTF-16 with its mark, or in the old code page of western Europe.

    Raises
    ------
    Unreadable
        Where it is no text.
    """
    if data.startswith(_WORKBOOKS):
        raise Unreadable(source, "is a workbook or an archive, not text.", "Save the sheet as CSV, and give that.")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError:
            raise Unreadable(source, "is cut off in the middle of a letter.",
                             "Copy it anew from the logger.") from None
    if b"\x00" in data:
        raise Unreadable(source, "is no text.", "Give the CSV file that the logger wrote.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")
