"""Comparing the thermocouple with a known temperature: wait until it stands still, reckon, keep what was found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.clock import Clock
from daemon.doctor.live_probe import Seen
from daemon.errors import BadInput
from daemon.firing.plan.plan import rate_to_unit
from daemon.firing.units import Units
from daemon.sensor.comparison import Comparison, compare, what_points_there
from daemon.sensor.reference import Method, Reference
from daemon.sensor.steady import LEAST_READINGS, WINDOW_S, Steady, latest
from daemon.settings.config import Config
from daemon.store import kilns
from daemon.store.wear import calibrations
from daemon.store.wear.calibrations import Calibration

LONGEST_S = 300.0
"""So long is waited until it stands still [s]. [chosen: a thick sheath in ice takes two minutes]"""
EVERY_S = 1.0
"""Time between two looks [s]. [chosen: the probe is read each second]"""
FAULTS = 10
"""So many looks in a row without a temperature end it. [chosen: two of the daemon's readings of five seconds]"""
_STIR = {
    Method.ICE: "Stir, dip the tip deeper and off the wall, wait, and try again.",
    Method.BOILING: "The water must go on boiling, the tip be 5 cm deep and off the bottom. Try again.",
    Method.HOLD: "Wait until the hold has gone on for half an hour, and try again.",
}
SHOWS = {Method.ICE: "Ice slush is at", Method.BOILING: "Boiling water is at",
         Method.HOLD: "The other instrument shows"}


@dataclass(frozen=True, slots=True)
class Stood:
    """What readings that stand still came to, and the converter's temperature at the end [°C]."""

    steady: Steady
    cold_c: float | None


def stand_still(look: Callable[[], Seen], clock: Clock, method: Method, unit: str,
                shown: Callable[[float, float], None] = lambda temp_c, share: None) -> Stood:
    """Look at the probe until its readings stand still.

    Parameters
    ----------
    look
        Looks at the probe.
    clock
        Bounds the wait.
    method
        What stands still, a bath or a kiln.
    unit
        ``C`` or ``F``, for the words.
    shown
        Is told each reading [°C], and which share of a window there is.

    Raises
    ------
    BadInput
        Where they do not stand still in time, or there are none.
    """
    until_s = clock.now_s() + LONGEST_S
    readings: list[tuple[float, float]] = []
    faults, found, seen = 0, None, None
    while clock.now_s() < until_s:
        seen = look()
        if seen.temp_c is None:
            faults += 1
            readings.clear()
            if faults >= FAULTS:
                raise BadInput("probe", "gives no temperature.", "See what lehrling sensor check says of it.")
        elif not readings or seen.t_s > readings[-1][0]:
            faults = 0
            readings.append((seen.t_s, seen.temp_c))
            shown(seen.temp_c, min(1.0, (seen.t_s - readings[0][0]) / WINDOW_S, len(readings) / LEAST_READINGS))
            found = latest(readings)
            if found is not None and found.stands_still(method):
                return Stood(found, seen.cold_c)
        clock.sleep_until(clock.now_s() + EVERY_S)
    if found is None:
        raise BadInput("probe", f"gave too few readings in {LONGEST_S:.0f} s.", "Does lehrling daemon watch?")
    moved = f"{abs(rate_to_unit(found.moved_k, unit)):.1f} °{unit}"
    raise BadInput("not kept", f"it does not stand still: it moved by {moved} in the last {found.span_s:.0f} s.",
                   _STIR[method])


def compared(reference: Reference, stood: Stood, unit: str) -> Comparison:
    """Return what readings that stand still say.

    Raises
    ------
    BadInput
        Where they cannot be of what was said.
    """
    read_c = stood.steady.mean_c
    if not reference.is_plausible(read_c):
        units = Units(unit)
        raise BadInput("not kept", f"it reads {units.temp(read_c)}. {SHOWS[reference.method]} "
                       f"{units.temp(reference.temp_c)}.", what_points_there(reference, read_c, stood.cold_c))
    return compare(reference, stood.steady)


def keep(db: sqlite_utils.Database, found: Comparison, cold_c: float | None, config: Config,
         now_utc: datetime) -> Calibration:
    """Keep a comparison in the record, with the thermocouple that is in now; no reading is changed."""
    row = Calibration(
        0, kilns.kiln_id(db, config.kiln_name), None, config.probe.thermocouple_type, config.probe.tolerance_class,
        found.reference.method.value, found.reference.said, found.reference.temp_c, found.reading_c, cold_c,
        found.readings, found.plus_minus_k, found.reference_k, found.noise_k, found.steadiness_k, found.step_k,
        now_utc, False)
    return calibrations.add(db, row, config.zone)
