"""Which part of its plan the kiln is in, from temperature alone.

A hidden Markov model with one state before the plan, one for each of its ramps and holds, and one after it. At every
beat of BEAT_S each state pays for how badly temperature and slope fit it (see state_costs). Going from state to state
costs too: going on is cheap, leaving a hold early or a ramp before its target dearer, skipping and going back
dearest. The cheapest path to each state is kept with its whole history, so a better explanation replaces the past as
well (the Viterbi algorithm). No state knows the time of day or counts on the plan's clock, so a late start, a
controller that waits, or a hold that goes on need no rule of their own.
"""

from __future__ import annotations

from math import exp, inf

from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.tracking.path import Visit
from daemon.firing.tracking.state_costs import BEAT_WEIGHT, START, STEP_ON, Beat, Level, StateCosts

BEAT_S = 20.0
"""How often the follower and the watches look [s]. [chosen: four stored readings, and still quick]"""
SLOPE_WINDOW_S = 12 * BEAT_S
"""The slope of a beat is that of a line over so long [s]. [tuned: by trial on the bench, study not kept]"""
SWING_WINDOW_S = 3 * SLOPE_WINDOW_S
"""The drift of a beat is that of a line over so long [s]: longer than a badly tuned controller takes to swing there
and back, about 8 min. [common practice]"""
SWING_MOST_K = 6.0
"""No controller in order swings by more than this [K, root of the mean square]: a drift with larger residuals is that
of a peak, not of a swing. [tuned: clean firings, seeds 5000 to 5249]"""
_SKIP, _SKIP_EACH = 6.0, 2.0
"""Cost of skipping parts, and of each of them, beside that of going on [nats].
[tuned: by trial on the bench, study not kept]"""
_BACK = 14.0
"""Cost of going back to an earlier part [nats]: a plan begun again. [tuned: by trial on the bench, study not kept]"""
_START_ELSEWHERE = 8.0
"""Cost of a first beat in any but the first two states [nats]: start was pressed in the middle of a firing.
[tuned: by trial on the bench, study not kept]"""
_GAP_BEATS, _EASE_LEAST = 4, 0.2
"""After a gap of more beats than this going on costs less, in proportion, but no less than this share: the more time
nobody saw, the more may have happened in it. [tuned: by trial on the bench, study not kept]"""


class Follower:
    """Carries the cost of every state of one plan, and the cheapest path to it.

    Parameters
    ----------
    parts
        The parts of the plan.
    offset_k
        Usual difference of probe and plan [K]; None where unknown.
    """

    def __init__(self, parts: tuple[PlannedPart, ...], offset_k: float | None = None) -> None:
        self.after = len(parts) + 1
        """The state after the plan."""
        self._costs = StateCosts(parts, offset_k)
        self._total: list[float] = []
        """Cost of the cheapest path to each state, less that of the cheapest of all [nats]."""
        self._visit: list[Visit] = []
        """The last visit of the cheapest path to each state."""
        self._level: list[Level] = []
        """The level of each state that is a hold, along its cheapest path."""
        self._last_s = 0.0
        self._here = 0

    @property
    def started(self) -> bool:
        """Return whether a beat has been taken."""
        return bool(self._total)

    def learn_offset(self, offset_k: float) -> None:
        """Take what the holds of this firing show [K]; temperatures are judged more tightly from here on."""
        self._costs.learn_offset(offset_k)

    def beat(self, now: Beat) -> None:
        """Take the next beat, in time order."""
        if not self._total:
            self._begin(now)
            return
        visits, levels = self._visit, self._level
        gap_beats = (now.t_s - self._last_s) / BEAT_S
        self._last_s = now.t_s
        # Beats of a slow logger do not overlap: each counts for as many as it stands for, up to a whole look.
        weight = BEAT_WEIGHT * min(1.0 / BEAT_WEIGHT, max(1.0, gap_beats))
        misfit = self._costs.misfit
        new_total, new_visits, new_levels = [], [], []
        for k, (entered, source) in enumerate(self._cheapest_ways(now, gap_beats)):
            if source == k:
                visit = visits[k]
                cost, level = misfit(k, levels[k], now, came_back=_has_come_back(visit))
            else:
                visit = Visit(k, now.t_s, visits[source])
                cost, level = misfit(k, None, now, came_back=source > k)
            new_total.append(entered + weight * cost)
            new_visits.append(visit)
            new_levels.append(level)
        lowest = min(new_total)
        self._here = new_total.index(lowest)
        self._total = [cost - lowest for cost in new_total]
        self._visit, self._level = new_visits, new_levels

    def _begin(self, now: Beat) -> None:
        """Take the first beat: any state may be the first, but the first two are likelier."""
        self._last_s = now.t_s
        for k in range(self.after + 1):
            cost, level = self._costs.misfit(k, None, now)
            elsewhere = 0.0 if k <= 1 else _START_ELSEWHERE
            self._total.append(elsewhere + cost)
            self._visit.append(Visit(k, now.t_s, None))
            self._level.append(level)
        self._here = self._total.index(min(self._total))

    def _cheapest_ways(self, now: Beat, gap_beats: float) -> list[tuple[float, int]]:
        """Return (cost, state it comes from) of the cheapest way into each state: stay, go on, skip or go back."""
        total, visits = self._total, self._visit
        ease = 1.0 if gap_beats < _GAP_BEATS else max(_EASE_LEAST, _GAP_BEATS / gap_beats)
        best = self._here
        back = total[best] + _BACK
        ways = []
        skip_cost, skip_from = inf, 0
        for k in range(len(total)):
            came, source = total[k], k
            if k:
                on = total[k - 1] + ease * (STEP_ON if k > 1 else START)
                # The least that going on can cost; what it does cost is asked only where that could matter.
                if on < came or on + _SKIP < skip_cost + _SKIP_EACH:
                    on = total[k - 1] + ease * self._costs.leaving(k - 1, visits[k - 1].start_s, now)
                    if on < came:
                        came, source = on, k - 1
                if skip_cost < came:
                    came, source = skip_cost, skip_from
                skip_cost += _SKIP_EACH
                if on + _SKIP < skip_cost:
                    skip_cost, skip_from = on + _SKIP, k - 1
            if back < came and 0 < k < best:
                came, source = back, best
            ways.append((came, source))
        return ways

    def here(self) -> int:
        """Return the present state on the cheapest path: 0 before the plan, 1…n its parts, n + 1 after it."""
        return self._here

    def confidence(self) -> float:
        """Return the likelihood of the present state as a share of all, 0 to 1."""
        lowest = min(self._total)
        return 1.0 / sum(exp(lowest - cost) for cost in self._total)

    def latest(self) -> Visit:
        """Return the present visit on the cheapest path; its ``before`` leads back along the path."""
        return self._visit[self._here]


def _has_come_back(visit: Visit) -> bool:
    """Return whether a state was entered from a later one."""
    return visit.before is not None and visit.before.state > visit.state
