"""How a kiln's thermocouple compared with a known temperature, each time that was tried. It changes no reading."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, tzinfo
from typing import Any, NamedTuple

import sqlite_utils

from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp
from daemon.store.wear import part_changes
from daemon.store.wear.part_changes import PartChange


class Calibration(NamedTuple):
    """One comparison, as it is kept; the fields are those of the table ``calibration``."""

    calibration_id: int
    kiln_id: int
    part_change_id: int | None
    thermocouple_type: str
    tolerance_class: int | None
    method: str
    said: str
    reference_c: float
    reading_c: float
    cold_junction_c: float | None
    readings: int
    plus_minus_k: float
    reference_k: float
    noise_k: float
    steadiness_k: float
    step_k: float
    wall_utc: datetime
    is_removed: bool

    @property
    def off_k(self) -> float:
        """Return by how much the thermocouple read too high; below 0 is too low [K]."""
        return self.reading_c - self.reference_c

    def day(self, zone: tzinfo | None) -> datetime:
        """Return its moment in the owner's zone; None is the computer's own."""
        return self.wall_utc.astimezone(zone)


_COLUMNS = ", ".join(Calibration._fields[:-1])


def add(db: sqlite_utils.Database, found: Calibration, zone: tzinfo | None) -> Calibration:
    """Keep a comparison with the thermocouple that is in on its day; return it with its number and that thermocouple.

    Parameters
    ----------
    db
        The record.
    found
        The comparison; its number and its ``part_change_id`` are found here.
    zone
        The owner's time zone, by whose calendar parts are changed; None is the computer's own.
    """
    with transaction(db):
        put = found._replace(part_change_id=_in_on(_thermocouples(db, found.kiln_id), found.day(zone).date()))
        row = {**put._asdict(), "wall_utc": stamp(put.wall_utc)}
        del row["calibration_id"], row["is_removed"]
        return put._replace(calibration_id=insert(db, "calibration", row))


def of_kiln(db: sqlite_utils.Database, kiln_id: int) -> list[Calibration]:
    """Return all comparisons of a kiln, the earliest first, those taken out of use among them."""
    return [_calibration(row) for row in db.execute(
        f"SELECT {_COLUMNS}, removed_utc IS NOT NULL FROM calibration WHERE kiln_id = ?"
        " ORDER BY wall_utc, calibration_id", [kiln_id])]


def of_present(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None) -> list[Calibration]:
    """Return the comparisons in use of the thermocouple that is in now, the earliest first."""
    return of_day(db, kiln_id, zone, date.max)


def of_day(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None, day: date) -> list[Calibration]:
    """Return the comparisons in use of the thermocouple that was in on a day, the earliest first.

    Parameters
    ----------
    db, kiln_id
        The record and the kiln.
    zone
        The owner's time zone, by whose calendar parts are changed; None is the computer's own.
    day
        The day; on that of a change the new one was in.
    """
    changed = _thermocouples(db, kiln_id)
    was_in = _in_on(changed, day)
    return [one for one in of_kiln(db, kiln_id)
            if not one.is_removed and _thermocouple_of(one, changed, zone) == was_in]


def is_in_still(db: sqlite_utils.Database, kiln_id: int, day: date) -> bool:
    """Return whether the thermocouple that was in on a day is in now."""
    changed = _thermocouples(db, kiln_id)
    return _in_on(changed, day) == _in_on(changed, date.max)


def _in_on(changed: Sequence[PartChange], day: date) -> int | None:
    """Return the change that brought in the thermocouple of a day; None for the one before all changes."""
    return next((one.part_change_id for one in reversed(changed) if one.day <= day), None)


def _thermocouple_of(found: Calibration, changed: Sequence[PartChange], zone: tzinfo | None) -> int | None:
    """Return the change that brought in the thermocouple that was compared; None for the one before all changes.

    On the very day of a change it is the new one, unless another is known to have been in.
    """
    day = found.day(zone).date()
    came_in = [one for one in changed if one.day <= day]
    earlier = {one.part_change_id for one in came_in[:-1]}
    if came_in and came_in[-1].day == day and found.part_change_id in earlier:
        return found.part_change_id
    return _in_on(changed, day)


def last_entry_utc(db: sqlite_utils.Database, kiln_id: int) -> datetime | None:
    """Return when a comparison of a kiln was last made or taken out of use; None where there was none."""
    (last,) = db.execute("SELECT max(max(wall_utc, coalesce(removed_utc, ''))) FROM calibration WHERE kiln_id = ?",
                         [kiln_id]).fetchone()
    return None if last is None else moment(last)


def remove(db: sqlite_utils.Database, calibration_id: int, now_utc: datetime) -> None:
    """Take a comparison out of use; it stays in the record."""
    db.execute("UPDATE calibration SET removed_utc = ? WHERE calibration_id = ? AND removed_utc IS NULL",
               [stamp(now_utc), calibration_id])


def bring_back(db: sqlite_utils.Database, calibration_id: int) -> None:
    """Use a comparison again that was taken out of use."""
    db.execute("UPDATE calibration SET removed_utc = NULL WHERE calibration_id = ?", [calibration_id])


def _thermocouples(db: sqlite_utils.Database, kiln_id: int) -> list[PartChange]:
    return [one for one in part_changes.changes(db, kiln_id) if one.part == "thermocouple"]


def _calibration(row: Sequence[Any]) -> Calibration:
    found = Calibration(*row)
    return found._replace(wall_utc=moment(str(found.wall_utc)), is_removed=bool(found.is_removed))
