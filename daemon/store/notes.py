"""Notes a maker writes to a firing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.store.chain import links
from daemon.store.chain.contents import NOTE
from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp


@dataclass(frozen=True, slots=True)
class Note:
    """One note; it is never changed, a better one is added."""

    note_id: int
    firing_id: int
    wall_utc: datetime
    text: str


def add_note(db: sqlite_utils.Database, firing_id: int, text: str, now_utc: datetime) -> int:
    """Keep a note to a firing and return its id."""
    with transaction(db):
        note_id = insert(db, "note", {"firing_id": firing_id, "wall_utc": stamp(now_utc), "text": text})
        links.add_latest(db, firing_id, NOTE)
    return note_id


def notes(db: sqlite_utils.Database, firing_id: int) -> list[Note]:
    """Return the notes of a firing, the first one first."""
    return [Note(note_id, of, moment(wall_utc), text) for note_id, of, wall_utc, text in db.execute(
        "SELECT note_id, firing_id, wall_utc, text FROM note WHERE firing_id = ? ORDER BY note_id",
        [firing_id])]


def note(db: sqlite_utils.Database, note_id: int) -> Note | None:
    """Return a note by its id; None where there is none."""
    for number, of, wall_utc, text in db.execute(
            "SELECT note_id, firing_id, wall_utc, text FROM note WHERE note_id = ?", [note_id]):
        return Note(number, of, moment(wall_utc), text)
    return None
