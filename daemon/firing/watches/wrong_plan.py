"""Another plan than the one chosen: a stored one, or the same figures read wrongly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from daemon.firing.events import Rank
from daemon.firing.plan.misread import TYPES, Misread, misread
from daemon.firing.plan.plan import Plan
from daemon.firing.situation.plan_fit import UNPLANNED_STOP_NATS, Fit, Stop, fit, stops
from daemon.firing.situation.view import Finding
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.segments import Segment, SegmentFinder
from daemon.glass.materials import Glass

LOOK_EVERY_S = 120.0
SURE, DOUBTFUL = 9.0, 7.0
"""Nats by which another plan must fit better to be a look, or worth a note."""
_WELL = 6.0
"""Nats up to which a fit is a good one."""
_NEAR_K = 12.0
_BEYOND_K = 25.0
_FASTER_TIMES = 1.4
_SAME_K = 2.0
_RATE_SHARE, _OTHER_RATE_SHARE = 0.06, 0.12
"""A rate is another plan's within the one share, and not the chosen plan's beyond the other."""
_BY_RATE, _BY_LENGTH, _BY_HEIGHT = 4.0, 4.0, 4.0
"""What one stop says more by how it was come to, how long it was held, and how far above the chosen top [nats]."""
_LENGTH_SHARE, _LENGTH_S, _LONG_ENOUGH_S = 0.15, 150.0, 480.0

JUDGED_BY_PLAN = (
    "firing-stopped", "restarted", "not-started", "hold-cut-short", "hold-overrun", "hold-off-target", "not-climbing",
    "heating-too-fast", "not-cooling", "cooling-too-fast",
)
"""Kinds that compare with the chosen plan; runaway, blindness and a step down are trouble under any plan."""


@dataclass(frozen=True, slots=True)
class _Other:
    plan: Plan
    name: str
    """Empty for the chosen one, read wrongly."""
    read: Misread | None = None


class _Laid(NamedTuple):
    """Another plan with the stops laid along it."""

    fit: Fit
    other: _Other
    close: list[tuple[Stop, float, int]]
    """Stops that are where it asks for one."""
    says: float
    """What a lone one of them says besides [nats]."""


class WrongPlanWatch:
    """Lays the kiln's stops along the chosen plan and every other one; a few times in a firing.

    Parameters
    ----------
    plan
        The chosen one.
    others
        What else the maker has written down.
    trail
        The readings.
    glass
        The load's.
    """

    def __init__(self, plan: Plan, others: Sequence[Plan], trail: Trail, glass: Glass) -> None:
        self._plan = plan
        self._others = (*(_Other(read.plan, "", read) for read in misread(plan)), *(
            _Other(other, other.title) for other in others if other.steps != plan.steps))
        self._segments = SegmentFinder(trail, LOOK_EVERY_S)
        self._glass = glass
        self._key: tuple[tuple[int, bool], ...] = ()
        self._found: Finding | None = None
        self._fit: tuple[_Other, Fit] | None = None
        self.explains_now = False
        """Whether the other plan explains what the kiln does at this moment."""

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C]."""
        self._segments.count_in(temp_c)

    def see(self, t_s: float, wander_c: float, resumed_s: float, *, first_c: float,
            offset_c: float | None) -> Finding | None:
        """Return the finding while another plan fits better.

        Parameters
        ----------
        t_s, wander_c, resumed_s
            See SegmentFinder.see.
        first_c
            The firing's first temperature [°C].
        offset_c
            Usual difference of probe and plan as earlier firings or the owner know it [K]. Not as this firing's
            own holds show it: it was learned by the chosen plan, which is in question here.
        """
        if not self._segments.see(t_s, wander_c, resumed_s):
            return self._found
        marks = stops(self._segments.found)
        key = tuple((round(mark.level_c / _SAME_K), mark.done_s is None) for mark in marks)
        if key != self._key and key != self._key[:len(key)]:  # a hold that is just being left is one still
            self._key = key
            self._compare(marks, t_s, first_c, offset_c)
        self.explains_now = self._fit is not None and _explains(
            *self._fit, self._segments.found[-1], offset_c or 0.0, self._glass)
        if self._found is not None:
            self._found = replace(self._found, facts=self._found.facts | {"explains": float(self.explains_now)})
        return self._found

    def _compare(self, marks: tuple[Stop, ...], t_s: float, first_c: float, offset_c: float | None) -> None:
        self._found, self._fit = None, None
        if not marks:
            return
        chosen = fit(marks, self._plan, first_c=first_c, offset_c=offset_c)
        if chosen.cost < min(DOUBTFUL, UNPLANNED_STOP_NATS):
            return
        best, other, close, says = min(
            (self._laid(marks, other, chosen, first_c, offset_c) for other in self._others),
            key=lambda laid: laid.fit.cost - laid.says)
        better = chosen.cost - best.cost + says
        if better < DOUBTFUL or best.cost > _WELL or len(close) < (1 if says else 2):
            return
        sure = better >= SURE
        self._found = Finding("wrong-plan", Rank.LOOK if sure else Rank.LOG, marks[0].since_s, name=other.name,
                              facts=self._facts(close, other) | {"better": better})
        self._fit = (other, best) if sure else None

    def _facts(self, close: list[tuple[Stop, float, int]], other: _Other) -> dict[str, float]:
        (first, first_asked, _), (last, last_asked, _) = close[0], close[-1]
        facts = {"first_c": first.level_c, "first_asked_c": first_asked, "last_c": last.level_c,
                 "last_asked_c": last_asked, "stops": float(len(close))}
        if other.read is None:
            return facts
        if other.read.types is None:
            return facts | {"in_f": float(other.read.unit == "F")}
        first_true, last_true = (self._plan.steps[at].to_c for _, _, at in (close[0], close[-1]))
        return facts | {"type": float(TYPES.index(other.read.types)), "first_true_c": first_true,
                        "last_true_c": last_true}

    def _laid(self, marks: tuple[Stop, ...], other: _Other, chosen: Fit, first_c: float,
              offset_c: float | None) -> _Laid:
        found = fit(marks, other.plan, first_c=first_c, offset_c=offset_c)
        close = [pair for pair in found.pairs if abs(pair[0].level_c - (offset_c or 0.0) - pair[1]) < _NEAR_K]
        says = self._alone(close[0], other.plan, chosen, offset_c) if len(marks) == len(close) == 1 else 0.0
        return _Laid(found, other, close, says)

    def _alone(self, pair: tuple[Stop, float, int], other: Plan, chosen: Fit, offset_c: float | None) -> float:
        """Return what a lone stop says for ``other`` besides where it is [nats]; 0 where that is nothing.

        A stall can be anywhere, so near one of many plans' stops. It seldom comes there at that plan's own rate,
        which is not the chosen one's, or lasts as long as that plan holds; and no stall lies above the chosen top.
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
        is_beyond = mark.way > 0 and mark.level_c - (offset_c or 0.0) > self._plan.highest_c + _BEYOND_K
        return _BY_RATE * is_rate + _BY_LENGTH * is_length + _BY_HEIGHT * is_beyond


def _explains(other: _Other, best: Fit, here: Segment, offset_c: float, glass: Glass) -> bool:
    """Return whether the present segment is what the other plan does after its last stop."""
    if not best.pairs:
        return False
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
    if (here.to_c - offset_c) * here.way > furthest_c + _BEYOND_K and here.way > 0:
        return False
    if here.way < 0 and glass.band_low_c <= here.to_c <= glass.band_high_c:
        governs = next((step for step in ahead if step.to_c < here.to_c - offset_c), ahead[-1])
        return governs.rate_c_per_h is None or -here.rate_c_per_h < _FASTER_TIMES * governs.rate_c_per_h
    return True


def calmed(findings: list[Finding], watch: WrongPlanWatch | None) -> list[Finding]:
    """Return the findings with those that only compare with the chosen plan no louder than a look.

    They are so while another plan surely fits better and explains what the kiln does now: power that fails under
    the wrong plan still wakes.
    """
    if watch is None or not watch.explains_now:
        return findings
    return [replace(finding, rank=Rank.LOOK) if finding.kind in JUDGED_BY_PLAN and finding.rank is Rank.WAKE
            else finding for finding in findings]
