"""How long a hold was held, measured in the readings alone: where the follower came late it still answers."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.plan.schedule import PlannedPart, part_after, passing_s, way_to
from daemon.firing.trace.recent import Trail

STOOD_C = 6.0
"""A kiln that stayed within this of one temperature held it [K]. [tuned: by trial on the bench, study not kept]"""
CREST_K = 12.0
"""A top counts as held while the reading is within this of its maximum [K], even if it was approached slowly,
interrupted by an open lid, or sags. [tuned: the clean firings of study 9666 that woke]"""
_AT_END_S = 60.0
"""The level a kiln stood at is the mean of its last so many seconds.
[tuned: by trial on the bench, study not kept]"""
_OWN_LEVEL_TIMES = 2.0
"""That level may lie so many times further from the target than the target can be told.
[tuned: by trial on the bench, study not kept]"""
_LEFT_TIMES = 1.5
"""A level is left where the readings are so many times further from it than counts as near: a hysteresis, so that
noise at the edge ends no stay. [tuned: by trial on the bench, study not kept]"""
_SHINES_S, _SHUT_K = 180.0, 25.0
"""For so long after the reading has risen by so much [s, K] within that time, a lid was just shut: elements at full
power shine on the probe. [chosen: longer than that shine on the bench; no kiln climbs at 500 °C/h to its top]"""
_NOW_S, _WINDOW_S, _AT_LEVEL_K = 600.0, 60.0, 1.0
"""The level a kiln stands at is the mean of the last so many seconds; it has come there once the mean over the second
is no more than this below it [s, s, K]. [chosen: longer than a controller's swing; short beside a sag]"""
_WINDOW_STEPS = 4.0
"""That window is no shorter than so many steps of a slow logger. [derived: a line needs three readings]"""
WAITS_S = 900.0
"""A controller waits so long for its target, before it counts a hold [s]. [common practice: a quarter of an hour]"""
_MISSING_S, _MISSING_SHARE = 120.0, 0.25
"""Of a hold that was kept to its end no more may seem to be missing than the larger of so long [s] and of this share
of it. [tuned: by trial on the bench, study not kept]"""
_TOP_REACH_TIMES, _TOP_REACH_S = 3.0, 1800.0
"""The maximum of a top is sought back over so many times its planned length, and so many seconds more.
[tuned: by trial on the bench, study not kept]"""


@dataclass(frozen=True, slots=True)
class HoldMeasure:
    """Measures the holds of a plan in the recent readings.

    Attributes
    ----------
    trail
        The recent readings.
    parts
        The parts of the plan.
    offset_k
        Usual difference of probe and plan [K], 0 where unknown.
    near_k
        How closely a target can be told from the readings [K].
    """

    trail: Trail
    parts: tuple[PlannedPart, ...]
    offset_k: float
    near_k: float

    def dwell_s(self, hold: PlannedPart, until_s: float) -> float:
        """Return how long the readings stood near a hold's target before ``until_s`` [s].

        Near its target, or near the level they stood at in the end, whichever is longer: how the probe differs from
        the plan may not be known yet. What the planned climb or fall to the hold takes while already near is
        subtracted.
        """
        at_end = self.trail.line(until_s - _AT_END_S, until_s + 1.0)
        levels = [(hold.to_c + self.offset_k, self.near_k)]
        if at_end is not None and abs(at_end.mean_c - levels[0][0]) < _OWN_LEVEL_TIMES * self.near_k:
            levels.append((at_end.mean_c, STOOD_C))
        stood_s = max(self._near_level_s(level_c, near_k, hold, until_s) for level_c, near_k in levels)
        after = part_after(self.parts, hold.index)
        if way_to(self.parts, hold) > 0 and after and after.direction < 0:
            crest_s = near_maximum_s(self.trail, until_s, hold.duration_s, CREST_K)
            return max(stood_s, crest_s - passing_s(self.parts, hold, CREST_K))
        return stood_s

    def _near_level_s(self, level_c: float, near_k: float, hold: PlannedPart, until_s: float) -> float:
        """Return how long the readings stood within ``near_k`` of one level until ``until_s`` [s]."""
        trail = self.trail
        entered_s = until_s
        for i in range(trail.index_at(until_s) - 1, -1, -1):
            away = abs(trail.temps[i] - level_c)
            if away > _LEFT_TIMES * near_k and trail.times[i] < until_s - _AT_END_S:
                break
            if away <= near_k:
                entered_s = trail.times[i]
        return max(0.0, until_s - entered_s - passing_s(self.parts, hold, near_k))


def at_level_s(trail: Trail, began_s: float, now_s: float) -> float:
    """Return by when a hold that seems to have begun at ``began_s`` [s], after a climb, has come to its level [s].

    The last kelvins of a climb take minutes, and the readings bend before a controller that waits for its target
    begins to count. No more than WAITS_S later, unless the readings were still more than CREST_K below their level
    then: the hold was dated before its climb had ended. (Weighed: a level that rises all the time, as walls and glass
    warm through. For that the wait has its limit; warming through gives less than CREST_K.)
    """
    level = trail.line(max(began_s, now_s - _NOW_S))
    if level is None:
        return began_s
    at_s, half_s = began_s, max(_WINDOW_S, _WINDOW_STEPS * trail.step_s) / 2
    while at_s < now_s:
        line = trail.line(at_s - half_s, at_s + half_s)
        below_k = _AT_LEVEL_K if at_s < began_s + WAITS_S else CREST_K
        if line is None or line.mean_c >= level.mean_c - below_k:
            return at_s
        at_s += _WINDOW_S / 2
    return now_s


def missing_at_most_s(hold: PlannedPart) -> float:
    """Return how much of a hold may seem to be missing though its controller kept it to its end [s].

    It is counted from when the probe shows it, which may be later than the controller counts. This asks only whether
    the program may have gone on as planned. Whether anything is lost where it has not is another question, which
    daemon.firing.situation.top_done answers for a top.
    """
    return max(_MISSING_S, _MISSING_SHARE * hold.duration_s)


def near_maximum_s(trail: Trail, until_s: float, planned_s: float, near_k: float) -> float:
    """Return how long a top that ended about ``until_s`` was within ``near_k`` of its maximum [s].

    What came between counts too: a lid opened for a look, or a kiln that crawls to its top, leaves no level to
    measure. The first and the last time near the maximum remain; the last one may be after ``until_s``, where a look
    was taken for the end.
    """
    entered = _entered(trail, until_s, planned_s, near_k)
    if entered is None:
        return 0.0
    entered_s, level_c = entered
    left_s = last_at_or_above(trail, level_c, entered_s)
    return (until_s if left_s is None else left_s) - entered_s


def entered_maximum_s(trail: Trail, until_s: float, planned_s: float, near_k: float) -> float | None:
    """Return when a top that ended about ``until_s`` first came within ``near_k`` of its maximum [s].

    None where nothing was read then.
    """
    entered = _entered(trail, until_s, planned_s, near_k)
    return None if entered is None else entered[0]


def _entered(trail: Trail, until_s: float, planned_s: float, near_k: float) -> tuple[float, float] | None:
    """Return (second, °C) of the first reading near the maximum of a top that ended about ``until_s`` [s]."""
    first = trail.index_at(until_s - _TOP_REACH_TIMES * planned_s - _TOP_REACH_S)
    last = trail.index_at(until_s)
    if last <= first:
        return None
    level_c = _maximum_c(trail, first, last) - near_k
    return next(trail.times[i] for i in range(first, last) if trail.temps[i] >= level_c), level_c


def _maximum_c(trail: Trail, first: int, last: int) -> float:
    """Return the highest of some readings [°C], but for what is read right after a lid was shut.

    A probe that sees the elements may then read 30 K more than the kiln ever has. That a lid was open is known by the
    fall: before the lowest of these readings there was a higher one. (Weighed: a climb that is as fast. Before it the
    readings did not fall.)
    """
    highest = max(range(first, last), key=trail.temps.__getitem__)
    highest_c = trail.temps[highest]
    if not was_just_shut(trail, highest):
        return highest_c
    lowest = min(range(trail.index_at(trail.times[highest] - _SHINES_S), highest), key=trail.temps.__getitem__)
    was_opened = max(trail.temps[first:lowest + 1], default=highest_c) > trail.temps[lowest] + _SHUT_K
    else_c = max((trail.temps[i] for i in range(first, last) if not was_just_shut(trail, i)), default=highest_c)
    return else_c if was_opened else highest_c


def was_just_shut(trail: Trail, i: int) -> bool:
    """Return whether the readings rose to this one as they only do when a lid or vent is shut."""
    before = trail.index_at(trail.times[i] - _SHINES_S)
    return min(trail.temps[before:i + 1]) < trail.temps[i] - _SHUT_K


def last_at_or_above(trail: Trail, level_c: float, not_before_s: float = 0.0) -> float | None:
    """Return when the readings last stood at ``level_c`` or higher [s]; None since ``not_before_s``."""
    for i in range(len(trail.times) - 1, trail.index_at(not_before_s) - 1, -1):
        if trail.temps[i] >= level_c:
            return trail.times[i]
    return None
