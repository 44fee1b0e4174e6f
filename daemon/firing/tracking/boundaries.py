"""When each part began and ended: the follower's changes, sharpened by a knot in the readings.

A boundary stays open to revision for SETTLE_S after it (a hold's beginning, until its end is known as well)
and is then kept for good, with the sums that give the part's mean temperature and rate, so nothing older
than the trail is ever needed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.change_points import WIDEST_S, ChangePointFinder
from daemon.firing.tracking.follower import Visit, way_to
from daemon.firing.tracking.plan_clock import end_by_clock, is_asked, start_by_clock, unseen_hold_s

SETTLE_S = 900.0
SHORTEST_HOLD_S = 90.0
"""A shorter stay at a hold's target is the ramp passing through."""
LONGEST_EXCURSION_S = 3600.0
"""A way that leaves a part and comes back to it within this never left it: a cut or a lid."""
_REVISE_EVERY_S = 60.0
_ELSEWHERE_K = 30.0
_KEPT_UP = 0.12
"""A kiln within this share of a ramp's rate kept up with it, and the ramp took as long as planned."""
TOLD_TO_S = 30.0
"""To how many seconds boundaries are told. [tuned: TODO]"""
_RETELL_EVERY_S = 600.0
"""How often the part under way is told again, whose rate and mean go on changing."""


@dataclass(frozen=True, slots=True)
class _Boundary:
    t_s: float
    temp_c: float | None
    """None where it lies in a hole."""
    sum_c: float
    count: int
    settled: bool
    seen_s: float
    final: bool = False
    """Whether it was looked at again from the hold's end."""


class Uncertainty(NamedTuple):
    """How well the readings of this firing tell a time and a target, as of one beat."""

    wander_c: float
    """Slow wander [K]."""
    offset_c: float
    """The usual difference [K], 0 where unknown."""
    near_c: float
    """How closely a target can be told [K]."""


class Boundaries:
    """Turns the follower's way into parts; one object a firing."""

    def __init__(self, parts: tuple[PlannedPart, ...], trail: Trail) -> None:
        self._parts = parts
        self._trail = trail
        self._change_points = ChangePointFinder(trail)
        self._known: dict[tuple[int, float], _Boundary] = {}
        self._sum_c = 0.0
        self._count = 0
        self._latest: Visit | None = None
        self._due_s = 0.0
        self._open: _Boundary | None = None
        self._unseen: dict[tuple[int, float], float | None] = {}
        self._told: tuple[tuple[int, int, int], ...] = ()
        self.found: tuple[Part, ...] = ()
        self._uncertainty = Uncertainty(0.5, 0.0, 14.0)

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C] into the running sums."""
        self._sum_c += temp_c
        self._count += 1

    def revise(self, latest: Visit, now_s: float, uncertainty: Uncertainty) -> bool:
        """Take the follower's way at ``now_s``; return whether the parts changed enough to be told."""
        self._uncertainty = uncertainty
        if latest is self._latest and now_s < self._due_s and self.found:
            self._go_on(now_s)
            return False
        self._latest, self._due_s = latest, now_s + _REVISE_EVERY_S
        visits = self._with_unseen(_tidy(way_to(latest), len(self._parts), now_s), now_s)
        keys = {(v.state, v.start_s) for v in visits}
        for key in [k for k in self._known if k not in keys]:
            del self._known[key]
        marks = [self._boundary(visits, i, now_s) for i in range(len(visits))]
        for i in range(1, len(visits) - 1):
            marks[i] = self._again(visits, marks, i, now_s)
        found = []
        for i, visit in enumerate(visits):
            if not 1 <= visit.state <= len(self._parts):
                continue
            end = marks[i + 1] if i + 1 < len(visits) else None
            found.append(self._part(visit.state, marks[i], end, now_s))
        self.found = tuple(found)
        self._open = marks[-1] if found and found[-1].end_s is None else None
        before, self._told = self._told, _told(self.found, now_s)
        return before != self._told

    def _go_on(self, now_s: float) -> None:
        """Bring the open part up to ``now_s``; all before it stays."""
        if self._open is not None:
            last = self.found[-1]
            self.found = (*self.found[:-1], self._part(last.index + 1, self._open, None, now_s))

    def _part(self, state: int, start: _Boundary, end: _Boundary | None, now_s: float) -> Part:
        planned = self._parts[state - 1]
        to = end or self._here(now_s)
        length = to.t_s - start.t_s
        count = to.count - start.count
        return Part(
            index=planned.index, step=planned.step, part=planned.part, start_s=start.t_s,
            end_s=None if end is None else max(end.t_s, start.t_s),
            rate_c_per_h=None if to.temp_c is None or start.temp_c is None or length <= 0
            else (to.temp_c - start.temp_c) / length * 3600,
            mean_c=(to.sum_c - start.sum_c) / count if count > 0 else None,
        )

    def _here(self, now_s: float) -> _Boundary:
        return _Boundary(now_s, self._temp_at(now_s), self._sum_c, self._count, False, now_s)

    def _boundary(self, visits: list[Visit], i: int, now_s: float) -> _Boundary:
        visit = visits[i]
        key = (visit.state, visit.start_s)
        known = self._known.get(key)
        if known and (known.settled or now_s - known.seen_s < _REVISE_EVERY_S):
            return known
        t_s = visit.start_s if i == 0 else self._sharpen(visits, i, now_s)
        if i:
            t_s = max(t_s, self._known[(visits[i - 1].state, visits[i - 1].start_s)].t_s)
        since_c, since = self._trail.total(t_s)
        mark = _Boundary(t_s, self._temp_at(t_s), self._sum_c - since_c, self._count - since,
                         now_s - max(visit.start_s, self._due_by_clock_s(visits, i)) > SETTLE_S, now_s)
        self._known[key] = mark
        return mark

    def _due_by_clock_s(self, visits: list[Visit], i: int) -> float:
        """Return when the part before visit ``i`` is due to end by the plan's clock [s]; 0 if that says nothing."""
        was = self._planned(visits[i - 1].state) if i else None
        if was is None or was.rate_c_per_h is None:
            return 0.0
        due_s = self._known[(visits[i - 1].state, visits[i - 1].start_s)].t_s + was.duration_s
        return due_s if is_asked(visits[i].start_s, due_s, was) else 0.0

    def _again(self, visits: list[Visit], marks: list[_Boundary], i: int, now_s: float) -> _Boundary:
        """Return where a hold began, now that its end is known; once, SETTLE_S after its end."""
        mark, end_s, hold = marks[i], marks[i + 1].t_s, self._planned(visits[i].state)
        if hold is None or hold.part != "hold" or mark.final or not mark.settled:
            return mark
        if now_s - end_s < SETTLE_S or self._trail.times[0] > mark.t_s - WIDEST_S:
            return mark
        before = self._planned(visits[i - 1].state)
        climb = before.rate_c_per_h if before is not None and before.direction > 0 else None
        t_s = start_by_clock(self._trail, mark.t_s, end_s, hold, self._uncertainty.wander_c, climb)
        t_s = min(max(t_s, marks[i - 1].t_s), end_s)
        since_c, since = self._trail.total(t_s)
        mark = _Boundary(t_s, self._temp_at(t_s), self._sum_c - since_c, self._count - since, True, now_s, final=True)
        self._known[(visits[i].state, visits[i].start_s)] = mark
        return mark

    def _planned(self, state: int) -> PlannedPart | None:
        return self._parts[state - 1] if 1 <= state <= len(self._parts) else None

    def _with_unseen(self, visits: list[Visit], now_s: float) -> list[Visit]:
        """Return the visits with the short tops that passed between a climb and a fall before a state saw them."""
        whole: list[Visit] = []
        for visit in visits:
            climb = self._planned(whole[-1].state) if whole else None
            hold = self._planned(visit.state - 1)
            if climb and hold and climb.direction > 0 and hold.part == "hold" and whole[-1].state == visit.state - 2:
                key = (visit.state, visit.start_s)
                if key not in self._unseen:
                    self._unseen[key] = unseen_hold_s(
                        self._trail, visit.start_s, hold, self._uncertainty.offset_c, self._uncertainty.near_c)
                began_s = self._unseen[key]
                if began_s is not None and began_s > whole[-1].start_s:
                    whole.append(Visit(visit.state - 1, began_s, whole[-1]))
            whole.append(visit)
        return whole

    def _temp_at(self, t_s: float) -> float | None:
        trail = self._trail
        for reach_s in (45.0, 200.0):
            first, last = trail.index_at(t_s - reach_s), trail.index_at(t_s + reach_s)
            line = trail.line_between(first, last)
            if line is None:
                continue
            times = trail.times[first:last]
            if line.span_s <= trail.longest_step_s or all(b - a <= trail.longest_step_s for a, b in pairwise(times)):
                return line.at(t_s)
        return None

    def _sharpen(self, visits: list[Visit], i: int, now_s: float) -> float:
        """Return the second of the knot nearest to where the follower changed state."""
        rough_s = visits[i].start_s
        before_s = self._known[(visits[i - 1].state, visits[i - 1].start_s)].t_s
        after_s = visits[i + 1].start_s if i + 1 < len(visits) else now_s
        if visits[i - 1].state == 0:
            return max(before_s, self._change_points.start_of_first_climb(rough_s))
        was, becomes = self._planned(visits[i - 1].state), self._planned(visits[i].state)
        hole = self._change_points.gap_near(rough_s)
        bridged = self._change_points.inside_gap(was, becomes, hole, rough_s) if hole else None
        if bridged is not None:
            return min(max(bridged, before_s), after_s)
        crossing = self._change_points.target_crossing(was, becomes, rough_s, self._uncertainty.offset_c)
        if crossing is not None:
            return min(max(self._clocked(visits, i, crossing), before_s), after_s)
        knot_s = self._clocked(visits, i, self._change_points.nearest_bend(before_s, rough_s, after_s))
        if was is not None and was.part == "hold" and becomes is not None and becomes.part == "ramp":
            knot_s = self._change_points.end_of_hold(before_s, rough_s, knot_s, becomes.direction)
        return min(max(knot_s, before_s), after_s)

    def _clocked(self, visits: list[Visit], i: int, knot_s: float) -> float:
        """Return when the part before visit ``i`` ended [s], by the plan's clock where that can be trusted."""
        was, now = self._planned(visits[i - 1].state), self._planned(visits[i].state)
        if was is None or now is None or now.index != was.index + 1:
            return knot_s
        began = self._known[(visits[i - 1].state, visits[i - 1].start_s)]
        if was.part == "ramp":
            at_c = self._temp_at(knot_s)
            if was.direction * now.direction <= 0 or not was.rate_c_per_h or at_c is None or began.temp_c is None:
                return knot_s
            if abs(began.temp_c - self._uncertainty.offset_c - was.from_c) > _ELSEWHERE_K:
                return knot_s  # it did not begin where it was planned to: its clock says nothing
            kept = (at_c - began.temp_c) / max(knot_s - began.t_s, 1.0) * 3600 / was.rate_c_per_h
            if abs(kept - 1.0) > _KEPT_UP:
                return knot_s
        return end_by_clock(self._trail, knot_s, began.t_s, was, self._uncertainty.wander_c)


def _tidy(way: list[Visit], parts: int, now_s: float) -> list[Visit]:
    """Return the way without passing stays at a hold and without excursions that came back."""
    kept: list[Visit] = []
    for i, visit in enumerate(way):
        end_s = way[i + 1].start_s if i + 1 < len(way) else now_s
        earlier = next((j for j in range(len(kept) - 1, -1, -1) if kept[j].state == visit.state), None)
        if earlier is not None and 1 <= visit.state <= parts:
            after = kept[earlier + 1] if earlier + 1 < len(kept) else visit
            jumped = after.state > visit.state + 1 or after is visit
            if jumped and visit.start_s - after.start_s <= LONGEST_EXCURSION_S:
                del kept[earlier + 1:]
                continue
        if i + 1 < len(way) and end_s - visit.start_s < SHORTEST_HOLD_S and 1 <= visit.state <= parts:
            continue
        kept.append(visit)
    return kept


def _told(parts: tuple[Part, ...], now_s: float) -> tuple[tuple[int, int, int], ...]:
    """Return what of the parts is worth telling again: which, from when to when, and now and then the open one."""
    return tuple(
        (p.index, round(p.start_s / TOLD_TO_S),
         -1 - int(now_s / _RETELL_EVERY_S) if p.end_s is None else round(p.end_s / TOLD_TO_S)) for p in parts)


def end_open_part(parts: tuple[Part, ...], last_s: float) -> tuple[Part, ...]:
    """Return the parts with the open one ended at ``last_s``, as a finished firing shows them."""
    return tuple(p if p.end_s is not None else replace(p, end_s=last_s) for p in parts)
