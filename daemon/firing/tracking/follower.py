"""Which part of its plan the kiln is in, from temperature alone.

A left-to-right state model over beats of BEAT_S: one state before the plan, one for each ramp and hold,
one after it. Every beat each state pays for how badly the temperature and the slope fit it, and every
way between states has a price: going on is cheap, leaving a hold early or a ramp before its target
dearer, skipping and going back dearest. The cheapest way to each state carries its own history, so a
better explanation replaces the past as well (Viterbi). No state knows the time of day or counts on the
plan's clock, which is why a late start, a waiting controller or an overlong hold need no case of their
own. Prices are in nats, chosen by trial on the bench; DEVELOPERS.md tells how.
"""

from __future__ import annotations

from math import exp, inf, sqrt
from typing import NamedTuple

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart

BEAT_S = 20.0
SLOPE_WINDOW_S = 240.0
SWING_WINDOW_S, SWING_MOST_K = 720.0, 6.0
"""Longer than a badly tuned controller takes to swing there and back; common practice, about 8 min.
No controller in order swings by more than the second [K, root of the mean square]."""

_WEIGHT = 0.25
"""Beats overlap in what they see, so each counts for a quarter of an independent one; a slow logger's don't."""
_START, _STEP_ON = 1.0, 3.0
_HOLD_LEFT_EARLY = 8.0
_SKIP = 6.0
_SKIP_EACH = 2.0
_BACK = 14.0
_START_ELSEWHERE = 8.0
_SETTLED_BEATS = 15
_OFF_ONCE = 3.0
"""What it costs a hold in all to stand off its target, however far it is."""
_FAR_OFF_C = 25.0
"""No offset is that large: the kiln stands somewhere else than in this hold."""
_LEAVING_K = 4.0
"""Further than this from its level a hold is being left and learns nothing of it."""
_SWING_LEAST_K, _SWING_SPREADS = 1.5, 1.5
"""So near its level a hold may move: it swings about it [K, and in its own spreads]."""
_SLOW_C_PER_H = 25.0
"""A ramp slower than this shows better in the drift than in the slope, which is all noise there."""
_LEAST_FREE_CLIMB = 60.0
_WARM_C = 100.0
"""Below this a kiln may stand still by itself for hours."""
_SLOWEST_FALL_H = 6.0
"""A closed studio kiln falls freely with a time constant below this [h]; common practice."""
_UNKNOWN_OFFSET_SD_C = 8.0
_KNOWN_OFFSET_SD_C = 4.0


class Visit(NamedTuple):
    """One state on the cheapest way, with what came before it."""

    state: int
    start_s: float
    before: Visit | None


class _Level(NamedTuple):
    """What a hold has shown of itself."""

    mean_c: float
    beats: int
    spread_c: float = 0.0
    """Root of the mean square about the mean [K]."""


_NO_LEVEL = _Level(0.0, 0)


class Beat(NamedTuple):
    """What the follower sees of twenty seconds."""

    t_s: float
    temp_c: float
    slope_c_per_h: float
    error_c_per_h: float
    """Standard error of the slope [°C/h]."""
    drift_c_per_h: float
    """Slope over SWING_WINDOW_S [°C/h], in which a swing about a hold cancels out; no peak's, which would too."""
    drift_error_c_per_h: float
    """Its standard error [°C/h]."""


class Follower:
    """Carries the cost of every state; ``states`` are 0 before, 1…n the parts, n+1 after."""

    def __init__(self, parts: tuple[PlannedPart, ...], offset_c: float | None = None) -> None:
        self.parts = parts
        self.after = len(parts) + 1
        self.offset_c = offset_c if offset_c is not None else 0.0
        self.offset_sd_c = _UNKNOWN_OFFSET_SD_C if offset_c is None else _KNOWN_OFFSET_SD_C
        self._cost: list[float] = []
        self._way: list[Visit] = []
        self._level: list[_Level] = []
        self._last_s = 0.0
        self._here = 0

    @property
    def started(self) -> bool:
        """Return whether a beat has been taken."""
        return bool(self._cost)

    def learn_offset(self, offset_c: float) -> None:
        """Take what the holds of this firing show [K]; positions are judged more tightly from here on."""
        self.offset_c = offset_c
        self.offset_sd_c = _KNOWN_OFFSET_SD_C

    def beat(self, now: Beat) -> None:
        """Take the next beat, in time order."""
        if not self._cost:
            self._begin(now)
            return
        cost, way, level = self._cost, self._way, self._level
        gap_beats = (now.t_s - self._last_s) / BEAT_S
        ease = 1.0 if gap_beats < 4 else max(0.2, 4 / gap_beats)
        weight = _WEIGHT * min(1.0 / _WEIGHT, max(1.0, gap_beats))
        self._last_s = now.t_s
        best = self._here
        back = cost[best] + _BACK
        new_cost, new_way, new_level = [], [], []
        skip_cost, skip_from = inf, 0
        for k in range(len(cost)):
            came, source = cost[k], k
            if k:
                on = cost[k - 1] + ease * (_STEP_ON if k > 1 else _START)
                if on < came or on + _SKIP < skip_cost + _SKIP_EACH:  # else no way leads from there, at any price
                    on = cost[k - 1] + ease * self._leave(k - 1, way[k - 1], now)
                    if on < came:
                        came, source = on, k - 1
                if skip_cost < came:
                    came, source = skip_cost, skip_from
                skip_cost += _SKIP_EACH
                if on + _SKIP < skip_cost:
                    skip_cost, skip_from = on + _SKIP, k - 1
            if back < came and 0 < k < best:
                came, source = back, best
            came_back = source > k or (source == k and _came_back(way[k]))
            price, settled = self._misfit(k, level[source] if source == k else None, now, again=came_back)
            new_cost.append(came + weight * price)
            new_way.append(way[k] if source == k else Visit(k, now.t_s, way[source]))
            new_level.append(settled)
        lowest = min(new_cost)
        self._here = new_cost.index(lowest)
        self._cost = [c - lowest for c in new_cost]
        self._way, self._level = new_way, new_level

    def _begin(self, now: Beat) -> None:
        self._last_s = now.t_s
        for k in range(self.after + 1):
            price, level = self._misfit(k, None, now)
            elsewhere = 0.0 if k <= 1 else _START_ELSEWHERE
            self._cost.append(elsewhere + price)
            self._way.append(Visit(k, now.t_s, None))
            self._level.append(level)
        self._here = self._cost.index(min(self._cost))

    # --- prices ----------------------------------------------------------------------------------

    def _leave(self, k: int, visit: Visit, now: Beat) -> float:
        """Return the price of going on from state ``k``."""
        if k == 0:
            return _START
        part = self.parts[k - 1]
        if part.part == "hold":
            missing = 1.0 - (now.t_s - visit.start_s) / (part.duration_s if part.duration_s > 1.0 else 1.0)
            if k < len(self.parts) and self.parts[k].part == "hold":
                missing = abs(missing)  # nothing but the clock parts two holds at one temperature
            return _STEP_ON + (_HOLD_LEFT_EARLY * (missing if missing < 1.0 else 1.0) if missing > 0.0 else 0.0)
        short = (part.to_c - (now.temp_c - self.offset_c)) * part.direction
        return _STEP_ON + _quadratic(short, self.offset_sd_c + 3.0, 6.0)

    def _misfit(self, k: int, level: _Level | None, now: Beat, *, again: bool = False) -> tuple[float, _Level]:
        """Return how badly the beat fits state ``k``, come back to or not, and the state's own level."""
        if k == 0:
            return self._misfit_before(now), _NO_LEVEL
        if k == self.after:
            last = self.parts[-1]
            over = now.temp_c - self.offset_c - last.to_c
            climb = _quadratic(now.slope_c_per_h - 5.0, now.error_c_per_h + 5.0, 4.0)
            return _quadratic(over, 8.0, 4.0) + climb, _NO_LEVEL
        part = self.parts[k - 1]
        if part.part == "hold":
            return self._misfit_hold(part, level, now, again=again)
        return self._misfit_ramp(part, now), _NO_LEVEL

    def _misfit_before(self, now: Beat) -> float:
        climb = _quadratic(now.slope_c_per_h - 10.0, now.error_c_per_h + 10.0, 6.0)
        above = _quadratic(now.temp_c - self.parts[0].to_c + 20.0, 20.0, 6.0)
        # A hot kiln that waits to be started falls; one that stays is kept hot by a plan already under way.
        least = (now.temp_c - _WARM_C) / _SLOWEST_FALL_H
        kept = _quadratic(least + now.slope_c_per_h, now.error_c_per_h + 0.3 * max(least, 1.0), 3.0)
        return climb + above + kept

    def _misfit_hold(self, part: PlannedPart, level: _Level | None, now: Beat, *,
                     again: bool) -> tuple[float, _Level]:
        off = now.temp_c - self.offset_c - part.to_c
        mean, beats, spread = level or _Level(now.temp_c, 0)
        away = abs(now.temp_c - mean)
        # An offset is one fact, not a new one every beat: it is paid for while the hold settles.
        if abs(off) > _FAR_OFF_C:
            apart = _quadratic_two(off, self.offset_sd_c, 6.0)
        elif beats < _SETTLED_BEATS:
            # One that was held already is known to stand elsewhere.
            apart = _quadratic_two(off, self.offset_sd_c, 6.0 if again else _OFF_ONCE / (_WEIGHT * _SETTLED_BEATS))
        else:
            apart = _quadratic_two(away, 3.0, 6.0)
        # A controller that swings moves, and gets nowhere: near its level a hold's gentler slope counts.
        pace = abs(now.slope_c_per_h)
        if away < _SWING_LEAST_K + _SWING_SPREADS * spread:
            pace = min(pace, abs(now.drift_c_per_h))
        moving = _quadratic(pace - 5.0, now.error_c_per_h + 6.0, 6.0)
        settled = level
        if settled is None or beats < _SETTLED_BEATS or away <= _LEAVING_K:
            share = 1 / min(beats + 1, 60)
            spread = sqrt(spread * spread + share * (away * away - spread * spread))
            settled = _Level(mean + (now.temp_c - mean) * share, beats + 1, spread)
        return min(8.0, apart + moving), settled

    def _misfit_ramp(self, part: PlannedPart, now: Beat) -> float:
        way = part.direction
        slope = now.slope_c_per_h * way
        temp = now.temp_c - self.offset_c
        beyond = _quadratic((temp - part.to_c) * way, self.offset_sd_c + 2.0, 6.0)
        # A climb taken up again after a cut begins below its start; a fall begins where it should.
        short = 0.0 if part.index == 0 else _quadratic((part.from_c - temp) * way, 10.0, 1.0 if way > 0 else 4.0)
        backwards = _quadratic(-slope - 5.0, now.error_c_per_h + 5.0, 6.0)
        if part.rate_c_per_h is None:
            least = _LEAST_FREE_CLIMB if way > 0 else max(2.0, (now.temp_c - ASSUMED_ROOM_C) / _SLOWEST_FALL_H)
            lazy = _quadratic(least - slope, now.error_c_per_h + 0.2 * least, 2.0)
            return beyond + short + (lazy if lazy > backwards else backwards)
        rate = part.rate_c_per_h * way
        if way < 0 and part.index == len(self.parts) - 1:
            rate = min(rate, max(2.0, (now.temp_c - ASSUMED_ROOM_C) / _SLOWEST_FALL_H, slope))
        astray = _off_pace(rate, slope, now.error_c_per_h)
        if backwards > astray:
            astray = backwards
        if rate < _SLOW_C_PER_H:
            # A hold answers for its drift alone; a ramp hardly faster than one must be heard alike.
            astray = min(astray, _off_pace(rate, now.drift_c_per_h * way, now.drift_error_c_per_h))
        return beyond + short + astray

    # --- what it says ----------------------------------------------------------------------------

    def here(self) -> int:
        """Return the cheapest state."""
        return self._here

    def confidence(self) -> float:
        """Return the share of the cheapest state among all, 0 to 1."""
        lowest = min(self._cost)
        return 1.0 / sum(exp(lowest - cost) for cost in self._cost)

    def latest(self) -> Visit:
        """Return the present state on the cheapest way; ``before`` leads back through the way."""
        return self._way[self.here()]


def _off_pace(rate: float, slope: float, error: float) -> float:
    """Return the price of a slope beside the planned rate [°C/h], both along the ramp's way."""
    away = slope - 1.15 * rate if slope > rate else 0.6 * rate - slope
    return _quadratic(away, error + 0.15 * rate, 2.0)


def _came_back(visit: Visit) -> bool:
    return visit.before is not None and visit.before.state > visit.state


def way_to(visit: Visit | None) -> list[Visit]:
    """Return the way that led to ``visit``, oldest first."""
    found = []
    while visit is not None:
        found.append(visit)
        visit = visit.before
    return found[::-1]


def _quadratic(excess: float, sd: float, cap: float) -> float:
    """Return half the squared excess in standard deviations, none below zero, capped."""
    if excess <= 0:
        return 0.0
    z = excess / sd
    price = 0.5 * z * z
    return price if price < cap else cap


def _quadratic_two(away: float, sd: float, cap: float) -> float:
    z = away / sd
    price = 0.5 * z * z
    return price if price < cap else cap
