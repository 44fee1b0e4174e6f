"""Which plan a trace fits: the temperatures at which the kiln stopped, laid along the ones a plan stops at.

Only these are evidence, and how long it held them. How fast a kiln climbs, and when, says little: controllers wait,
elements tire, a start is late by hours, and a climb stretched by 80 % looks to the percent like a °F figure taken for
°C (9/5). But a controller stops where it was told to. What the kiln stopped at is laid along a plan's stops in order,
at the least price in nats (sequence alignment by dynamic programming, after Needleman & Wunsch, J. Mol. Biol. 48,
1970): a stop near a planned one costs by how far it is off; one that nobody asked for, and a planned one that never
came, cost a round sum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from daemon.firing.plan.plan import Plan
from daemon.firing.tracking.segments import Segment, join_holds

UNPLANNED_STOP_NATS = 6.5
"""Price of a stop that the plan has no reason for [nats]: a stall, a hand at the controller."""
_MISSING_HOLD, _MISSING_SHORT, _MISSING_TURN = 5.0, 3.0, 5.0
_LONG_S, _SHORT_S = 900.0, 300.0
_WRONG_WAY = 4.0
_LEFT_EARLY, _LEFT_LATE = 3.0, 2.0
_EARLY_SHARE, _LATE_TIMES = 0.75, 1.6
"""A hold lengthened by hand by half is nothing unusual."""
_UNSEEN_S = 180.0
"""Corners are rounded: so much of a hold may not be seen as one [s]."""
_OWN_SD_C = 4.0
"""How far single stops lie off their plan once what they have in common is taken off [K]."""
_COMMON_C = (-12.0, -8.0, -4.0, 0.0, 4.0, 8.0, 12.0)
_COMMON_SD_C, _KNOWN_SD_C = 6.0, 3.0
"""What all stops of a firing have in common, the usual difference: tried in steps [K], and how much is usual [K]."""
_OPEN_HOLD_S, _DONE_HOLD_S = 600.0, 360.0
_TURNED_S = 600.0
_SAME_C = 9.0
_WARM_C = 100.0
"""What stops below this may be a kiln that waits to be started, or has cooled."""
_JOINED_C = 150.0
"""A firing first seen this hot is under way [°C]."""


class Stop(NamedTuple):
    """A temperature at which the kiln stopped: held, or turned from climbing to falling."""

    level_c: float
    way: int
    """+1 reached climbing, −1 reached falling."""
    since_s: float
    done_s: float | None = None
    """How long it was held, once that is over; 0 where it only turned [s]."""
    rate_c_per_h: float = 0.0
    """How fast the kiln came there."""


class _Asked(NamedTuple):
    level_c: float
    way: int
    missing: float
    """Price where it never came."""
    at: int
    """Which step, counted from 0."""
    hold_s: float


@dataclass(frozen=True, slots=True)
class Fit:
    """How well stops fit a plan.

    Attributes
    ----------
    cost
        In nats; 0 is a perfect fit.
    pairs
        (stop, planned temperature [°C], step counted from 0) of every stop that has its reason.
    """

    cost: float
    pairs: tuple[tuple[Stop, float, int], ...]


def stops(found: tuple[Segment, ...]) -> tuple[Stop, ...]:
    """Return the stops that the segments of a firing show so far."""
    kept = join_holds(found)
    marks: list[Stop] = []
    for before, here in pairwise(kept):
        long_enough = here.length_s >= (_OPEN_HOLD_S if here.end_s is None else _DONE_HOLD_S)
        if here.way == 0 and before.way and long_enough:
            mark = Stop(here.mean_c, before.way, here.start_s, None if here.end_s is None else here.length_s,
                        before.rate_c_per_h)
        elif before.way > 0 > here.way and here.length_s >= _TURNED_S:
            mark = Stop(before.to_c, 1, here.start_s, 0.0, before.rate_c_per_h)
        else:
            continue
        if mark.level_c < _WARM_C or (marks and abs(marks[-1].level_c - mark.level_c) < _SAME_C):
            continue  # the same stop, a lid or a blink in it
        marks.append(mark)
    return tuple(marks)


def _asked(plan: Plan) -> list[_Asked]:
    asked = []
    here_c = 20.0
    for i, step in enumerate(plan.steps):
        way = 1 if step.to_c > here_c else -1
        after = plan.steps[i + 1].to_c if i + 1 < len(plan.steps) else step.to_c
        turns = (after - step.to_c) * way < 0
        if step.hold_s >= _LONG_S:
            missing = _MISSING_HOLD
        elif turns:
            missing = _MISSING_TURN
        else:
            missing = _MISSING_SHORT if step.hold_s >= _SHORT_S else 0.0
        if missing:
            asked.append(_Asked(step.to_c, way, missing, i, step.hold_s))
        here_c = step.to_c
    return asked


def fit(marks: tuple[Stop, ...], plan: Plan, *, first_c: float, offset_c: float | None) -> Fit:
    """Return how well ``marks`` fit ``plan``.

    Parameters
    ----------
    marks
        The stops so far.
    plan
        What may have been run.
    first_c
        The first temperature [°C]; a firing joined hot owes nothing of what came before.
    offset_c
        Usual difference of probe and plan [K], None where unknown.
    """
    asked = _asked(plan)
    sd_c = _COMMON_SD_C if offset_c is None else _KNOWN_SD_C
    tried = (_along(marks, asked, common_c + (offset_c or 0.0), is_free=first_c > _JOINED_C)
             for common_c in _COMMON_C)
    return min((replace(found, cost=found.cost + 0.5 * (common_c / sd_c) ** 2)
                for found, common_c in zip(tried, _COMMON_C, strict=True)), key=lambda found: found.cost)


def _along(marks: tuple[Stop, ...], asked: list[_Asked], offset_c: float, *, is_free: bool) -> Fit:
    """Return the cheapest way to lay stops along what is asked; what was missed before the first may be free."""
    # Best price of each (stops taken, planned ones passed), with the pairs that led there.
    row: list[Fit] = [Fit(0.0, ())]
    for want in asked:
        row.append(replace(row[-1], cost=row[-1].cost + (0.0 if is_free else want.missing)))
    for mark in marks:
        above, row = row, [replace(row[0], cost=row[0].cost + UNPLANNED_STOP_NATS)]
        for j, want in enumerate(asked):
            off = (mark.level_c - offset_c - want.level_c) / _OWN_SD_C
            match = min(2 * UNPLANNED_STOP_NATS, 0.5 * off * off) + _length(mark, want)
            match += _WRONG_WAY if mark.way != want.way else 0.0
            row.append(min((
                Fit(above[j].cost + match, (*above[j].pairs, (mark, want.level_c, want.at))),
                replace(above[j + 1], cost=above[j + 1].cost + UNPLANNED_STOP_NATS),
                replace(row[j], cost=row[j].cost + want.missing),
            ), key=lambda found: found.cost))
    return min(row, key=lambda found: found.cost)


def _length(mark: Stop, want: _Asked) -> float:
    """Return the price of a hold that was left early, or went on long past its time [nats]."""
    if mark.done_s is None:
        return 0.0
    if mark.done_s < _EARLY_SHARE * want.hold_s - _UNSEEN_S:
        return _LEFT_EARLY
    return _LEFT_LATE if mark.done_s > _LATE_TIMES * want.hold_s + 2 * _UNSEEN_S else 0.0
