"""Whether a kiln has changed: since which firing, by how much, and what it is."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, sqrt
from statistics import fmean
from typing import NamedTuple

from daemon.firing.tracking.offset_history import BELIEVABLE_K
from daemon.kiln.wear.causes import CHANNELS, Cause, Difference, chances
from daemon.kiln.wear.change import LEAST_BEFORE, LEAST_SINCE, Believed, at_place, likeliest
from daemon.kiln.wear.shown import Shown

BELIEVED = {"power": Believed(0.04, 10.0), "loss": Believed(0.12, 12.0), "probe_k": Believed(2.0, 12.0)}
"""How much what a firing shows differs from night to night. [tuned: kilns of the bench, seeds 1000 to 1026 of
benchmarks.wear]"""
TOLD, TOLD_LOSS = 3.5, 4.5
"""A change is told that lies so many deviations beyond what chance brings, and one that only the loss shows.
[tuned: sound kilns of the bench, seeds 1000 to 1029 of benchmarks.wear, come to 3.2 and 4.1; where firings differ by
chance alone, fewer than one kiln in 200 comes to the first in a dozen firings, as a test counts]"""
_LONG_DAYS, _STEEP = 60.0, 3.0
"""A line through the powers is drawn on from so many days on, and if it falls by so many of its own deviations.
[chosen: two months; a year is foretold by them]"""
BAND_DEVIATIONS = 1.28
"""The band is so many deviations wide on each side: eight of ten. [source: tables of the normal distribution]"""


class Finding(NamedTuple):
    """A change of the kiln."""

    since: int
    """The first firing after it, from 0."""
    channel: str
    """What showed it: one of CHANNELS."""
    difference: Difference
    """By how much that is another [logarithm, or K]."""
    chances: dict[Cause, float]
    """How likely each cause is."""

    @property
    def cause(self) -> Cause:
        """Return the likeliest cause."""
        return max(self.chances, key=lambda cause: self.chances[cause])


def judged(shown: Sequence[Shown]) -> Finding | None:
    """Return the change of a kiln that its firings show, the earliest first; None where they show none."""
    best: tuple[float, str, int] | None = None
    for channel in CHANNELS:
        at = _numbers(shown, channel)
        change = likeliest([_value(shown[number], channel) or 0.0 for number in at], BELIEVED[channel])
        if change is None:
            continue
        size = {"power": -change.deviations, "loss": change.deviations}.get(channel, abs(change.deviations))
        least = TOLD_LOSS if channel == "loss" else TOLD
        if size >= least and (best is None or size > best[0]):
            best = size, channel, at[change.since]
    if best is None:
        return None
    _, channel, since = best
    differences = [_difference(shown, each, since) for each in CHANNELS]
    found = differences[CHANNELS.index(channel)]
    return None if found is None else Finding(since, channel, found, chances(differences))


def can_judge_elements(shown: Sequence[Shown]) -> bool:
    """Return whether enough firings had a climb with all power on."""
    return len(_numbers(shown, "power")) >= LEAST_BEFORE + LEAST_SINCE


def days_left(shown: Sequence[Shown], days: Sequence[float]) -> float | None:
    """Return in how many days the climb of the latest firing fails, if power goes on being lost as it was.

    It is a line through the powers, by least squares [source: Draper and Smith, Applied Regression Analysis]. None
    where the firings carry none: too few, in too short a time, a line that may as well be level, or one step, which
    says nothing of what comes.

    Parameters
    ----------
    shown
        What the firings show.
    days
        When each was fired [days, from any].
    """
    at = _numbers(shown, "power")
    needed = next((firing.needed for firing in reversed(shown) if firing.needed is not None), None)
    if len(at) < LEAST_BEFORE + LEAST_SINCE or needed is None or days[at[-1]] - days[at[0]] < _LONG_DAYS:
        return None
    rows = [(days[number], shown[number].power or 0.0) for number in at]
    middle, level = (fmean(column) for column in zip(*rows, strict=True))
    squares = sum((day - middle) ** 2 for day, _ in rows)
    a_day = sum((day - middle) * (power - level) for day, power in rows) / squares
    beside = sum((power - level - a_day * (day - middle)) ** 2 for day, power in rows)
    if beside > _beside_a_step([power for _, power in rows]):
        return None
    off = beside / (len(rows) - 2)
    now = level + a_day * (days[-1] - middle)
    if a_day >= -_STEEP * sqrt(off / squares) or now <= needed:
        return None
    return (now - needed) / -a_day


def _beside_a_step(powers: Sequence[float]) -> float:
    """Return the squares that the best step leaves: one level before, another since."""
    return min(sum(sum((power - fmean(side)) ** 2 for power in side) for side in (powers[:since], powers[since:]))
               for since in range(LEAST_BEFORE, len(powers) - LEAST_SINCE + 1))


def percent(difference: Difference) -> tuple[float, float, float]:
    """Return a difference of logarithms as percents: the middle, and where it lies in eight of ten."""
    at = [100 * (exp(difference.by + side * BAND_DEVIATIONS * difference.off) - 1) for side in (0, -1, 1)]
    return at[0], min(at[1:]), max(at[1:])


def _numbers(shown: Sequence[Shown], channel: str) -> list[int]:
    return [number for number, firing in enumerate(shown) if _value(firing, channel) is not None]


def _value(firing: Shown, channel: str) -> float | None:
    value: float | None = getattr(firing, channel)
    return None if channel == "probe_k" and value is not None and abs(value) > BELIEVABLE_K else value


def _difference(shown: Sequence[Shown], channel: str, since: int) -> Difference | None:
    """Return by how much a figure differs since a firing; None where one of the sides has none."""
    at = _numbers(shown, channel)
    before = sum(number < since for number in at)
    if not 0 < before < len(at):
        return None
    change = at_place([_value(shown[number], channel) or 0.0 for number in at], before, BELIEVED[channel])
    return Difference(change.by, change.off)
