"""When the elements surely had no power, and when they surely had all of it, by the plan and the curve."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart

_AFTER_S, _AFTER_TURN_S = 300.0, 900.0
"""Nothing is sure so soon after the beginning of a free ramp, and of one with a rate [s].
[chosen: elements, sheath and air settle in minutes; a kiln that lags needs longer to be told from one that waits]"""
_BEFORE_END_S = 60.0
"""Nor in the last minute of a part [s]. [chosen: a boundary may be that much off]"""
_SHORT_OF_K = 20.0
"""Nearer than this to its target a climb may be throttled already, and a fall held [K].
[common practice: proportional bands lie at 10 to 35 K]"""
_LAGS_SHARE = 0.85
"""A kiln that keeps to less than this share of its planned rate does all it can: it climbs with all its power, and
falls without any. [from: daemon.firing.verdict.cooldown_forecast._SLOWER_THAN_PLANNED]"""
_CLIMBS_C_PER_H = 20.0
"""A slower climb may be a controller that waits [°C/h]. [chosen: below any planned climb]"""
_AFTER_PROGRAM_S = 600.0
"""After the plan's end the power is off [s]. [chosen: its end may be found some minutes early]"""


class Power(Enum):
    """What is known of the elements' power in one minute."""

    OFF = "off"
    FULL = "full"
    UNKNOWN = "unknown"


def known_power(times_s: Sequence[float], temps_c: Sequence[float], rates_c_per_h: Sequence[float],
                planned: Sequence[PlannedPart], parts: Sequence[Part]) -> list[Power]:
    """Return what is known of the power at each moment.

    Parameters
    ----------
    times_s, temps_c, rates_c_per_h
        The curve: seconds of the firing, temperature and its rate over some minutes.
    planned
        The plan's ramps and holds.
    parts
        Those that were found, in order; an end of None is the curve's.
    """
    found = [Power.UNKNOWN] * len(times_s)
    known = [part for part in parts if 0 <= part.index < len(planned)]
    if not known or not times_s:
        return found
    for part in known:
        asked, end_s = planned[part.index], times_s[-1] if part.end_s is None else part.end_s
        for at, t_s in enumerate(times_s):
            if part.start_s <= t_s <= end_s - _BEFORE_END_S:
                found[at] = _in_part(asked, t_s - part.start_s, temps_c[at], rates_c_per_h[at])
    last = known[-1]
    if last.end_s is not None and last.index == len(planned) - 1:
        for at, t_s in enumerate(times_s):
            if t_s >= last.end_s + _AFTER_PROGRAM_S:
                found[at] = Power.OFF
    return found


def _in_part(asked: PlannedPart, into_s: float, temp_c: float, rate_c_per_h: float) -> Power:
    """Return what is known of the power ``into_s`` [s] into a part of the plan."""
    if not asked.direction or (asked.to_c - temp_c) * asked.direction < _SHORT_OF_K:
        return Power.UNKNOWN
    surely = Power.FULL if asked.direction > 0 else Power.OFF
    if surely is Power.FULL and rate_c_per_h < _CLIMBS_C_PER_H:
        return Power.UNKNOWN
    if asked.rate_c_per_h is None:
        return surely if into_s >= _AFTER_S else Power.UNKNOWN
    lags = rate_c_per_h / asked.rate_c_per_h < _LAGS_SHARE
    return surely if lags and into_s >= _AFTER_TURN_S else Power.UNKNOWN
