"""Pieces: the things being made, each going through several firings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.store.database import insert
from daemon.store.finding.search import Wanted, piece_condition
from daemon.store.stamps import moment, stamp

COLOURS = ("high-fire", "low-fire")


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece as the maker described it."""

    piece_id: int
    name: str
    glass: str
    thickness_mm: float
    """Thickest place [mm]."""
    layers: str
    note: str
    created_utc: datetime
    thinnest_mm: float | None = None
    """Thinnest place [mm]; None where it was not said."""
    separator: str = ""
    drying_from_utc: datetime | None = None
    dry_by_utc: datetime | None = None
    """When it will be dry enough to fire; None where nothing dries."""
    colour: str = ""
    """Enamel or decal on it: none, or one of COLOURS."""


def add_piece(db: sqlite_utils.Database, *, name: str, glass: str, thickness_mm: float, now_utc: datetime,
              layers: str = "", note: str = "", thinnest_mm: float | None = None, separator: str = "",
              colour: str = "") -> int:
    """Keep a new piece and return its id."""
    return insert(db, "piece", {
        "name": name, "glass": glass, "thickness_mm": float(thickness_mm), "layers": layers, "note": note,
        "created_utc": stamp(now_utc), "thinnest_mm": thinnest_mm, "separator": separator,
        "colour": colour,
    })


def change_piece(db: sqlite_utils.Database, piece_id: int, *, name: str, glass: str, thickness_mm: float,
                 layers: str, note: str, thinnest_mm: float | None, separator: str, colour: str = "") -> None:
    """Describe a piece anew; its firings keep what they were watched by."""
    db.table("piece").update(piece_id, {
        "name": name, "glass": glass, "thickness_mm": float(thickness_mm), "layers": layers, "note": note,
        "thinnest_mm": thinnest_mm, "separator": separator, "colour": colour,
    })


def set_drying(db: sqlite_utils.Database, piece_id: int, from_utc: datetime | None, by_utc: datetime | None) -> None:
    """Say from when to when a piece dries; None for both where nothing dries any more."""
    db.table("piece").update(piece_id, {
        "drying_from_utc": None if from_utc is None else stamp(from_utc),
        "dry_by_utc": None if by_utc is None else stamp(by_utc),
    })


def pieces(db: sqlite_utils.Database) -> list[Piece]:
    """Return every piece, the latest first."""
    return [_piece(row) for row in db.query("SELECT * FROM piece ORDER BY piece_id DESC")]


def matching(db: sqlite_utils.Database, text: str, limit: int, offset: int = 0) -> list[Piece]:
    """Return so many pieces, the latest first; with ``text`` those that hold each of its words.

    Looked through are name, layers, separator and note (daemon.store.finding.search).
    """
    wanted = Wanted(text)
    condition, asked = piece_condition(wanted) if wanted else ("true", [])
    return [_piece(row) for row in db.query(
        f"SELECT * FROM piece WHERE {condition} ORDER BY created_utc DESC, piece_id DESC LIMIT ? OFFSET ?",
        [*asked, limit, offset])]


def piece(db: sqlite_utils.Database, piece_id: int) -> Piece | None:
    """Return a piece by its id; None where there is none."""
    for row in db.query("SELECT * FROM piece WHERE piece_id = ?", [piece_id]):
        return _piece(row)
    return None


def drying_until(db: sqlite_utils.Database, after_utc: datetime) -> list[Piece]:
    """Return the pieces whose drying ends after a moment, or ended after it, the soonest first."""
    return [_piece(row) for row in db.query(
        "SELECT * FROM piece WHERE drying_from_utc IS NOT NULL AND dry_by_utc > ? ORDER BY dry_by_utc, piece_id",
        [stamp(after_utc)])]


def of_firing(db: sqlite_utils.Database, firing_id: int) -> list[Piece]:
    """Return the pieces of a firing, the first one first."""
    return [_piece(row) for row in db.query(
        "SELECT piece.* FROM piece JOIN firing_piece USING (piece_id) WHERE firing_id = ? ORDER BY piece_id",
        [firing_id])]


def _piece(row: dict[str, object]) -> Piece:
    times = {key: None if row[key] is None else moment(str(row[key]))
             for key in ("created_utc", "drying_from_utc", "dry_by_utc")}
    return Piece(**{**row, **times})  # type: ignore[arg-type]
