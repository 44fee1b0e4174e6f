"""The file of another logger that a firing was taken in from, kept byte for byte with the firing."""

from __future__ import annotations

import zlib
from datetime import datetime
from hashlib import sha256
from typing import Any

import sqlite_utils

from daemon.store.stamps import stamp

MOST_BYTES = 8 * 1024 * 1024
"""The longest file that is kept [bytes]. [chosen: a day of readings each second, in rows of 90 signs; bounds what
reading it takes of a small Pi's memory]"""
_LEVEL = 9
"""Of zlib. [chosen: the smallest; done once a file]"""


def pack(data: bytes) -> bytes:
    """Return a file as it is kept; this takes longer than all else, so it is done before the record is locked."""
    return zlib.compress(data, _LEVEL)


def put(db: sqlite_utils.Database, firing_id: int, name: str, data: bytes, kept_utc: datetime,
        packed: bytes | None = None) -> None:
    """Keep the file of a firing, packed, in the caller's transaction; a firing has one at most.

    ``links.add`` chains it. ``packed`` is what ``pack`` made of it, where that was done before.
    """
    db.execute("INSERT INTO source_file (firing_id, name, bytes, kept_utc, packed) VALUES (?, ?, ?, ?, ?)",
               [firing_id, name, len(data), stamp(kept_utc), pack(data) if packed is None else packed])


def facts(db: sqlite_utils.Database, firing_id: int) -> dict[str, Any] | None:
    """Return name, bytes, SHA-256 and when a file was kept; None where the firing has none.

    The SHA-256 is reckoned from what is kept now. It is None where that can't be unpacked any more.
    """
    row = db.execute("SELECT name, bytes, kept_utc, packed FROM source_file WHERE firing_id = ?",
                     [firing_id]).fetchone()
    if row is None:
        return None
    name, size, kept_utc, packed = row
    data = _unpacked(packed, size)
    return {"name": name, "bytes": size, "kept_utc": kept_utc,
            "sha256": None if data is None else sha256(data).hexdigest()}


def get(db: sqlite_utils.Database, firing_id: int) -> tuple[str, bytes] | None:
    """Return name and bytes of the file; None where the firing has none, or it is damaged."""
    row = db.execute("SELECT name, bytes, packed FROM source_file WHERE firing_id = ?", [firing_id]).fetchone()
    data = None if row is None else _unpacked(row[2], row[1])
    return None if data is None else (row[0], data)


def name_of(db: sqlite_utils.Database, firing_id: int) -> tuple[str, int] | None:
    """Return name and length [bytes] of the file, without unpacking it; None where the firing has none."""
    row = db.execute("SELECT name, bytes FROM source_file WHERE firing_id = ?", [firing_id]).fetchone()
    return None if row is None else (str(row[0]), int(row[1]))


def _unpacked(packed: bytes, size: int) -> bytes | None:
    """Return the file; None where it is not ``size`` bytes long or can't be unpacked."""
    if not 0 <= size <= MOST_BYTES:
        return None
    try:
        unpack = zlib.decompressobj()
        data = unpack.decompress(packed, size + 1)
    except zlib.error:
        return None
    return data if len(data) == size and (unpack.eof or not size) else None
