"""The figures by which firings are compared, from a trace in stretches of about a minute. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from daemon.glass.exposure import ABOVE_C, HAZE_C

Stretch = tuple[float, float]
"""Second and mean temperature [°C]; stretches without a reading are left out before."""

AT_TOP_K = 5.0
"""Within this of its peak a kiln counts as at its top [K]. [chosen: the ripple of a controller, and the noise]"""
LONGEST_STEP_S = 600.0
"""Over a longer hole nothing is counted [s]. [chosen: a kiln may do anything in ten minutes]"""
CLIMB_FROM_C, CLIMB_TO_C = 100.0, 540.0
"""The stretch over which climbs are compared [°C].

Fixed, since firings of different glasses are laid side by side; not the temperature below which one glass is brittle.
[chosen: the stretch that the line in the table names]
"""
STAGE_K = 55.0
"""The first fall is measured over this much below the anneal hold [K]. [common practice: 100 °F, the first stage of
an anneal]"""


@dataclass(frozen=True, slots=True)
class Measures:
    """What one firing comes to; None is what its trace does not show."""

    peak_c: float
    peak_s: float
    at_top_s: float
    """Within 5 K of the peak."""
    above_s: dict[float, float]
    haze_rising_s: float
    haze_falling_s: float
    climb_c_per_h: float | None
    """Mean climb from 100 to 540 °C."""
    first_fall_c_per_h: float | None
    """Fall of the first step below the anneal hold; by the trace alone, over the first STAGE_K."""
    next_fall_c_per_h: float | None
    """Fall of the step after it; by the trace alone, over the next STAGE_K."""
    length_s: float


def measures(trace: Sequence[Stretch], anneal_c: float | None) -> Measures | None:
    """Return a firing's figures; None where nothing was read.

    Parameters
    ----------
    trace
        In time order.
    anneal_c
        Where its anneal hold stood [°C]; None leaves the falls out.
    """
    if not trace:
        return None
    peak_s, peak_c = max(trace, key=lambda point: point[1])
    first, second = (None, None) if anneal_c is None else (
        _fall(trace, anneal_c - 3.0, anneal_c - STAGE_K), _fall(trace, anneal_c - STAGE_K, anneal_c - 2 * STAGE_K))
    rising, falling = _steps([p for p in trace if p[0] <= peak_s]), _steps([p for p in trace if p[0] >= peak_s])
    steps = rising + falling
    return Measures(
        peak_c=peak_c, peak_s=peak_s, at_top_s=_between(steps, peak_c - AT_TOP_K, 1e9),
        above_s={limit: _between(steps, limit, 1e9) for limit in ABOVE_C},
        haze_rising_s=_between(rising, *HAZE_C), haze_falling_s=_between(falling, *HAZE_C),
        climb_c_per_h=_climb(trace), first_fall_c_per_h=first, next_fall_c_per_h=second,
        length_s=trace[-1][0] - trace[0][0],
    )


def crossing_s(trace: Sequence[Stretch], level_c: float) -> float | None:
    """Return when the trace first climbs through ``level_c`` [s]; None where it never does."""
    for (t0, c0), (t1, c1) in pairwise(trace):
        if c0 < level_c <= c1:
            return t0 + (t1 - t0) * (level_c - c0) / (c1 - c0)
    return None


def falling_s(trace: Sequence[Stretch], level_c: float) -> float | None:
    """Return when the trace last falls through ``level_c`` [s]; None where it never does."""
    found = None
    for (t0, c0), (t1, c1) in pairwise(trace):
        if c0 > level_c >= c1:
            found = t0 + (t1 - t0) * (c0 - level_c) / (c0 - c1)
    return found


def process_c(peaks_c: Sequence[float]) -> float:
    """Return the level at which firings with these peaks cross into their process [°C].

    A round figure about 40 K under the lowest peak, so that each crosses it shortly before its top.
    """
    return float(10 * int((min(peaks_c) - 40.0) // 10))


def _steps(trace: Sequence[Stretch]) -> list[tuple[float, float, float]]:
    """Return the straight lines through the trace: how long [s], lowest and highest [°C]; none over a long hole."""
    return [(t1 - t0, c0, c1) if c0 <= c1 else (t1 - t0, c1, c0)
            for (t0, c0), (t1, c1) in pairwise(trace) if t1 - t0 <= LONGEST_STEP_S]


def _between(steps: Sequence[tuple[float, float, float]], low_c: float, high_c: float) -> float:
    """Return how long straight lines lie within low to high [s]."""
    total = 0.0
    for step_s, bottom, top in steps:
        if top < low_c or bottom > high_c:
            continue
        if bottom >= low_c and top <= high_c:
            total += step_s
        else:
            total += step_s * (min(top, high_c) - max(bottom, low_c)) / (top - bottom)
    return total


def _climb(trace: Sequence[Stretch]) -> float | None:
    """Return the mean rate between the two temperatures of a climb [°C/h]; None where it was not seen."""
    from_s, to_s = crossing_s(trace, CLIMB_FROM_C), crossing_s(trace, CLIMB_TO_C)
    if from_s is None or to_s is None or to_s <= from_s:
        return None
    return (CLIMB_TO_C - CLIMB_FROM_C) / (to_s - from_s) * 3600


def _fall(trace: Sequence[Stretch], high_c: float, low_c: float) -> float | None:
    """Return the mean rate from ``high_c`` down to ``low_c`` [°C/h]; None where it was not seen."""
    from_s, to_s = falling_s(trace, high_c), falling_s(trace, low_c)
    if from_s is None or to_s is None or to_s <= from_s:
        return None
    return (high_c - low_c) / (to_s - from_s) * 3600
