"""Photographs of a piece or a firing: what is known of each; the pictures themselves are files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

import sqlite_utils

from daemon.store.database import insert
from daemon.store.stamps import moment, stamp

Moment = Literal["before", "during", "after"]


FOLDER = "photographs"
"""Beside the database; each picture lies there under its mark, and is never changed."""
SIZES = ("whole", "small", "thumb")
"""The files of a picture, largest first; those kept before there were thumbnails have none."""


@dataclass(frozen=True, slots=True)
class Photograph:
    """One photograph; ``mark`` names its files."""

    photograph_id: int
    piece_id: int | None
    firing_id: int | None
    moment: Moment
    mark: str
    width: int
    height: int
    caption: str
    wall_utc: datetime
    removed_utc: datetime | None


def add_photograph(db: sqlite_utils.Database, *, piece_id: int | None, firing_id: int | None, moment: Moment,
                   mark: str, width: int, height: int, caption: str, now_utc: datetime) -> int:
    """Keep what is known of a photograph and return its id."""
    return insert(db, "photograph", {
        "piece_id": piece_id, "firing_id": firing_id, "moment": moment, "mark": mark, "width": width,
        "height": height, "caption": caption, "wall_utc": stamp(now_utc),
    })


def photographs(db: sqlite_utils.Database, *, piece_id: int | None = None,
                firing_id: int | None = None) -> list[Photograph]:
    """Return the photographs of a piece or of a firing that are in sight, the first one first."""
    column, key = ("piece_id", piece_id) if piece_id is not None else ("firing_id", firing_id)
    return [_photograph(row) for row in db.query(
        f"SELECT * FROM photograph WHERE {column} = ? AND removed_utc IS NULL ORDER BY photograph_id", [key])]


def latest_of_pieces(db: sqlite_utils.Database, piece_ids: Sequence[int]) -> dict[int, Photograph]:
    """Return of each piece the latest photograph in sight: its own, else of a firing; one of afterwards first."""
    found: dict[int, Photograph] = {}
    for piece_id in piece_ids:
        for row in db.query(
                "SELECT * FROM photograph WHERE removed_utc IS NULL AND (piece_id = :piece OR firing_id IN ("
                "SELECT firing_id FROM firing_piece WHERE piece_id = :piece))"
                " ORDER BY piece_id IS NULL, moment = 'before', photograph_id DESC LIMIT 1",
                {"piece": piece_id}):
            found[piece_id] = _photograph(row)
    return found


def photograph(db: sqlite_utils.Database, photograph_id: int) -> Photograph | None:
    """Return a photograph by its id, one out of sight too; None where there is none."""
    for row in db.query("SELECT * FROM photograph WHERE photograph_id = ?", [photograph_id]):
        return _photograph(row)
    return None


def set_removed(db: sqlite_utils.Database, photograph_id: int, removed_utc: datetime | None) -> None:
    """Take a photograph out of sight, or bring it back with None."""
    db.execute("UPDATE photograph SET removed_utc = ? WHERE photograph_id = ?",
               [None if removed_utc is None else stamp(removed_utc), photograph_id])


def is_shown(db: sqlite_utils.Database, mark: str) -> bool:
    """Return whether any row still has the picture of this mark, out of sight or not."""
    return bool(db.execute("SELECT count(*) FROM photograph WHERE mark = ?", [mark]).fetchone()[0])


def remove_files(mark: str, folders: Iterable[Path]) -> None:
    """Remove a picture's files from each folder; one that is not there is no error."""
    for folder in folders:
        for size in SIZES:
            (folder / f"{mark}-{size}.jpg").unlink(missing_ok=True)


def _photograph(row: dict[str, object]) -> Photograph:
    removed = row["removed_utc"]
    return Photograph(**{  # type: ignore[arg-type]
        **row, "wall_utc": moment(str(row["wall_utc"])),
        "removed_utc": None if removed is None else moment(str(removed))})
