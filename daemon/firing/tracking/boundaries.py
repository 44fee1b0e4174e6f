"""When each part began and ended: the follower's changes of state, refined by the change points of the readings.

A boundary is sought anew for SETTLE_S after it, and a hold's beginning once more when its end is known. Then it is
kept for good, with the sums that give the part's mean temperature and rate, so no reading older than the trail keeps
is ever needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from daemon.firing.events import Part
from daemon.firing.plan.near_target import near_k
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.boundary_time import (
    StateChange,
    Uncertainty,
    boundary_s,
)
from daemon.firing.tracking.change_points import WIDEST_S, ChangePointFinder
from daemon.firing.tracking.kiln_sums import KilnSums, Sums
from daemon.firing.tracking.path import Visit, path_to, without_excursions
from daemon.firing.tracking.plan_clock import is_asked, start_by_clock
from daemon.firing.tracking.segments import LOOK_EVERY_S
from daemon.firing.tracking.tops import Tops
from daemon.firing.tracking.turns import air_is_back_s, before_sag_s, temp_at
from daemon.firing.tracking.wander import PRIOR_WANDER_K

SETTLE_S = WIDEST_S
"""A boundary is settled so long after it [s]. [derived: then the widest window after it is full]"""
TOLD_TO_S = 30.0
"""A boundary that moves by less than this is not told again [s]. [chosen: makers read minutes]"""
_RETELL_EVERY_S = 600.0
"""How often the part under way is told again, whose rate and mean go on changing [s].
[chosen: seldom enough for the card, often enough for the page]"""


class _Boundary(NamedTuple):
    """The beginning of a part, as last sought."""

    t_s: float
    temp_c: float | None
    """None where it lies in a gap."""
    sums: Sums
    """All readings before it."""
    settled: bool
    """Whether it is kept for good."""
    seen_s: float
    """When it was last sought [s]."""
    final: bool = False
    """Whether it was sought again from the hold's end."""


class _Ended(NamedTuple):
    """A part that has ended, and the boundaries it was made of."""

    start: _Boundary
    end: _Boundary
    part: Part


class Boundaries:
    """Turns the follower's path into parts with a beginning and an end; one object a firing."""

    def __init__(self, parts: tuple[PlannedPart, ...], trail: Trail) -> None:
        self._parts = parts
        self._trail = trail
        self._change_points = ChangePointFinder(trail)
        self._tops = Tops(parts, trail)
        self._known: dict[tuple[int, float], _Boundary] = {}
        """The boundary of each visit, by (state, second the follower entered it)."""
        self._sums = KilnSums(trail)
        self._latest: Visit | None = None
        self._visits: list[Visit] = []
        """The path to it, without what was no part; it does not depend on the time."""
        self._due_s = 0.0
        self._open: _Boundary | None = None
        """The beginning of the part the kiln is in."""
        self._ended: dict[tuple[int, float], _Ended] = {}
        """The parts that have ended, by (state, second it began)."""
        self._told: tuple[tuple[int, int, int], ...] = ()
        self.found: tuple[Part, ...] = ()
        self._uncertainty = Uncertainty(PRIOR_WANDER_K, 0.0, near_k(known=False))
        self._stood: Sequence[tuple[float, float]] = ()

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C] into the running sums."""
        self._sums.count_in(temp_c)

    def revise(self, latest: Visit, now_s: float, uncertainty: Uncertainty,
               stood: Sequence[tuple[float, float]] = (), shut: Sequence[tuple[float, float]] = ()) -> bool:
        """Take the follower's path at ``now_s``; return whether the parts changed enough to be told.

        ``stood`` says from when to when the readings stood a step down, as under an open lid [s]: what bends there is
        no boundary, where the kiln is in the same part afterwards. ``shut`` says the same of looks inside: no line is
        drawn through that, and no mean counts it.
        """
        self._uncertainty, self._stood, self._change_points.air = uncertainty, stood, shut
        self._sums.leave_out(shut, now_s)
        if latest is self._latest and now_s < self._due_s and self.found:
            self._go_on(now_s)
            return False
        self._due_s = now_s + LOOK_EVERY_S
        if latest is not self._latest:
            self._latest = latest
            self._visits = without_excursions(path_to(latest), len(self._parts), now_s)
        visits = self._tops.put_right(self._visits, now_s, uncertainty.offset_k, uncertainty.near_k)
        keys = {(v.state, v.start_s) for v in visits}
        for key in [k for k in self._known if k not in keys]:
            del self._known[key]
        marks = [self._boundary(visits, i, now_s) for i in range(len(visits))]
        for i in range(1, len(visits) - 1):
            marks[i] = self._hold_start_anew(visits, marks, i, now_s)
        found = []
        made, self._ended = self._ended, {}
        for i, visit in enumerate(visits):
            if not 1 <= visit.state <= len(self._parts):
                continue
            end = marks[i + 1] if i + 1 < len(visits) else None
            found.append(self._part(visit.state, marks[i], end, now_s) if end is None
                         else self._ended_part(made, visit.state, marks[i], end))
        self.found = tuple(found)
        self._open = marks[-1] if found and found[-1].end_s is None else None
        before, self._told = self._told, _told(self.found, now_s)
        return before != self._told

    def _ended_part(self, made: dict[tuple[int, float], _Ended], state: int, start: _Boundary,
                    end: _Boundary) -> Part:
        """Return the part of ``state`` from ``start`` to ``end``: of those ``made``, unless sought anew."""
        ended = made.get((state, start.t_s))
        if ended is None or ended.start is not start or ended.end is not end:
            ended = _Ended(start, end, self._part(state, start, end, end.t_s))
        self._ended[state, start.t_s] = ended
        return ended.part

    def _go_on(self, now_s: float) -> None:
        """Bring the open part up to ``now_s``; all before it stays."""
        if self._open is not None:
            last = self.found[-1]
            self.found = (*self.found[:-1], self._part(last.index + 1, self._open, None, now_s))

    def _part(self, state: int, start: _Boundary, end: _Boundary | None, now_s: float) -> Part:
        """Return the part of ``state`` as it ran from ``start`` to ``end``, or up to now."""
        planned = self._parts[state - 1]
        to = end or self._here(now_s)
        length = to.t_s - start.t_s
        return Part(
            index=planned.index, step=planned.step, part=planned.part, start_s=start.t_s,
            end_s=None if end is None else max(end.t_s, start.t_s),
            rate_c_per_h=None if to.temp_c is None or start.temp_c is None or length <= 0
            else (to.temp_c - start.temp_c) / length * 3600,
            mean_c=None if self._has_stood(start.t_s, to.t_s) else self._sums.mean_c(start.sums, to.sums),
        )

    def _has_stood(self, from_s: float, to_s: float) -> bool:
        """Return whether the readings stood a step down meanwhile: their mean is none of the kiln."""
        return any(shut_s > from_s and opened_s < to_s for opened_s, shut_s in self._stood)

    def _here(self, now_s: float) -> _Boundary:
        """Return the end, for the moment, of the part the kiln is in."""
        return _Boundary(now_s, temp_at(self._trail, now_s), self._sums.now(now_s), False, now_s)

    def _boundary(self, visits: list[Visit], i: int, now_s: float) -> _Boundary:
        """Return where visit ``i`` began: as known, or sought anew where that is due."""
        visit = visits[i]
        key = (visit.state, visit.start_s)
        known = self._known.get(key)
        if known and (known.settled or now_s - known.seen_s < LOOK_EVERY_S):
            return known
        t_s = visit.start_s if i == 0 else self._change_s(visits, i, now_s)
        if i:
            t_s = max(t_s, self._known[(visits[i - 1].state, visits[i - 1].start_s)].t_s)
        is_settled = now_s - max(visit.start_s, self._due_by_clock_s(visits, i)) > SETTLE_S
        mark = self._mark(t_s, now_s, is_settled=is_settled)
        self._known[key] = mark
        return mark

    def _mark(self, t_s: float, now_s: float, *, is_settled: bool, is_final: bool = False) -> _Boundary:
        """Return the boundary at ``t_s`` with its temperature and the sums before it."""
        return _Boundary(t_s, temp_at(self._trail, t_s), self._sums.before(t_s), is_settled, now_s, is_final)

    def _due_by_clock_s(self, visits: list[Visit], i: int) -> float:
        """Return when the part before visit ``i`` is due to end by the plan's clock [s]; 0 if that says nothing."""
        was = self._planned(visits[i - 1].state) if i else None
        if was is None or was.rate_c_per_h is None:
            return 0.0
        due_s = self._known[(visits[i - 1].state, visits[i - 1].start_s)].t_s + was.duration_s
        return due_s if is_asked(visits[i].start_s, due_s, was) else 0.0

    def _hold_start_anew(self, visits: list[Visit], marks: list[_Boundary], i: int, now_s: float) -> _Boundary:
        """Return where a hold began, sought once more by its planned time when its end is known and settled."""
        mark, end_s, hold = marks[i], marks[i + 1].t_s, self._planned(visits[i].state)
        if hold is None or hold.part != "hold" or mark.final or not mark.settled:
            return mark
        if now_s - end_s < SETTLE_S or self._trail.times[0] > mark.t_s - WIDEST_S:
            return mark
        before = self._planned(visits[i - 1].state)
        is_climb = before is not None and before.direction > 0
        climb = before.rate_c_per_h if before is not None and is_climb else None
        t_s = start_by_clock(self._trail, mark.t_s, end_s, hold, self._uncertainty.wander_k, climb)
        if is_climb:
            t_s = before_sag_s(self._trail, marks[i - 1].t_s, t_s)
        t_s = min(max(t_s, marks[i - 1].t_s), end_s)
        mark = self._mark(t_s, now_s, is_settled=True, is_final=True)
        self._known[(visits[i].state, visits[i].start_s)] = mark
        return mark

    def _planned(self, state: int) -> PlannedPart | None:
        """Return the planned part of a state; None before and after the plan."""
        return self._parts[state - 1] if 1 <= state <= len(self._parts) else None

    def _change_s(self, visits: list[Visit], i: int, now_s: float) -> float:
        """Return when the part of visit ``i`` began [s], sought around where the follower changed to it."""
        before, visit = visits[i - 1], visits[i]
        began = self._known[(before.state, before.start_s)]
        change_s = boundary_s(self._trail, self._change_points, StateChange(
            is_start=before.state == 0, was=self._planned(before.state), becomes=self._planned(visit.state),
            began_s=began.t_s, began_c=began.temp_c, rough_s=visit.start_s,
            after_s=visits[i + 1].start_s if i + 1 < len(visits) else now_s), self._uncertainty)
        for from_s, shut_s in self._stood:
            if from_s > before.start_s and shut_s < visit.start_s:
                change_s = air_is_back_s(self._trail, change_s, shut_s, visit.start_s)
        return change_s


def _told(parts: tuple[Part, ...], now_s: float) -> tuple[tuple[int, int, int], ...]:
    """Return what of the parts is worth telling again: which, from when to when, and now and then the open one."""
    return tuple(
        (p.index, round(p.start_s / TOLD_TO_S),
         -1 - int(now_s / _RETELL_EVERY_S) if p.end_s is None else round(p.end_s / TOLD_TO_S)) for p in parts)


def end_open_part(parts: tuple[Part, ...], last_s: float) -> tuple[Part, ...]:
    """Return the parts with the open one ended at ``last_s``, as a finished firing shows them."""
    return tuple(p if p.end_s is not None else replace(p, end_s=last_s) for p in parts)
