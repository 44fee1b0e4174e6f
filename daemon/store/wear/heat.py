"""What the heat of each firing came to, and what a meter showed of its energy."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple

import sqlite_utils

from daemon.store.chain import links
from daemon.store.chain.contents import METER
from daemon.store.database import transaction
from daemon.store.stamps import stamp


class Heat(NamedTuple):
    """What was reckoned of a firing's heat.

    Attributes
    ----------
    hot_s
        How long it was hotter than its elements and its thermocouple bear without ageing [s].
    kelvin_h, most_k, full_k
        As ``daemon.firing.energy.heat_balance.HeatUse`` has them; None where nothing could be reckoned.
    why
        Why not; None where it could.
    """

    hot_s: float
    kelvin_h: float | None = None
    most_k: float | None = None
    full_k: float | None = None
    why: str | None = None


_LATEST = "coalesce((SELECT max(judgement_id) FROM judgement AS j WHERE j.firing_id = firing.firing_id), 0)"
"""Selects the number of a firing's latest judgement."""


def put_heat(db: sqlite_utils.Database, firing_id: int, heat: Heat, method: int) -> None:
    """Keep what a firing's heat came to, by the rules numbered ``method``, upon its latest judgement."""
    db.execute(
        "INSERT OR REPLACE INTO heat_use (firing_id, judgement_id, method, hot_s, kelvin_h, most_k, full_k, why)"
        f" SELECT firing_id, {_LATEST}, ?, ?, ?, ?, ?, ? FROM firing WHERE firing_id = ?",
        [method, *heat, firing_id])


def due(db: sqlite_utils.Database, method: int, limit: int) -> list[int]:
    """Return the firings that ended and were not reckoned since they were judged, the latest first."""
    return [number for (number,) in db.execute(
        "SELECT firing_id FROM firing LEFT JOIN heat_use AS h USING (firing_id)"
        " WHERE ended_s IS NOT NULL AND binned_utc IS NULL"
        f" AND (h.firing_id IS NULL OR h.method != ? OR h.judgement_id != {_LATEST})"
        " ORDER BY firing.firing_id DESC LIMIT ?", [method, limit])]


def of_firing(db: sqlite_utils.Database, firing_id: int) -> Heat | None:
    """Return the heat of a firing; None where it was not reckoned yet."""
    for row in db.execute("SELECT hot_s, kelvin_h, most_k, full_k, why FROM heat_use WHERE firing_id = ?",
                          [firing_id]):
        return Heat(*row)
    return None


def of_kiln(db: sqlite_utils.Database, kiln_id: int, limit: int) -> Mapping[int, Heat]:
    """Return the heat of the latest firings of a kiln that were not deleted, by the firing's number."""
    return {row[0]: Heat(*row[1:]) for row in db.execute(
        "SELECT firing_id, hot_s, kelvin_h, most_k, full_k, why FROM heat_use JOIN firing USING (firing_id)"
        " WHERE kiln_id = ? AND binned_utc IS NULL ORDER BY started_utc DESC, firing_id DESC LIMIT ?",
        [kiln_id, limit])}


def hot_h_since(db: sqlite_utils.Database, kiln_id: int, since_utc: datetime) -> tuple[int, float]:
    """Return how many reckoned firings of a kiln began since then, and their hot hours."""
    count, hot_s = db.execute(
        "SELECT count(*), coalesce(sum(hot_s), 0) FROM heat_use JOIN firing USING (firing_id)"
        " WHERE kiln_id = ? AND binned_utc IS NULL AND started_utc >= ?", [kiln_id, stamp(since_utc)]).fetchone()
    return int(count), float(hot_s) / 3600


def put_meter(db: sqlite_utils.Database, firing_id: int, kwh: float | None, now_utc: datetime) -> None:
    """Keep what a meter showed of a firing [kWh] in place of an earlier figure; None takes it out."""
    with transaction(db):
        if kwh is None:
            db.execute("DELETE FROM meter_reading WHERE firing_id = ?", [firing_id])
        else:
            db.execute("INSERT OR REPLACE INTO meter_reading (firing_id, kwh, wall_utc) VALUES (?, ?, ?)",
                       [firing_id, kwh, stamp(now_utc)])
        links.add(db, firing_id, (METER, 0))


def meters(db: sqlite_utils.Database, kiln_id: int) -> Mapping[int, float]:
    """Return what a meter showed [kWh], by the number of the firing; deleted ones left out."""
    return dict(db.execute(
        "SELECT firing_id, kwh FROM meter_reading JOIN firing USING (firing_id)"
        " WHERE kiln_id = ? AND binned_utc IS NULL", [kiln_id]).fetchall())
