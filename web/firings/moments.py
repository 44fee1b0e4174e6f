"""Moments of a firing by the wall clock: when it was set, which second a time of day was, and how hot it was then.

The firing's own seconds come from a clock that nobody sets. The marks say what the wall clock said at some of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise
from math import inf
from typing import NamedTuple

from daemon.firing.durations import duration
from daemon.store import found_parts, readings
from daemon.store.firings import Firing
from daemon.store.found_parts import ClockMark
from web import words
from web.request.context import database, settings
from web.times import time_words

NEAR_S = 120.0
"""A reading this near tells how hot it was [s]. [chosen: at 300 °C/h ten degrees]"""
TOLD_S = 60.0
"""A step of the wall clock from here on is told [s]. [chosen: times on the page are in minutes]"""
ANOTHER_DAY_S = 86_400.0
"""From here on only that the clock was wrong is told [s]. [chosen: "20,000 days forward" tells a maker nothing]"""
_SLACK_S = 10.0
"""A step is marked with the next stored reading, so a time up to so much past it still belongs before it [s].
[derived: two stored readings]"""


class ClockStep(NamedTuple):
    """The wall clock was set while the computer ran."""

    t_s: float
    """Second of the firing at which that was noticed, at most one stored reading later [s]."""
    by_s: float
    """By how much, forward positive [s]."""
    is_first: bool
    """Whether nothing that is trusted had set it before; the firing's start is reckoned from this one."""


def clock_steps(marks: Sequence[ClockMark]) -> list[ClockStep]:
    """Return each step of the wall clock that is worth telling, from the marks of a firing in their order."""
    found = []
    trusted = False
    for last, now in pairwise(marks):
        trusted = trusted or last.synchronised
        by_s = (now.wall_utc - last.wall_utc).total_seconds() - (now.clock_s - last.clock_s)
        if last.boot_id == now.boot_id and abs(by_s) >= TOLD_S:
            found.append(ClockStep(now.t_s, by_s, now.synchronised and not trusted))
    return found


def step_words(step: ClockStep) -> str:
    """Return a step in a sentence."""
    if abs(step.by_s) >= ANOTHER_DAY_S:
        said = "The computer’s clock was set. Before that it was wrong by more than a day."
    else:
        said = f"The computer’s clock was set {'forward' if step.by_s > 0 else 'back'} {duration(abs(step.by_s))}."
    if step.is_first:
        return f"{said} All times here are reckoned from the new time."
    return f"{said} The times here stay as they are."


def second_of(wall_utc: datetime, firing: Firing, marks: Sequence[ClockMark]) -> float:
    """Return the second of a firing at which the wall clock said ``wall_utc`` [s].

    Parameters
    ----------
    wall_utc
        As it was noted then.
    firing
        The firing.
    marks
        Its clock marks in order. The latest stretch between two of them in which the clock said so is taken; where
        none did, the firing's start tells.
    """
    for mark, after in zip(reversed(marks), (None, *reversed(marks)), strict=False):
        since_s = (wall_utc - mark.wall_utc).total_seconds() * firing.speed
        longest_s = inf if after is None else after.t_s - mark.t_s + _SLACK_S * firing.speed
        if 0.0 <= since_s <= longest_s:
            return mark.t_s + since_s
    return (wall_utc - firing.started_utc).total_seconds() * firing.speed


def moment_words(firing: Firing, wall_utc: datetime) -> str:
    """Return a moment of a firing: ``22:40, at 503 °C``; the time alone where no reading is near it."""
    zone, unit = settings().zone, settings().unit
    t_s = second_of(wall_utc, firing, found_parts.clock_marks(database(), firing.firing_id))
    when = words.clock(firing.started_utc.astimezone(zone), t_s) if firing.speed == 1.0 \
        else time_words(wall_utc.astimezone(zone))  # a bench's clock and the wall's differ
    near = [sample for sample in readings.samples(database(), firing.firing_id, t_s - NEAR_S, t_s + NEAR_S)
            if sample.temp_c is not None]
    if not near:
        return when
    temp_c = min(near, key=lambda sample: abs(sample.t_s - t_s)).temp_c
    return words.bound(f"{when}, at {words.temp(temp_c, unit)} °{unit}")
