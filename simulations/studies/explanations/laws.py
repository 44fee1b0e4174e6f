"""How fast a kiln goes under each explanation: the plan's own parts, and the faults."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.view import View

FOLLOWS = "follows"
"""The explanation that nothing is wrong: the kiln follows a part of its plan."""
_CLIMB = ("no-power", "lid", "stall", "weak", "fast-climb", "full-power")
_FREE_CLIMB = ("no-power", "lid", "stall", "weak")
_HOLD = ("no-power", "lid", "full-power", "again")
_FALL = ("full-power", "again", "stuck", "lid", "fast-fall", "no-power")
_FREE_FALL = ("full-power", "again", "stuck", "vent")
_KINDS = {"lid": "sudden-drop", "stall": "not-climbing", "weak": "not-climbing", "stuck": "not-cooling",
          "fast-fall": "cooling-too-fast", "fast-climb": "heating-too-fast", "again": "restarted"}
EXPLAINED = frozenset((*_KINDS.values(), "firing-stopped", "over-temperature", "hold-cut-short"))
"""The kinds of alert that an explanation may have."""
_LEAST_C_PER_H = 6.0
"""No rate is known better than this [°C/h]. [chosen: a kelvin in ten minutes]"""
_WANDER_S = 600.0
"""What a hold wanders it does within so long [s]. [chosen: a swing of a controller]"""
_PLAN_SHARE, _LAG_SHARE = 0.15, 0.95
"""A kiln follows its planned rate within the first share; climbing, at about the second. [common practice: a
controller waits, a probe lags]"""
_SETTLE_S = 200.0
"""A controller brings a rate back to its plan within about so long [s]. [common practice]"""
_STEADY_S = 1500.0
"""A rate that nobody controls changes over so long [s]. [common practice: half the shortest time constant of a kiln]
"""
_SILENT_C_PER_H = 150.0
"""How much faster a reading may fall at first where the elements fall silent [°C/h].
[common practice: up to 8 K in 3 min]"""
_NATURAL_TIME_H, _NATURAL_SHARE, _KNOWN_SHARE, _ROOM_K = 2.0, 0.5, 0.2, 20.0
"""Time constant of a kiln without power where it has not shown it [h], how far its rate may differ, as a share, there
and where it has shown it, and how much warmer than a room the bricks around it may be [K].
[common practice: 1 to 5 h; bricks stay warm for hours]"""
_FULL_C_PER_H = 350.0
"""What a kiln climbs at full power [°C/h]. [common practice: 200 to 1000 °C/h]"""
_WEAK_SHARE, _FAST_TIMES = 0.4, 2.0
"""A weak climb has about this share of the planned rate, a rate keyed in wrongly is about so many times the planned
one. [common practice: one of two or three element circuits; a wrong figure]"""
_LID_S, _LID_C_PER_H, _LEAP_K = 70.0, 3000.0, 15.0
"""The air under a lid comes to its new level with this time constant [s], at first at about so many degrees an hour,
and leaps by so much between two beats [K]. [common practice: tens of kelvin within a minute or two]"""


@dataclass(frozen=True, slots=True)
class Law:
    """How fast the kiln goes under an explanation [K/s].

    Attributes
    ----------
    mean, sd
        The rate it comes back to, and how far it strays from that.
    memory_s
        How long it strays in one direction [s].
    first, first_sd
        The rate when it begins, and how far that may be off.
    leap_k
        How far the temperature may leap when it begins [K].
    """

    mean: float
    sd: float
    memory_s: float
    first: float
    first_sd: float
    leap_k: float = 0.0


def faults_in(part: PlannedPart) -> tuple[str, ...]:
    """Return the explanations of something wrong that are possible in a part, and a vent, which is nothing wrong."""
    is_free = part.rate_c_per_h is None
    if part.direction == 0:
        return _HOLD
    if part.direction > 0:
        return _FREE_CLIMB if is_free else _CLIMB
    return _FREE_FALL if is_free else _FALL


def kind_of(name: str, part: PlannedPart) -> str | None:
    """Return the kind of alert that tells an explanation; None where nothing is wrong."""
    if name == "no-power":
        return "cooling-too-fast" if part.direction < 0 else "firing-stopped"
    if name == "full-power":
        return "not-cooling" if part.direction < 0 else "over-temperature"
    return _KINDS.get(name)


def law(name: str, part: PlannedPart, view: View, temp_c: float, now_c_per_h: float) -> Law:
    """Return how fast the kiln goes under an explanation that begins now.

    Parameters
    ----------
    name
        The explanation.
    part
        The part of the plan it is followed in, or that is not followed.
    view
        The firing, of now or of some minutes ago.
    temp_c, now_c_per_h
        The temperature now, and its rate as the explanation before has it [°C, °C/h].
    """
    stray = _LEAST_C_PER_H + view.wander_k / _WANDER_S * 3600
    natural, natural_sd = _natural(view, temp_c)
    if name in ("lid", "vent", "shut"):
        first = _LID_C_PER_H / 2 if name == "shut" else -_LID_C_PER_H
        return _law(0.0, stray, _LID_S, first, _LID_C_PER_H, _LEAP_K)
    if name in ("stall", "stuck") or (name == FOLLOWS and part.part == "hold"):
        return _law(0.0, stray, 2 * _SETTLE_S, now_c_per_h / 2, abs(now_c_per_h) / 2 + stray)
    if name == FOLLOWS:
        return _ramp(part, stray, natural, natural_sd, now_c_per_h)
    rate = natural if part.rate_c_per_h is None else abs(part.rate_c_per_h)
    full = max(_FULL_C_PER_H, 1.5 * rate) if part.direction > 0 else _FULL_C_PER_H
    begins = next((p.rate_c_per_h for p in view.parts if p.direction > 0 and p.rate_c_per_h is not None), full)
    mean, share, first, first_share = {
        "no-power": (-natural, natural_sd / natural, -1.3 * natural, 0.5),
        "full-power": (full, 0.5, 0.7 * full, 0.7),
        "again": (begins, 0.25, begins, 0.4),
        "weak": (_WEAK_SHARE * rate, 0.5, _WEAK_SHARE * rate, 0.7),
        "fast-fall": (-_FAST_TIMES * rate, 0.35, -_FAST_TIMES * rate, 0.5),
        "fast-climb": (_FAST_TIMES * rate, 0.35, 0.85 * _FAST_TIMES * rate, 0.5),
    }[name]
    return _law(mean, hypot(share * mean, stray), _STEADY_S, first, hypot(first_share * first, stray))


def _ramp(ramp: PlannedPart, stray: float, natural: float, natural_sd: float, now_c_per_h: float) -> Law:
    """Return how fast a kiln goes that follows a ramp of its plan."""
    planned = ramp.rate_c_per_h
    if planned is None and ramp.direction < 0:
        return _law(-natural, hypot(natural_sd, stray), _STEADY_S / 2, -1.3 * natural, natural_sd + _SILENT_C_PER_H)
    if planned is None:
        return _law(_FULL_C_PER_H, 0.5 * _FULL_C_PER_H, _STEADY_S, now_c_per_h, _FULL_C_PER_H)
    if planned < 0:
        mean = max(planned, -natural)
        return _law(mean, hypot(_PLAN_SHARE * planned, stray), _STEADY_S, mean - _SILENT_C_PER_H / 3,
                    _SILENT_C_PER_H / 2)
    return _law(_LAG_SHARE * planned, hypot(_PLAN_SHARE * planned, stray), _STEADY_S, now_c_per_h,
                planned / 2 + stray)


def _natural(view: View, temp_c: float) -> tuple[float, float]:
    """Return how fast the kiln falls without power at ``temp_c``, and how far that may be off [°C/h]."""
    above_k = max(1.0, temp_c - ASSUMED_ROOM_C)
    known = view.natural_fall_c_per_h
    rate, share = (above_k / _NATURAL_TIME_H, _NATURAL_SHARE) if not known else (known, _KNOWN_SHARE)
    return rate, (share + _ROOM_K / above_k) * rate


def _law(mean: float, sd: float, memory_s: float, first: float, first_sd: float, leap_k: float = 0.0) -> Law:
    """Return a law whose rates are given in °C/h."""
    return Law(mean / 3600, sd / 3600, memory_s, first / 3600, first_sd / 3600, leap_k)
