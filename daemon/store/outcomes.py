"""How a piece, or a whole load, came out of a firing, in fixed words; of one firing and piece the latest counts."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import sqlite_utils

from daemon.store.chain import links
from daemon.store.chain.contents import OUTCOME
from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp


class Word(StrEnum):
    """What may be said of an outcome; the value is what people read and what is stored, and never changes."""

    AS_HOPED = "as hoped"
    CLEAR = "clear"
    HAZE = "haze"
    MOTTLE = "mottle"
    BUBBLES = "bubbles"
    NEEDLE_POINTS = "needle points"
    DRAWN_IN_EDGES = "drawn-in edges"
    STUCK = "stuck"
    SLID = "slid"
    UNEVEN_SLUMP = "uneven slump"
    FADED = "faded"
    CRACK = "crack"

    @property
    def is_good(self) -> bool:
        """Return whether it is what one hopes for."""
        return self in (Word.AS_HOPED, Word.CLEAR)


WORDS = tuple(Word)
"""The fixed words, so that firings can be compared by them."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a piece came out of a firing; without a piece, the whole load."""

    firing_id: int
    piece_id: int | None
    words: tuple[str, ...]
    place: str
    """Where the crack is."""
    note: str
    wall_utc: datetime


def add_outcome(db: sqlite_utils.Database, *, firing_id: int, piece_id: int | None, words: Sequence[str], place: str,
                note: str, now_utc: datetime) -> int:
    """Keep an outcome and return its id; an earlier one of the same firing and piece stays in the file."""
    unknown = [word for word in words if word not in WORDS]
    if unknown:
        raise ValueError(f"{unknown[0]!r} is no word for an outcome; known: {', '.join(WORDS)}")
    with transaction(db):
        outcome_id = insert(db, "outcome", {
            "firing_id": firing_id, "piece_id": piece_id, "words": json.dumps(list(words)), "place": place,
            "note": note, "wall_utc": stamp(now_utc),
        })
        links.add_latest(db, firing_id, OUTCOME)
    return outcome_id


_STANDING = """
SELECT firing_id, piece_id, words, place, note, wall_utc FROM outcome AS o
WHERE outcome_id = (SELECT max(outcome_id) FROM outcome AS p
                    WHERE p.firing_id = o.firing_id AND p.piece_id IS NOT DISTINCT FROM o.piece_id)
"""


def of_firing(db: sqlite_utils.Database, firing_id: int) -> dict[int, Outcome]:
    """Return the latest outcome of each piece of a firing."""
    return {found.piece_id: found for found in _read(db, _STANDING + " AND firing_id = ?", firing_id)
            if found.piece_id is not None}


def of_load(db: sqlite_utils.Database, firing_id: int) -> Outcome | None:
    """Return the latest outcome that was said of a whole load; None where none was."""
    return next(iter(_read(db, _STANDING + " AND firing_id = ? AND piece_id IS NULL", firing_id)), None)


def outcome(db: sqlite_utils.Database, outcome_id: int) -> Outcome | None:
    """Return an outcome by its id where it is the latest of its firing and piece; None elsewhere."""
    return next(iter(_read(db, _STANDING + " AND outcome_id = ?", outcome_id)), None)


def of_piece(db: sqlite_utils.Database, piece_id: int) -> dict[int, Outcome]:
    """Return the latest outcome of a piece in each firing."""
    return {found.firing_id: found for found in _read(db, _STANDING + " AND piece_id = ?", piece_id)}


def _read(db: sqlite_utils.Database, query: str, key: int) -> list[Outcome]:
    return [Outcome(firing_id, piece_id, tuple(json.loads(words)), place, note, moment(wall_utc))
            for firing_id, piece_id, words, place, note, wall_utc in db.execute(query, [key])]
