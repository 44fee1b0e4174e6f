"""Which plan a trace fits: the temperatures at which the kiln stopped, aligned with those at which a plan stops.

Only these and how long they were held are evidence. How fast a kiln climbs, and when, says little: controllers wait,
elements age, a start is late by hours, and a climb that takes 80 % longer looks to the percent like a °F figure taken
for °C (9/5). But a controller stops where it was told to. The kiln's stops are aligned with the plan's in order, at
the least price in nats (sequence alignment by dynamic programming, after Needleman & Wunsch, J. Mol. Biol. 48, 1970):
a stop near a planned one costs by how far it is off; an unplanned stop, and a planned one that never came, cost a
fixed sum.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.tracking.segments import SAME_LEVEL_K, Segment, join_holds
from daemon.firing.tracking.state_costs import WARM_C

UNPLANNED_STOP_NATS = 6.5
"""Price of a stop that the plan has no reason for [nats]: a stall, a hand at the controller.
[tuned: by trial on the bench, study not kept]"""
_MISSING_HOLD, _MISSING_SHORT, _MISSING_TURN = 5.0, 3.0, 5.0
"""Price of a planned stop that never came [nats]: a long hold, a short one, a turn from climbing to falling.
[tuned: by trial on the bench, study not kept]"""
_LONG_S, _SHORT_S = 900.0, 300.0
"""A hold of the first length is sure to be seen, one of the second likely; a shorter one may pass unseen [s].
[tuned: by trial on the bench, study not kept]"""
_WRONG_WAY = 4.0
"""Price of a stop reached from the other side than planned [nats]. [tuned: by trial on the bench, study not kept]"""
_LEFT_EARLY, _LEFT_LATE = 3.0, 2.0
"""Price of a hold left early, and of one that went on long past its time [nats].
[tuned: by trial on the bench, study not kept]"""
_EARLY_SHARE, _LATE_TIMES = 0.75, 1.6
"""A hold shorter than this share of its plan was left early; one longer than so many times its plan went on: half as
long again, by hand, is nothing unusual. [common practice]"""
_UNSEEN_S = 180.0
"""Corners are rounded: so much of a hold may not be seen as one, at each end [s].
[tuned: by trial on the bench, study not kept]"""
_OWN_SD_K = 4.0
"""How far single stops lie off their plan once what they have in common is taken off: standard deviation [K].
[tuned: by trial on the bench, study not kept]"""
_COMMON_K = (-12.0, -8.0, -4.0, 0.0, 4.0, 8.0, 12.0)
"""The usual difference, which all stops of a firing have in common, is tried in these steps [K].
[derived: steps of _OWN_SD_K, up to two standard deviations of _COMMON_SD_K]"""
_COMMON_SD_K, _KNOWN_SD_K = 6.0, 3.0
"""Standard deviation of the usual difference, unknown and known [K].
[tuned: by trial on the bench, study not kept]"""
_OPEN_HOLD_S, _DONE_HOLD_S, _TURNED_S = 600.0, 360.0, 600.0
"""A stop counts once it was held so long: while it goes on, when it is over, and as the fall after a turn [s].
[tuned: by trial on the bench, study not kept]"""
_STRAIGHT_SHARE = 2 / 3
"""In a fall that is straight, or slackens, the readings lie on average no more than this share of it above its end
[1]. [derived: half of it, as on a line, and something for a rounded corner]"""
_JOINED_C = 150.0
"""A firing first seen this hot is under way [°C]. [common practice]"""


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


class _PlannedStop(NamedTuple):
    """A temperature at which a plan stops."""

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
        (stop, planned temperature [°C], step counted from 0) of every stop that has a planned one.
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
        elif before.way > 0 > here.way and here.length_s >= _TURNED_S and _is_steady(here):
            mark = Stop(before.to_c, 1, here.start_s, 0.0, before.rate_c_per_h)
        else:
            continue
        if mark.level_c < WARM_C or (marks and abs(marks[-1].level_c - mark.level_c) < SAME_LEVEL_K):
            continue  # cold, or the same stop with a lid opened in it
        marks.append(mark)
    return tuple(marks)


def _is_steady(fall: Segment) -> bool:
    """Return whether a fall has gone on since its beginning, or is over.

    Until the change point between a hold and the fall from it is found, both are one segment: no turn yet. Where it
    is never found, the kiln turned there all the same.
    """
    return fall.end_s is not None or fall.mean_c - fall.to_c <= _STRAIGHT_SHARE * (fall.from_c - fall.to_c)


def _planned_stops(plan: Plan) -> list[_PlannedStop]:
    """Return the stops of a plan that can be seen: its longer holds, and its turns from climbing to falling."""
    asked = []
    here_c = ASSUMED_ROOM_C
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
            asked.append(_PlannedStop(step.to_c, way, missing, i, step.hold_s))
        here_c = step.to_c
    return asked


def fit(marks: tuple[Stop, ...], plan: Plan, *, first_c: float, offset_k: float | None) -> Fit:
    """Return how well ``marks`` fit ``plan``.

    Parameters
    ----------
    marks
        The stops so far.
    plan
        What may have been run.
    first_c
        The first temperature [°C]; a firing joined hot owes nothing of what came before.
    offset_k
        Usual difference of probe and plan [K], None where unknown.
    """
    asked = _planned_stops(plan)
    sd_k = _COMMON_SD_K if offset_k is None else _KNOWN_SD_K
    tried = (_aligned(marks, asked, common_k + (offset_k or 0.0), is_free=first_c > _JOINED_C)
             for common_k in _COMMON_K)
    return min((replace(found, cost=found.cost + 0.5 * (common_k / sd_k) ** 2)
                for found, common_k in zip(tried, _COMMON_K, strict=True)), key=lambda found: found.cost)


def _aligned(marks: tuple[Stop, ...], asked: list[_PlannedStop], offset_k: float, *, is_free: bool) -> Fit:
    """Return the cheapest alignment of stops with planned ones; those missed before the first stop may be free.

    ``row[j]`` is the cheapest alignment of the stops so far with the first j planned ones.
    """
    row: list[Fit] = [Fit(0.0, ())]
    for want in asked:
        row.append(replace(row[-1], cost=row[-1].cost + (0.0 if is_free else want.missing)))
    for mark in marks:
        above, row = row, [replace(row[0], cost=row[0].cost + UNPLANNED_STOP_NATS)]
        for j, want in enumerate(asked):
            off = (mark.level_c - offset_k - want.level_c) / _OWN_SD_K
            match = min(2 * UNPLANNED_STOP_NATS, 0.5 * off * off) + _length_price(mark, want)
            match += _WRONG_WAY if mark.way != want.way else 0.0
            row.append(min((
                Fit(above[j].cost + match, (*above[j].pairs, (mark, want.level_c, want.at))),
                replace(above[j + 1], cost=above[j + 1].cost + UNPLANNED_STOP_NATS),
                replace(row[j], cost=row[j].cost + want.missing),
            ), key=lambda found: found.cost))
    return min(row, key=lambda found: found.cost)


def _length_price(mark: Stop, want: _PlannedStop) -> float:
    """Return the price of a hold that was left early, or went on long past its time [nats].

    None while it goes on, nor for a turn: a hold to which the kiln creeps, or in which the reading sags, is seen as
    one, however long it was. (Weighed: a hold that was skipped. It turns at the level all the same.)
    """
    if not mark.done_s:
        return 0.0
    if mark.done_s < _EARLY_SHARE * want.hold_s - _UNSEEN_S:
        return _LEFT_EARLY
    return _LEFT_LATE if mark.done_s > _LATE_TIMES * want.hold_s + 2 * _UNSEEN_S else 0.0
