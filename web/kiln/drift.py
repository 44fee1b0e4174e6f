"""How a kiln and its probe change over firings: usual difference by band, climbing, closed-lid cooling. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.tracking.offset_history import BANDS_C, HoldOffset
from daemon.firing.tracking.offset_history import offsets_by_band as by_band
from web.compare.measures import Stretch, falling_s

LEAST_FIRINGS = 6
"""Fewer firings tell no drift. [chosen: a third of them is two at least]"""
STEEP_S = 900.0
"""A shorter climb tells more of where its boundary was put than of the kiln [s]. [chosen: a boundary may be some
minutes off]"""
LEVELS_C = (500.0, 400.0, 300.0, 200.0, 150.0, 100.0, 60.0)
"""Temperatures between which the closed kiln's own fall is timed [°C]. [chosen: round ones below the anneal, closer
where it falls slowly]"""


@dataclass(frozen=True, slots=True)
class Run:
    """One ended firing of the kiln with a plan: its parts as asked and as run."""

    firing_id: int
    started: datetime
    parts: Sequence[tuple[PlannedPart, float, float, float | None]]
    """Planned, start [s], end [s], mean [°C] of a hold."""
    holds: Sequence[HoldOffset] = ()
    """What its holds show of the probe."""


@dataclass(frozen=True, slots=True)
class Point:
    """A figure of one firing."""

    firing_id: int
    when: datetime
    value: float


def band_words(band: tuple[float, float], shown: Mapping[float, str]) -> str:
    """Return a band as said: ``400 to 600``; ``shown`` has its limits in the reader's unit."""
    low, high = band
    if low <= 0:
        return f"below {shown[high]}"
    return f"{shown[low]} to {shown[high]}" if high < BANDS_C[-1][1] else f"above {shown[low]}"


def differences(runs: Sequence[Run]) -> dict[tuple[float, float], list[Point]]:
    """Return probe minus plan [K] of every firing's settled holds by band, as the watch itself reckons it."""
    found: dict[tuple[float, float], list[Point]] = {band: [] for band in BANDS_C}
    for run in runs:
        for band, off_k in by_band(run.holds).items():
            found[band].append(Point(run.firing_id, run.started, off_k))
    return found


def stretched(runs: Sequence[Run]) -> list[Point]:
    """Return how much longer its bounded climbs took than planned, per firing: 1.00 is as planned.

    Elements that tire cannot follow any more: the figure grows over months.
    """
    found = []
    for run in runs:
        climbs = [(end_s - start_s, planned.duration_s) for planned, start_s, end_s, _ in run.parts
                  if planned.direction > 0 and planned.rate_c_per_h is not None and planned.duration_s >= STEEP_S]
        asked_s = sum(asked for _, asked in climbs)
        if asked_s:
            found.append(Point(run.firing_id, run.started, sum(took for took, _ in climbs) / asked_s))
    return found


def fall_minutes(trace: Sequence[Stretch], from_s: float) -> dict[tuple[float, float], float]:
    """Return how long the closed kiln took to fall by itself [min], by (from °C, to °C) between two LEVELS_C.

    Parameters
    ----------
    trace
        (second, temperature [°C]) in order.
    from_s
        The second from which it fell freely.
    """
    free = [point for point in trace if point[0] >= from_s]
    found = {}
    for high_c, low_c in pairwise(LEVELS_C):
        begin, end = falling_s(free, high_c), falling_s(free, low_c)
        if begin is not None and end is not None and end > begin:
            found[high_c, low_c] = (end - begin) / 60
    return found


def cooling(falls: Sequence[Mapping[tuple[float, float], float]]) -> list[tuple[float, float, float, int]]:
    """Return the closed kiln's own fall, (from °C, to °C, median minutes, firings), from several ``fall_minutes``."""
    found = []
    for stretch in pairwise(LEVELS_C):
        took = [fall[stretch] for fall in falls if stretch in fall]
        if took:
            found.append((*stretch, median(took), len(took)))
    return found


def moved(points: Sequence[Point]) -> float | None:
    """Return how far the latest third stands from the earliest third (medians); None for fewer than six points."""
    if len(points) < LEAST_FIRINGS:
        return None
    third = len(points) // 3
    return median(p.value for p in points[-third:]) - median(p.value for p in points[:third])
