"""Another plan than the one chosen: a stored one, or the same figures read wrongly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from daemon.firing.plan.misread import Misread, misread
from daemon.firing.plan.plan import Plan
from daemon.firing.situation.plan_fit import UNPLANNED_STOP_NATS, Fit, Stop, fit, stops
from daemon.firing.tracking.segments import Segment
from daemon.glass.materials import Glass

LOOK_EVERY_S = 120.0
"""How often stops are looked for [s]. [chosen: a hold lasts several times as long]"""
SURE, DOUBTFUL = 9.0, 7.0
"""Nats by which another plan must fit better to be a look, or worth a line in the log. [tuned: by trial on the bench,
study not kept]
"""
_WELL = 6.0
"""Nats up to which a fit is a good one. [tuned: by trial on the bench, study not kept]"""
_NEAR_K = 12.0
"""A stop is where a plan asks for one within this [K]. [tuned: by trial on the bench, study not kept]"""
_BEYOND_K = 25.0
"""A kiln this far above a plan's highest target is no longer in that plan [K]. [tuned: by trial on the bench, study
not kept]
"""
_FASTER_TIMES = 1.4
"""A fall through the annealing range up to this many times a plan's is that plan's. [tuned: by trial on the bench,
study not kept]
"""
_SAME_K = 2.0
"""A stop whose level has moved by less is the same one [K]. [tuned: by trial on the bench, study not kept]"""
_RATE_SHARE, _OTHER_RATE_SHARE = 0.06, 0.12
"""A rate is another plan's within the first share of it, and not the chosen plan's beyond the second. [tuned: by
trial on the bench, study not kept]
"""
_SAYS_NATS = 4.0
"""How much more a lone stop says by each of three things: the rate it was come to at, how long it was held, and that
it lies far above the chosen top [nats]. [tuned: by trial on the bench, study not kept]
"""
_LENGTH_SHARE, _LENGTH_S, _LONG_ENOUGH_S = 0.15, 150.0, 480.0
"""A stop was held as long as a plan asks within the larger of this share and this time [s]; holds shorter than the
third [s] are not compared. [tuned: by trial on the bench, study not kept]
"""


@dataclass(frozen=True, slots=True)
class OtherPlan:
    """A plan that the controller may run instead of the chosen one."""

    plan: Plan
    name: str
    """Empty for the chosen one, read wrongly."""
    read: Misread | None = None


class _Laid(NamedTuple):
    """Another plan with the stops laid along it."""

    fit: Fit
    other: OtherPlan
    close: list[tuple[Stop, float, int]]
    """Stops that are where it asks for one."""
    says: float
    """What a lone one of them says besides [nats]."""


class Better(NamedTuple):
    """Another plan that fits the stops better than the chosen one."""

    other: OtherPlan
    close: tuple[tuple[Stop, float, int], ...]
    """Stops that are where it asks for one, with that temperature [°C] and its step from 0."""
    is_sure: bool
    """Whether it fits so much better that the maker should look."""


class PlanComparison:
    """Lays the kiln's stops along the chosen plan and every other one; a few times in a firing.

    Parameters
    ----------
    plan
        The chosen one.
    others
        What else the maker has written down.
    glass
        The load's.
    """

    def __init__(self, plan: Plan, others: Sequence[Plan], glass: Glass) -> None:
        self._plan = plan
        self._others = (*(OtherPlan(read.plan, "", read) for read in misread(plan)), *(
            OtherPlan(other, other.title) for other in others if other.steps != plan.steps))
        self._glass = glass
        self._key: tuple[tuple[int, bool], ...] = ()
        self._fit: tuple[OtherPlan, Fit] | None = None
        self.better: Better | None = None
        self.since_s = 0.0
        """When the kiln first stopped [s]."""
        self.explains_now = False
        """Whether the other plan explains what the kiln does at this moment."""

    def see(self, segments: tuple[Segment, ...], first_c: float, offset_k: float | None) -> None:
        """Take the segments found so far.

        Parameters
        ----------
        segments
            What the readings show without a plan, the present one last.
        first_c
            The firing's first temperature [°C].
        offset_k
            Usual difference of probe and plan as earlier firings or the owner know it [K]. Not as this firing's
            own holds show it: it was learned by the chosen plan, which is in question here.
        """
        marks = stops(segments)
        key = tuple((round(mark.level_c / _SAME_K), mark.done_s is None) for mark in marks)
        if key != self._key and key != self._key[:len(key)]:  # one stop less: the last is just being left
            self._key = key
            self._compare(marks, first_c, offset_k)
        self.explains_now = self._fit is not None and (
            self._is_scale_wrong or _explains(*self._fit, segments[-1], offset_k or 0.0, self._glass))

    @property
    def _is_scale_wrong(self) -> bool:
        """Return whether the readings are by another type's table: then they are so for the whole firing.

        Weighed: to ask at every moment what the plan, so read, asks next, as for another stored plan. But another
        plan can be left, by a break or a hand, and what the chosen one asks then counts again. A scale is never left.
        """
        read = None if self._fit is None else self._fit[0].read
        return read is not None and read.types is not None

    def _compare(self, marks: tuple[Stop, ...], first_c: float, offset_k: float | None) -> None:
        """Look for a better plan than the chosen one.

        There is none where the chosen one fits well enough; where the best other one does not fit well, or not by
        DOUBTFUL better; nor by one stop alone, unless something else speaks for it (see _alone).
        """
        self.better, self._fit = None, None
        if not marks:
            return
        chosen = fit(marks, self._plan, first_c=first_c, offset_k=offset_k)
        if chosen.cost < UNPLANNED_STOP_NATS:
            return
        best, other, close, says = min(
            (self._laid(marks, other, chosen, first_c, offset_k) for other in self._others),
            key=lambda laid: laid.fit.cost - laid.says)
        better = chosen.cost - best.cost + says
        if better < DOUBTFUL or best.cost > _WELL or len(close) < (1 if says else 2):
            return
        sure = better >= SURE
        self.better, self.since_s = Better(other, tuple(close), sure), marks[0].since_s
        self._fit = (other, best) if sure else None

    def _laid(self, marks: tuple[Stop, ...], other: OtherPlan, chosen: Fit, first_c: float,
              offset_k: float | None) -> _Laid:
        """Return another plan with the stops laid along it."""
        found = fit(marks, other.plan, first_c=first_c, offset_k=offset_k)
        close = [pair for pair in found.pairs if abs(pair[0].level_c - (offset_k or 0.0) - pair[1]) < _NEAR_K]
        says = self._alone(close[0], other.plan, chosen, offset_k) if len(marks) == len(close) == 1 else 0.0
        price = 0.0 if other.read is None else other.read.price
        return _Laid(replace(found, cost=found.cost + price), other, close, says)

    def _alone(self, pair: tuple[Stop, float, int], other: Plan, chosen: Fit, offset_k: float | None) -> float:
        """Return what a lone stop says for ``other`` besides where it is [nats]; 0 where that is nothing.

        A kiln can stall anywhere, so also near a stop of one of many plans. But a stall seldom was come to at that
        plan's own rate where the chosen plan has another; it seldom lasts as long as that plan holds; and it never
        lies above the chosen top.
        """
        mark, _, at = pair
        step = other.steps[at]
        if any(mark is taken for taken, _, _ in chosen.pairs):
            return 0.0
        rate = mark.rate_c_per_h * mark.way
        chosens = [own.rate_c_per_h for own in self._plan.steps]
        is_rate = step.rate_c_per_h is not None and abs(rate / step.rate_c_per_h - 1) < _RATE_SHARE and not any(
            own is not None and abs(rate / own - 1) < _OTHER_RATE_SHARE for own in chosens)
        is_length = mark.done_s is not None and step.hold_s >= _LONG_ENOUGH_S and (
            abs(mark.done_s - step.hold_s) < max(_LENGTH_S, _LENGTH_SHARE * step.hold_s))
        is_beyond = mark.way > 0 and mark.level_c - (offset_k or 0.0) > self._plan.highest_c + _BEYOND_K
        return _SAYS_NATS * (is_rate + is_length + is_beyond)


def _explains(other: OtherPlan, best: Fit, here: Segment, offset_k: float, glass: Glass) -> bool:
    """Return whether the present segment is what the other plan does after its last stop."""
    mark, _, index = best.pairs[-1]
    if here.way == 0:
        return abs(here.mean_c - mark.level_c) < _NEAR_K
    steps = other.plan.steps[index + 1:]
    if not steps:
        return here.way < 0
    ahead = [step for step in steps if (step.to_c - mark.level_c) * here.way > 0]
    if not ahead or (steps[0].to_c - mark.level_c) * here.way <= 0:
        return False
    furthest_c = max(step.to_c * here.way for step in ahead)
    if (here.to_c - offset_k) * here.way > furthest_c + _BEYOND_K and here.way > 0:
        return False
    if here.way < 0 and glass.band_low_c <= here.to_c <= glass.band_high_c:
        governs = next((step for step in ahead if step.to_c < here.to_c - offset_k), ahead[-1])
        return governs.rate_c_per_h is None or -here.rate_c_per_h < _FASTER_TIMES * governs.rate_c_per_h
    return True
