"""Pieces: the things being made, each going through several firings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.store.database import insert
from daemon.store.stamps import moment, stamp


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


def add_piece(db: sqlite_utils.Database, *, name: str, glass: str, thickness_mm: float, now_utc: datetime,
              layers: str = "", note: str = "") -> int:
    """Keep a new piece and return its id."""
    return insert(db, "piece", {
        "name": name, "glass": glass, "thickness_mm": float(thickness_mm), "layers": layers, "note": note,
        "created_utc": stamp(now_utc),
    })


def pieces(db: sqlite_utils.Database) -> list[Piece]:
    """Return every piece, the latest first."""
    return [_piece(row) for row in db.query("SELECT * FROM piece ORDER BY piece_id DESC")]


def piece(db: sqlite_utils.Database, piece_id: int) -> Piece | None:
    """Return a piece by its id; None where there is none."""
    for row in db.query("SELECT * FROM piece WHERE piece_id = ?", [piece_id]):
        return _piece(row)
    return None


def _piece(row: dict[str, object]) -> Piece:
    return Piece(**{**row, "created_utc": moment(str(row["created_utc"]))})  # type: ignore[arg-type]
