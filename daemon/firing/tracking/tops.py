"""The tops of a firing as the follower saw them, put right by the readings around them.

As a top begins, the readings often dip: the controller takes power back, or the maker looks in. The follower may take
that for the fall after the top, leave the top at once or pass it over. The fall began where the readings left the
height of the top for good.
"""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.change_points import WIDEST_S
from daemon.firing.tracking.path import Visit
from daemon.firing.tracking.plan_clock import unseen_hold_s

_TOP_BEFORE_S = 600.0
"""The height of the top is that of its highest reading from so long before the follower left it [s].
[tuned: clean firings, seeds 1081000000 to 1081000149]"""
_BACK_K = 25.0
"""The readings stood at the top, or came back to it, no further than this below its highest [K]: a fall in which a
vent was open for a while comes back to less. [tuned: clean firings, seeds 1081000000 to 1081000149]"""
_LEFT_K = 8.0
"""The top was left for good where the readings were last within this of their highest since [K].
[tuned: clean firings, seeds 1081000000 to 1081000149]"""
_LATER_S = 240.0
"""A beginning that is no more than this later is left to the bend of the readings [s].
[derived: a free fall of 120 °C/h goes through 8 K in it]"""


class Tops:
    """Puts right the visits around the tops of one plan, as the readings come; one object a firing."""

    def __init__(self, parts: tuple[PlannedPart, ...], trail: Trail) -> None:
        self._parts = parts
        self._trail = trail
        self._left_s: dict[tuple[int, float], float] = {}
        """When the fall of a visit began [s], by the visit, once nothing can change it any more."""
        self._unseen_s: dict[tuple[int, float], float | None] = {}
        """When the short top before a visit began [s], by the visit; None where there was none."""

    def put_right(self, visits: list[Visit], now_s: float, offset_k: float, near_k: float) -> list[Visit]:
        """Return the visits with falls that begin where they truly left their top, and with the tops passed over.

        Parameters
        ----------
        visits
            The path of the follower, oldest first.
        now_s
            Now [s].
        offset_k
            The usual difference of probe and plan [K].
        near_k
            How closely a target can be told [K].
        """
        whole: list[Visit] = []
        for i, visit in enumerate(visits):
            hold, last = self._planned(visit.state - 1), whole[-1] if whole else None
            if hold is None or last is None or hold.part != "hold" or self._planned(visit.state) is None:
                whole.append(visit)
                continue
            until_s = visits[i + 1].start_s if i + 1 < len(visits) else now_s
            left = self._left(visit, hold, until_s, now_s)
            climb = self._planned(last.state)
            if climb is not None and climb.direction > 0 and last.state == visit.state - 2:
                key = (visit.state, left.start_s)
                if key not in self._unseen_s:
                    self._unseen_s[key] = unseen_hold_s(self._trail, left.start_s, hold, offset_k, near_k)
                began_s = self._unseen_s[key]
                if began_s is not None and began_s > last.start_s:
                    whole.append(Visit(visit.state - 1, began_s, last))
            whole.append(left)
        return whole

    def _planned(self, state: int) -> PlannedPart | None:
        """Return the planned part of a state; None before and after the plan."""
        return self._parts[state - 1] if 1 <= state <= len(self._parts) else None

    def _left(self, visit: Visit, hold: PlannedPart, until_s: float, now_s: float) -> Visit:
        """Return the visit to a free fall from ``hold``, begun where it was left for good; others as they are."""
        fall = self._planned(visit.state)
        if fall is None or fall.rate_c_per_h is not None or fall.direction >= 0:
            return visit
        key = (visit.state, visit.start_s)
        left_s = self._left_s.get(key)
        if left_s is None:
            over_s = visit.start_s + hold.duration_s + WIDEST_S
            left_s = left_for_good_s(self._trail, visit.start_s, min(until_s, over_s))
            if now_s > over_s:
                self._left_s[key] = left_s
        return visit if left_s == visit.start_s else Visit(visit.state, left_s, visit.before)


def left_for_good_s(trail: Trail, rough_s: float, until_s: float) -> float:
    """Return when the readings left their top for good [s], which the follower left at ``rough_s``.

    (Weighed: a vent that is shut again on the way down. The walls then give the air back what they have more, but the
    kiln has fallen meanwhile and does not come back to the top.)

    Parameters
    ----------
    trail
        The recent readings.
    rough_s
        When the follower saw the fall begin [s].
    until_s
        When it saw the next part, or the top is over at the latest [s].
    """
    times, temps = trail.times, trail.temps
    start, here, last = (trail.index_at(t_s) for t_s in (rough_s - _TOP_BEFORE_S, rough_s, until_s))
    if start >= here or here >= last:
        return rough_s
    stood_c = max(temps[here:last])
    if stood_c < max(temps[start:here]) - _BACK_K:
        return rough_s
    left = max(i for i in range(here, last) if temps[i] >= stood_c - _LEFT_K)
    return times[left] if times[left] > rough_s + _LATER_S else rough_s
