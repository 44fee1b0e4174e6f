"""A climb beside those of earlier firings: whether the kiln gives the power that it always gave.

Compared is power, not pace. A kiln that can do no more climbs more slowly the hotter it is, so that its pace at one
temperature says little of its elements; what it takes to climb at this pace, with walls as warm as these, says all.
A climb takes what its planned rate asks, or all that the kiln has shown, whichever is less.

Weaker is told only where each of two stretches of ten minutes climbs and lacks power. A look inside costs one of
them, and a kiln that falls has no power at all: firing-stopped judges that.
"""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

from daemon.firing.detection.rate_test import LIKELY
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.regression import Line

_COLD_C = 150.0
"""Below this a climb is not compared [°C]. [chosen: most probes are worst when cold, and a cold kiln lurches]"""
_SETTLES_S, _STRETCH_S, _STRETCHES, _LEAST_SHARE = 300.0, 600.0, 2, 0.8
"""A climb is compared from so long after its beginning, in so many stretches of so many seconds, of which this share
must have been read. [chosen: the controller catches up at first; twenty minutes in all]"""
_WEAKER_OFFS, _WEAKER_LEAST = 3.0, 0.12
"""A kiln is weaker where its power lacks more than so many deviations, and this share at least [1]. [tuned: kilns of
the bench, seeds 2000 to 2019 of benchmarks.known_kiln; mains of 230 V −6 % give 12 % less: EN 50160, from memory,
allows more]"""
_HOLDS_BACK_K = 30.0
"""Nearer to its target than this a kiln is not called weaker [K]: its controller holds back. [common practice: the
proportional band of a controller is some per cent of its range]"""
_AS_EVER_OFFS = 2.0
"""It climbs as ever where it lacks no more than so many deviations. [common practice: one in forty by chance]"""
_ARRIVES_K_PER_S, _KEEPS_SHARE = 15.0 / 3600, 0.5
"""A kiln that climbs as ever should climb at least so fast here, and climbs at this share of that at least [K/s, 1].
[chosen: 60 K in four hours; slower than that it may never come to its target]"""
_WALLS_LEAD_SHARE = 0.5
"""A climb is not compared where its walls are so much warmer than the chamber that they give this share of its pace
[1]. [chosen: the rest, which the elements give, is then as small as the walls' temperature is uncertain]"""


class Beside(Enum):
    """How a climb compares with those of earlier firings."""

    WEAKER = "weaker"
    AS_EVER = "as ever"
    BETWEEN = "between"


class KnownClimb(NamedTuple):
    """A climb beside those of earlier firings."""

    beside: Beside
    share: float
    """The power that it takes over the power that is due [1]."""
    since_s: float


def known_climb(view: View, climb: PlannedPart) -> KnownClimb | None:
    """Return how a climb's last twenty minutes compare; None where too little is known, or nothing is planned."""
    if view.kiln is None or climb.rate_c_per_h is None or view.temp_c < _COLD_C:
        return None
    begin_s = max(view.part_start_s + _SETTLES_S, view.resumed_s)
    shares, climbs = [], True
    for number in range(_STRETCHES):
        from_s = view.t_s - (number + 1) * _STRETCH_S
        line = view.trail.line(from_s, from_s + _STRETCH_S) if from_s >= begin_s else None
        if line is None or line.span_s < _LEAST_SHARE * _STRETCH_S:
            return None
        share = _share(view, climb, line)
        if share is None:
            return None
        shares.append(share)
        climbs = climbs and line.slope_c_per_s > 0.0
    off = view.kiln.known.climb_off
    surely = [share + LIKELY * error for share, error in shares]
    is_led = view.temp_c - view.offset_k < climb.to_c - _HOLDS_BACK_K
    if is_led and climbs and max(surely) < 1 - max(_WEAKER_OFFS * off, _WEAKER_LEAST):
        beside = Beside.WEAKER
    else:
        beside = Beside.AS_EVER if _is_as_ever(view, climb, shares[0][0]) else Beside.BETWEEN
    return KnownClimb(beside, shares[0][0], view.t_s - _STRETCHES * _STRETCH_S)


def _share(view: View, climb: PlannedPart, line: Line) -> tuple[float, float] | None:
    """Return the power over what is due along a line, and its standard error [1]; None where the walls lead it."""
    assert view.kiln is not None
    assert climb.rate_c_per_h is not None
    temp_c = line.mean_c
    kiln = view.kiln.before(view.t_s - line.mean_t_s, temp_c)
    natural, planned = kiln.natural_k_per_s(temp_c), climb.rate_c_per_h / 3600
    if -natural >= _WALLS_LEAD_SHARE * kiln.led_k_per_s(planned):
        return None
    due = kiln.due_k_per_s(temp_c, planned)
    return (line.slope_c_per_s + natural) / due, view.error_c_per_h(line) / 3600 / due


def _is_as_ever(view: View, climb: PlannedPart, share: float) -> bool:
    """Return whether the kiln gives what it always gave, and will come to its target as it always did."""
    kiln, line = view.kiln, view.line(_STRETCH_S, view.part_start_s)
    assert kiln is not None
    assert climb.rate_c_per_h is not None
    most = min(kiln.most_k_per_s(view.temp_c), climb.rate_c_per_h / 3600)
    is_climbing = line is not None and line.slope_c_per_s >= _KEEPS_SHARE * most
    return share >= 1 - _AS_EVER_OFFS * kiln.known.climb_off and most >= _ARRIVES_K_PER_S and is_climbing
