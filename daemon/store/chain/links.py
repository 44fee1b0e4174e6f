"""Links of a firing's chain: what each one hashes, and how one is added in the transaction that keeps the data.

The content of a link is written as JSON in one fixed way, and hashed (SHA-256). The head of a link hashes the head
before it, the link's kind and number, and the hash of its content. So a change of any content changes each
later head.
Only what a reader without this program can see goes into a link: no number that another record would give anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from hashlib import sha256
from itertools import groupby
from math import isfinite
from typing import Any, NamedTuple

import sqlite_utils

from daemon.store.chain import contents
from daemon.store.chain.contents import ADOPTED, BLOCK_S, JOINED, JOINING, READINGS

START = "0" * 64
"""The head before the first link, as hexadecimal digits."""
_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
"""Refuses what JSON does not have. Only such a content is gone through value by value, which takes twice as long as
the writing itself; readings are whole numbers and never need it."""


class Link(NamedTuple):
    """One link of a firing's chain."""

    no: int
    """Its place in the chain, from 0."""
    kind: str
    """What it is of: a word of ``contents``."""
    ref: int
    """Which one of its kind: the ten-minute block, the alert's number, the place among the notes from 1."""
    own: bytes
    """SHA-256 of its content."""
    head: bytes
    """SHA-256 of the chain up to and with this link."""


def canonical(content: Any) -> bytes:
    """Return a content as the bytes that are hashed: JSON with sorted names, no spaces, in UTF-8.

    A number that JSON does not have, such as infinity, is written as text.
    """
    try:
        text = _JSON.encode(content)
    except ValueError:
        text = _JSON.encode(_plain(content))
    return text.encode(errors="surrogateescape")


def own_of(content: Any) -> bytes:
    """Return the SHA-256 of a content."""
    return sha256(canonical(content)).digest()


def head_after(before: str, kind: str, ref: int, own: bytes) -> bytes:
    """Return the head of a link; ``before`` is the head before it as hexadecimal digits."""
    return sha256(f"{before} {kind} {ref} {own.hex()}".encode(errors="surrogateescape")).digest()


def links(db: sqlite_utils.Database, firing_id: int) -> list[Link]:
    """Return the chain of a firing in order."""
    return [Link(*row) for row in db.execute(
        "SELECT no, kind, ref, own, head FROM link WHERE firing_id = ? ORDER BY no", [firing_id])]


def last(db: sqlite_utils.Database, firing_id: int) -> Link | None:
    """Return the last link of a firing; None where it has no chain."""
    row = db.execute("SELECT no, kind, ref, own, head FROM link WHERE firing_id = ? ORDER BY no DESC LIMIT 1",
                     [firing_id]).fetchone()
    return None if row is None else Link(*row)


def begin(db: sqlite_utils.Database, firing_id: int) -> None:
    """Begin the chain of a firing that is being opened, in the same transaction."""
    _add(db, firing_id, None, [(contents.FIRING, 0, contents.firing(db, firing_id)), (JOINED, 0, None)])


@contextmanager
def text_as_it_is(db: sqlite_utils.Database) -> Iterator[None]:
    """Read text that is no UTF-8 any more, since a disk has damaged it, as it is; else reading it fails."""
    before = db.conn.text_factory
    db.conn.text_factory = lambda raw: raw.decode(errors="surrogateescape")
    try:
        yield
    finally:
        db.conn.text_factory = before


def add(db: sqlite_utils.Database, firing_id: int, *wanted: tuple[str, int]) -> None:
    """Add a link for each (kind, ref), of what is kept now, in the transaction that keeps it.

    A firing without a chain, opened by an older version, gets its chain as a whole at night (``adopt``); so does one
    whose chain has no ``joined`` link with what is of the kinds that joined later.
    """
    with text_as_it_is(db):  # what is damaged elsewhere in the record stops no entry
        before = last(db, firing_id)
        if any(kind in JOINING for kind, _ in wanted) and not _is_joined(db, firing_id):
            wanted = tuple((kind, ref) for kind, ref in wanted if kind not in JOINING)
        if before is not None:
            _add(db, firing_id, before, [(kind, ref, contents.one(db, firing_id, kind, ref)) for kind, ref in wanted])


def add_latest(db: sqlite_utils.Database, firing_id: int, kind: str) -> None:
    """Add a link for the row of a numbered kind (said, note, judgement) that was kept just now."""
    add(db, firing_id, (kind, contents.count(db, firing_id, kind)))


def seal_readings(db: sqlite_utils.Database, firing_id: int, before_block: int | None = None) -> None:
    """Add links for the readings that have none, by whole blocks; ``before_block`` is the first one left out."""
    before = last(db, firing_id)
    if before is None:
        return
    sealed = db.execute("SELECT max(ref) FROM link WHERE firing_id = ? AND kind = ?",
                        [firing_id, READINGS]).fetchone()[0]
    first_s = None if sealed is None else (sealed + 1) * BLOCK_S
    rows = contents.readings(db, firing_id, first_s, None if before_block is None else before_block * BLOCK_S)
    _add(db, firing_id, before, ((READINGS, block, list(found)) for block, found in groupby(rows, contents.block_of)))


def adopt(db: sqlite_utils.Database, firing_id: int, utc: datetime) -> None:
    """Chain all that is kept of a firing and not in its chain, in the caller's transaction; ``utc`` is kept with it.

    That is everything where it has no chain, and the kinds that joined later where its chain is of an older version.
    """
    before, joins = last(db, firing_id), [(JOINED, int(utc.timestamp()), None)]
    if before is not None:
        if not _is_joined(db, firing_id):
            _add(db, firing_id, before, joins)
            add(db, firing_id, *_kept(db, firing_id, only_joining=True))
        return
    _add(db, firing_id, None, [(ADOPTED, int(utc.timestamp()), None), *joins])
    add(db, firing_id, (contents.FIRING, 0))
    seal_readings(db, firing_id)
    add(db, firing_id, *_kept(db, firing_id))


def _kept(db: sqlite_utils.Database, firing_id: int, *, only_joining: bool = False) -> list[tuple[str, int]]:
    """Return kind and number of what is kept beside facts and readings."""
    with text_as_it_is(db):
        return [(kind, ref) for kind, ref in contents.present(db, firing_id) if kind in JOINING or not only_joining]


def _is_joined(db: sqlite_utils.Database, firing_id: int) -> bool:
    """Return whether the kinds that joined later are in the chain of a firing."""
    return db.execute("SELECT 1 FROM link WHERE firing_id = ? AND kind = ? LIMIT 1",
                      [firing_id, JOINED]).fetchone() is not None


def not_chained(db: sqlite_utils.Database, limit: int) -> list[int]:
    """Return firings that ended and have no chain, or one without the kinds that joined later; the latest first."""
    return [number for (number,) in db.execute(
        "SELECT firing_id FROM firing AS f WHERE ended_s IS NOT NULL AND emptied_utc IS NULL"
        " AND NOT EXISTS (SELECT 1 FROM link WHERE link.firing_id = f.firing_id AND kind = ?)"
        " ORDER BY firing_id DESC LIMIT ?", [JOINED, limit])]


def _add(db: sqlite_utils.Database, firing_id: int, before: Link | None,
         wanted: Iterable[tuple[str, int, Any]]) -> None:
    """Add links after ``before``."""
    no, head, rows = (0, START, []) if before is None else (before.no + 1, before.head.hex(), [])
    for kind, ref, content in wanted:
        own = own_of(content)
        after = head_after(head, kind, ref, own)
        rows.append((firing_id, no, kind, ref, own, after))
        no, head = no + 1, after.hex()
    db.conn.executemany("INSERT INTO link (firing_id, no, kind, ref, own, head) VALUES (?, ?, ?, ?, ?, ?)", rows)


def _plain(value: Any) -> Any:
    """Return a value with what JSON cannot write as text."""
    if isinstance(value, float) and not isfinite(value):
        return repr(value)
    if isinstance(value, dict):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [_plain(entry) for entry in value]
    return value
