"""When a kiln's elements and its thermocouple were changed, as the owner says."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal, NamedTuple, cast

import sqlite_utils

from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp

Kind = Literal["elements", "thermocouple"]


class PartChange(NamedTuple):
    """One change of a part; ``day`` is of the owner's calendar."""

    part_change_id: int
    kiln_id: int
    part: Kind
    day: date
    note: str
    is_removed: bool


_SELECT = "SELECT part_change_id, kiln_id, part, day, note, removed_utc IS NOT NULL FROM part_change "


def add_change(db: sqlite_utils.Database, kiln_id: int, part: Kind, day: date, note: str, now_utc: datetime) -> int:
    """Keep a change and return its id."""
    return insert(db, "part_change", {"kiln_id": kiln_id, "part": part, "day": day.isoformat(), "note": note,
                                      "wall_utc": stamp(now_utc)})


def correct(db: sqlite_utils.Database, change: PartChange, part: Kind, day: date, note: str,
            now_utc: datetime) -> int:
    """Keep a change in place of another, which is taken out of sight; return the new one's id."""
    with transaction(db):
        remove(db, change.part_change_id, now_utc)
        return add_change(db, change.kiln_id, part, day, note, now_utc)


def remove(db: sqlite_utils.Database, part_change_id: int, now_utc: datetime) -> None:
    """Take a change out of sight."""
    db.execute("UPDATE part_change SET removed_utc = ? WHERE part_change_id = ? AND removed_utc IS NULL",
               [stamp(now_utc), part_change_id])


def bring_back(db: sqlite_utils.Database, part_change_id: int) -> None:
    """Bring a change back that was taken out of sight."""
    db.execute("UPDATE part_change SET removed_utc = NULL WHERE part_change_id = ?", [part_change_id])


def change(db: sqlite_utils.Database, part_change_id: int) -> PartChange | None:
    """Return a change by its number, also one that was taken out of sight; None where there is none."""
    for row in db.execute(_SELECT + "WHERE part_change_id = ?", [part_change_id]):
        return _change(row)
    return None


def changes(db: sqlite_utils.Database, kiln_id: int) -> list[PartChange]:
    """Return a kiln's changes, the earliest day first."""
    return [_change(row) for row in db.execute(
        _SELECT + "WHERE kiln_id = ? AND removed_utc IS NULL ORDER BY day, part_change_id", [kiln_id])]


def last_entry_utc(db: sqlite_utils.Database, kiln_id: int, part: Kind) -> datetime | None:
    """Return when a change of a part was last entered, corrected or taken out of sight; None where it never was."""
    (last,) = db.execute("SELECT max(max(wall_utc, coalesce(removed_utc, ''))) FROM part_change"
                         " WHERE kiln_id = ? AND part = ?", [kiln_id, part]).fetchone()
    return None if last is None else moment(last)


def _change(row: tuple[int, int, str, str, str, int]) -> PartChange:
    number, kiln_id, part, day, note, is_removed = row
    return PartChange(number, kiln_id, cast("Kind", part), date.fromisoformat(day), note, bool(is_removed))
