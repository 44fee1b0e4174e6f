"""What a beat costs each state of the follower, and what it costs to leave one.

Costs are in nats, as negative log likelihoods are. Most are half the square of an excess over its standard deviation,
up to a cap: no single measure may rule a state out. They are not fitted to data; they were set by trial on the bench,
and the tests hold what comes of them.
"""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.tracking.offset_history import READS_HIGH_K

BEAT_WEIGHT = 0.25
"""The slope windows of neighbouring beats overlap, so a beat counts for a quarter of an independent look.
[tuned: by trial on the bench, study not kept]"""
STEP_ON, START = 3.0, 1.0
"""Cost of going on to the next part, and of starting the plan [nats].
[tuned: by trial on the bench, study not kept]"""
_LEFT_EARLY = 8.0
"""Further cost of leaving a hold, in proportion to what of its time is missing [nats].
[tuned: by trial on the bench, study not kept]"""
_CAP, _SOFT_CAP, _RATE_CAP, _START_CAP, _KEPT_HOT_CAP, _HOLD_CAP = 6.0, 4.0, 2.0, 1.0, 3.0, 8.0
"""Most that one measure costs a beat [nats]: in general; past the end of the plan, or of a fall that began too hot;
of a rate that is not the planned one; of a climb taken up below its start; of a kiln kept hot before the plan; of all
measures of a hold together. [tuned: by trial on the bench, study not kept]"""
_OFFSET_SD_UNKNOWN_K, _OFFSET_SD_KNOWN_K = 8.0, 4.0
"""Standard deviation of a reading at a target about that target, until the usual difference of probe and plan is
known, and from then on [K]. [tuned: by trial on the bench, study not kept]"""
_END_SD_K, _LEAVE_SD_K, _BEGIN_SD_K = 2.0, 3.0, 10.0
"""How far a ramp may go past its target, leave short of it, and begin below its start [K, beside the offset's own].
[tuned: by trial on the bench, study not kept]"""
_STILL_C_PER_H, _STILL_SD_C_PER_H = 5.0, 5.0
"""A slope in the wrong direction that costs nothing yet, and its standard deviation [°C/h, beside the slope's own].
[tuned: by trial on the bench, study not kept]"""

_SETTLED_BEATS = 15
"""After so many beats a hold has its own level. [tuned: by trial on the bench, study not kept]"""
_LEVEL_MEMORY_BEATS = 60
"""The level of a hold is a mean over so many beats. [tuned: by trial on the bench, study not kept]"""
_OFF_TARGET_ONCE = 3.0
"""What it costs a hold in all to stand off its target, however far [nats]: an offset is one fact, not a new one every
beat. [tuned: by trial on the bench, study not kept]"""
_OFF_TARGET_A_BEAT = _OFF_TARGET_ONCE / (BEAT_WEIGHT * _SETTLED_BEATS)
"""The same for each beat until the hold has settled [nats]. [derived: those beats have that much weight together]"""
_FAR_BELOW_K = 25.0
"""A kiln that reads so far below a hold's target stands somewhere else [K]. One that reads too hot may be in the hold
by as much as a probe may read high. (Weighed: 30 K below as well. A kiln that truly was so much too cold in its
anneal was then told only after the hold was over.)
[tuned: by trial on the bench, study not kept]"""
_AWAY_SD_K = 3.0
"""Standard deviation of a settled hold's readings about its level [K]. [tuned: by trial on the bench, study not kept]
"""
_LEAVING_K = 4.0
"""Further than this from its level a hold is being left, and its level learns nothing from the beat [K].
[tuned: clean firings, seeds 5000 to 5249]"""
_SWING_LEAST_K, _SWING_SPREADS = 1.5, 1.5
"""This near its level, in kelvin and in its own spreads, a hold may move: its controller swings.
[tuned: clean firings, seeds 5000 to 5249]"""
_HOLD_SD_C_PER_H = 6.0
"""Standard deviation of a hold's slope [°C/h, beside the slope's own]. [tuned: by trial on the bench, study not kept]
"""

_SLOW_C_PER_H = 25.0
"""A ramp slower than this shows better in the drift than in the slope, which is all noise there [°C/h].
[tuned: clean firings, seeds 7000 to 7399]"""
_FASTER_SHARE, _SLOWER_SHARE, _RATE_SD_SHARE = 1.15, 0.6, 0.15
"""A ramp's slope may be between these shares of the planned rate; beyond, the standard deviation is this share of it
[beside the slope's own]. Kilns lag more often than they lead. [tuned: by trial on the bench, study not kept]"""
_LEAST_FREE_CLIMB_C_PER_H, _LEAST_FREE_FALL_C_PER_H = 60.0, 2.0
"""A kiln that climbs or falls as fast as it can is faster than this [°C/h]. [common practice]"""
_FREE_SD_SHARE = 0.2
"""Standard deviation of a free ramp's least slope, as a share of it.
[tuned: by trial on the bench, study not kept]"""
_SLOWEST_FALL_H = 6.0
"""A closed studio kiln falls freely with a time constant below this [h]. [common practice]"""

WARM_C = 100.0
"""Below this a kiln may stand still by itself for hours: it waits to be started, or has cooled [°C].
[tuned: by trial on the bench, study not kept]"""
_BEFORE_C_PER_H, _BEFORE_K = 10.0, 20.0
"""A kiln that waits to be started drifts by no more than this [°C/h], and stands further than this below its first
target [K]; both are their own standard deviations. [tuned: by trial on the bench, study not kept]"""
_KEPT_HOT_SD_SHARE = 0.3
"""Standard deviation of a waiting kiln's least fall, as a share of it. [tuned: by trial on the bench, study not kept]
"""


class Beat(NamedTuple):
    """What the follower sees of twenty seconds."""

    t_s: float
    temp_c: float
    slope_c_per_h: float
    error_c_per_h: float
    """Standard error of the slope [°C/h]."""
    drift_c_per_h: float
    """Slope over SWING_WINDOW_S [°C/h], in which a swing about a hold cancels out; the slope again at a peak, whose
    two sides would cancel as well."""
    drift_error_c_per_h: float
    """Standard error of the drift [°C/h]."""


class Level(NamedTuple):
    """The level a hold has shown so far."""

    mean_c: float
    beats: int
    spread_k: float = 0.0
    """Root of the mean square about the mean [K]."""


NO_LEVEL = Level(0.0, 0)
"""The level of a state that is no hold. [derived: no beat has been taken into it]"""


class StateCosts:
    """The costs of the states of one plan: 0 before it, 1…n its parts, n + 1 after it.

    Parameters
    ----------
    parts
        The parts of the plan.
    offset_k
        Usual difference of probe and plan [K]; None where unknown.
    """

    def __init__(self, parts: tuple[PlannedPart, ...], offset_k: float | None) -> None:
        self._parts = parts
        self._after = len(parts) + 1
        self._offset_k = offset_k if offset_k is not None else 0.0
        self._offset_sd_k = _OFFSET_SD_UNKNOWN_K if offset_k is None else _OFFSET_SD_KNOWN_K

    def learn_offset(self, offset_k: float) -> None:
        """Take the usual difference that this firing's holds show [K]."""
        self._offset_k = offset_k
        self._offset_sd_k = _OFFSET_SD_KNOWN_K

    def leaving(self, k: int, since_s: float, now: Beat) -> float:
        """Return the cost of going on from state ``k``, entered at ``since_s``."""
        if k == 0:
            return START
        part = self._parts[k - 1]
        if part.part == "hold":
            missing = 1.0 - (now.t_s - since_s) / (part.duration_s if part.duration_s > 1.0 else 1.0)
            if k < len(self._parts) and self._parts[k].part == "hold":
                missing = abs(missing)  # only the clock separates two holds at one temperature
            return STEP_ON + (_LEFT_EARLY * (missing if missing < 1.0 else 1.0) if missing > 0.0 else 0.0)
        short_k = (part.to_c - (now.temp_c - self._offset_k)) * part.direction
        return STEP_ON + _excess(short_k, self._offset_sd_k + _LEAVE_SD_K, _CAP)

    def misfit(self, k: int, level: Level | None, now: Beat, *, came_back: bool = False) -> tuple[float, Level]:
        """Return how badly the beat fits state ``k``, and the level of its hold after the beat.

        Parameters
        ----------
        k
            The state.
        level
            The level of its hold before the beat; None where the state is entered with this beat.
        now
            The beat.
        came_back
            Whether the path has been here before.
        """
        if k == 0:
            return self._before_plan(now), NO_LEVEL
        if k == self._after:
            return self._after_plan(now), NO_LEVEL
        part = self._parts[k - 1]
        if part.direction:
            return self._ramp(part, now), NO_LEVEL
        return self._hold(part, level, now, came_back=came_back)

    def _before_plan(self, now: Beat) -> float:
        """Return how badly the beat fits a kiln that waits to be started."""
        climb = _excess(now.slope_c_per_h - _BEFORE_C_PER_H, now.error_c_per_h + _BEFORE_C_PER_H, _CAP)
        above = _excess(now.temp_c - self._parts[0].to_c + _BEFORE_K, _BEFORE_K, _CAP)
        # A hot kiln that waits to be started falls; one that stays is kept hot by a plan already under way.
        least = (now.temp_c - WARM_C) / _SLOWEST_FALL_H
        kept = _excess(least + now.slope_c_per_h, now.error_c_per_h + _KEPT_HOT_SD_SHARE * max(least, 1.0),
                       _KEPT_HOT_CAP)
        return climb + above + kept

    def _after_plan(self, now: Beat) -> float:
        """Return how badly the beat fits a kiln that has run its plan: below its last target, and not climbing."""
        over_k = now.temp_c - self._offset_k - self._parts[-1].to_c
        climb = _excess(now.slope_c_per_h - _STILL_C_PER_H, now.error_c_per_h + _STILL_SD_C_PER_H, _SOFT_CAP)
        return _excess(over_k, _OFFSET_SD_UNKNOWN_K, _SOFT_CAP) + climb

    def _hold(self, part: PlannedPart, level: Level | None, now: Beat, *, came_back: bool) -> tuple[float, Level]:
        """Return how badly the beat fits a hold: off its target until it has settled, then off its own level."""
        off_k = now.temp_c - self._offset_k - part.to_c
        mean_c, beats, spread_k = level or Level(now.temp_c, 0)
        away_k = abs(now.temp_c - mean_c)
        if not -_FAR_BELOW_K <= off_k <= READS_HIGH_K:
            apart = _distance(off_k, self._offset_sd_k, _CAP)
        elif beats < _SETTLED_BEATS:
            # A hold held before is known to stand elsewhere: its offset is no excuse for coming back to it.
            apart = _distance(off_k, self._offset_sd_k, _CAP if came_back else _OFF_TARGET_A_BEAT)
        else:
            apart = _distance(away_k, _AWAY_SD_K, _CAP)
        # A controller that swings moves, and gets nowhere: near its level the gentler of slope and drift counts.
        pace = abs(now.slope_c_per_h)
        if away_k < _SWING_LEAST_K + _SWING_SPREADS * spread_k:
            pace = min(pace, abs(now.drift_c_per_h))
        moving = 0.0
        if pace > _STILL_C_PER_H:
            moving = _excess(pace - _STILL_C_PER_H, now.error_c_per_h + _HOLD_SD_C_PER_H, _CAP)
        settled = level
        if settled is None or beats < _SETTLED_BEATS or away_k <= _LEAVING_K or (
                off_k < _LEAVING_K and now.temp_c > mean_c and self._falls_next(part)):
            share = 1 / (beats + 1 if beats < _LEVEL_MEMORY_BEATS else _LEVEL_MEMORY_BEATS)
            spread_k = sqrt(spread_k * spread_k + share * (away_k * away_k - spread_k * spread_k))
            settled = Level(mean_c + (now.temp_c - mean_c) * share, beats + 1, spread_k)
        cost = apart + moving
        return (cost if cost < _HOLD_CAP else _HOLD_CAP), settled

    def _falls_next(self, part: PlannedPart) -> bool:
        """Return whether a fall follows a hold.

        A kiln that creeps up to such a hold's target is not leaving it: its level must follow it upwards, or the hold
        looks left while the kiln still climbs. A hold that a climb follows is left upwards (weighed: letting every
        level follow; then the next climb would be taken for the hold's own creep).
        """
        return part.index + 1 < len(self._parts) and self._parts[part.index + 1].direction < 0

    def _ramp(self, part: PlannedPart, now: Beat) -> float:
        """Return how badly the beat fits a ramp: past its target, before its start, backwards, or off its rate."""
        way = part.direction
        slope, planned = now.slope_c_per_h * way, part.rate_c_per_h
        temp_c = now.temp_c - self._offset_k
        beyond_k, short_k = (temp_c - part.to_c) * way, (part.from_c - temp_c) * way
        back_c_per_h = -slope - _STILL_C_PER_H
        beyond = _excess(beyond_k, self._offset_sd_k + _END_SD_K, _CAP) if beyond_k > 0.0 else 0.0
        # A climb taken up again after a power cut begins below its start; a fall begins where it should.
        short = 0.0
        if short_k > 0.0 and part.index:
            short = _excess(short_k, _BEGIN_SD_K, _START_CAP if way > 0 else _SOFT_CAP)
        backwards = 0.0
        if back_c_per_h > 0.0:
            backwards = _excess(back_c_per_h, now.error_c_per_h + _STILL_SD_C_PER_H, _CAP)
        if planned is None:
            least = _LEAST_FREE_CLIMB_C_PER_H if way > 0 else _slowest_free_fall(now.temp_c)
            lazy = _excess(least - slope, now.error_c_per_h + _FREE_SD_SHARE * least, _RATE_CAP)
            return beyond + short + (lazy if lazy > backwards else backwards)
        rate = planned * way
        if way < 0 and part.index == len(self._parts) - 1:
            rate = min(rate, max(_slowest_free_fall(now.temp_c), slope))  # the last fall is as slow as the kiln
        astray = _off_rate(rate, slope, now.error_c_per_h)
        if backwards > astray:
            astray = backwards
        if rate < _SLOW_C_PER_H:
            # A hold is judged by its drift alone; so must a ramp be that is hardly faster than one.
            astray = min(astray, _off_rate(rate, now.drift_c_per_h * way, now.drift_error_c_per_h))
        return beyond + short + astray


def _slowest_free_fall(temp_c: float) -> float:
    """Return how fast the slowest kiln falls freely at ``temp_c`` [°C/h], by Newton's law of cooling."""
    return max(_LEAST_FREE_FALL_C_PER_H, (temp_c - ASSUMED_ROOM_C) / _SLOWEST_FALL_H)


def _off_rate(rate: float, slope: float, error: float) -> float:
    """Return the cost of a slope that is not the planned rate [°C/h], both along the ramp's direction."""
    away = slope - _FASTER_SHARE * rate if slope > rate else _SLOWER_SHARE * rate - slope
    return _excess(away, error + _RATE_SD_SHARE * rate, _RATE_CAP) if away > 0.0 else 0.0


def _excess(excess: float, sd: float, cap: float) -> float:
    """Return half the square of an excess in standard deviations, at most ``cap``; 0 for none."""
    if excess <= 0:
        return 0.0
    z = excess / sd
    cost = 0.5 * z * z
    return cost if cost < cap else cap


def _distance(away: float, sd: float, cap: float) -> float:
    """Return half the square of a distance in standard deviations, at most ``cap``, whichever its sign."""
    z = away / sd
    cost = 0.5 * z * z
    return cost if cost < cap else cap
