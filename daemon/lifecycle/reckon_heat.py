"""Reckons the heat of firings that have ended, one after another, beside the watch."""

from __future__ import annotations

import logging
import sqlite3
from math import inf
from pathlib import Path

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.energy.heat_balance import HeatUse, Why, heat_use
from daemon.firing.energy.wear import hot_s
from daemon.firing.events import Rank
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.watches import not_cooling, over_temperature, reading_frozen, sensor_fault
from daemon.lifecycle.setup_from_store import plan_of
from daemon.store import alerts, firings, found_parts, readings
from daemon.store.database import open_database
from daemon.store.firings import Firing
from daemon.store.wear import heat
from daemon.store.wear.heat import Heat

LOG = logging.getLogger(__name__)
METHOD = 1
"""Number of the rules; firings reckoned by others are reckoned again. [chosen: counts up with each change of them]"""
_FALSE_KINDS = (sensor_fault.KIND.name, reading_frozen.KIND.name)
"""While an alert of these kinds lasts, a reading says nothing of the kiln."""
_HEATING_KINDS = (not_cooling.KIND.name, over_temperature.KIND.name)
"""An alert of these kinds says that the elements heated where they were to be off."""
AT_ONCE = 5
"""Firings reckoned in one go. [chosen: each takes some tenths of a second of a Pi]"""


def reckon_due(path: Path) -> int:
    """Reckon some of the firings that are due, in the file at ``path``; return how many. Never raises."""
    done = 0
    try:
        db = open_database(path)
        try:
            for number in heat.due(db, METHOD, AT_ONCE):
                firing = firings.firing(db, number)
                if firing is not None:
                    reckon(db, firing)
                    done += 1
        finally:
            db.close()
    except (sqlite3.Error, OSError, BadInput) as err:
        LOG.error("The heat of a firing could not be reckoned: %s.", err)
    return done


def reckon(db: sqlite_utils.Database, firing: Firing) -> None:
    """Reckon the heat of a firing that has ended, and keep it.

    Readings that the watches did not believe are left out, as if there were none.
    """
    offset_k = firing.offset_c or 0.0
    raised = alerts.alerts(db, firing.firing_id)
    false = [(alert.since_s, inf if alert.cleared_s is None else alert.cleared_s)
             for alert in raised if alert.kind in _FALSE_KINDS]
    trace = [(t_s, temp_c - offset_k) for t_s, temp_c in readings.by_minute(db, firing.firing_id)
             if not any(since_s <= t_s <= to_s for since_s, to_s in false)]
    plan = plan_of(db, firing)
    found = heat_use(trace, planned_parts(plan) if plan is not None else (), found_parts.parts(db, firing.firing_id))
    if any(alert.kind in _HEATING_KINDS and alert.rank is not Rank.LOG for alert in raised):
        found = Why.HEATED
    hot = hot_s(trace)
    kept = Heat(hot, found.kelvin_h, found.most_k, found.full_k) if isinstance(found, HeatUse) else \
        Heat(hot, why=found.value)
    heat.put_heat(db, firing.firing_id, kept, METHOD)
