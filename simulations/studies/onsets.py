"""When something truly began: the moment from which a watcher's delay is counted."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from math import inf

from daemon.glass.materials import FAMILIES
from simulations.cases import Expected, ToJudge
from simulations.firing import Simulated
from simulations.plant.mishaps import Happened
from simulations.studies.shows import cut_short_s, lid_shows_s, power_missed_s
from simulations.truth import TruePart

KNOWN_MARGIN_K, UNKNOWN_MARGIN_K = 15.0, 25.0
"""Over-temperature is due this far above the highest target, where the offset can be known and where not [K].
[chosen: what the maker is promised, kept apart from the watch's own figures]"""
_STEADY_S = 600.0
"""A hold shorter than this tells no offset [s]. [chosen: the probe needs minutes to settle]"""
_STRAYED_K = 25.0
_CLIMBED_K = 12.0
_LOWEST_K = 6.0
_CLIMBS_WITHIN_S = 6 * 3600.0
"""A restarted controller's climb counts where the kiln has strayed by the first from where it was and has climbed by
the second from its lowest; within the third of the lowest it still rests there [K]; it counts within so long [s].
[chosen: a restart in the hold of the plan's only climb just holds some minutes longer, and must not count; a hold
after a fall swings by some kelvin]"""
_OVER_S, _OVER_SHARE = 900.0, 0.5
"""A top that lasts longer than planned by so much, and by such a share of it, is told at rank wake [s, 1].
[chosen: as the row top-overrun has it]"""
_SLOW_OVER_S = 900.0
_SLOW_SHARE = 0.5
_SLOW_WITHIN_S = 2 * 3600.0
_FREE_CLIMB_C_PER_H = 300.0
"""A climb is slow where over this long its mean rate is below this share of the plan's; looked for within so long
after the fault; a climb as fast as it goes is taken for so fast [s, share, s, °C/h]. [chosen: half the rate is far
beyond any controller's wait]"""
_FAST_FROM_S, _FAST_TO_S, _FAST_FACTOR = 300.0, 1200.0, 1.5
"""A climb is fast where its mean rate between these moments after the fault is this many times the plan's [s].
[chosen: the kiln needs some minutes to follow]"""
_COOLING_FROM_S, _COOLING_TO_S = 240.0, 720.0
_AS_MEANT_SMALL, _AS_MEANT = 0.12, 0.2
_SMALL_FACTOR = 2.0
_ABOVE_BAND_LOW_K = 15.0
"""A fall is as fast as was meant where its mean rate between these moments after the fault [s] is the planned one
times the fault's factor within a share, the smaller for factors below the third figure; it begins at least so far
above the low end of the annealing band [K]. [chosen: else a row would count kilns that can't cool so fast]"""


class Course:
    """The true course of a firing, as our probe would show it without noise.

    Parameters
    ----------
    case, fired
        What was to happen, and what did.
    """

    def __init__(self, case: ToJudge, fired: Simulated) -> None:
        self.case = case
        self.truth = fired.truth
        rows = [
            (sample.t_s, probe_c)
            for sample, probe_c in zip(fired.samples, fired.truth.probe_c, strict=True) if probe_c is not None
        ]
        self.times = [t_s for t_s, _ in rows]
        self.temps = [temp_c for _, temp_c in rows]

    def at(self, t_s: float) -> float | None:
        """Return what the probe truly shows at ``t_s`` [°C]; None outside the firing."""
        n = bisect_left(self.times, t_s)
        return self.temps[n] if n < len(self.temps) else None

    def rate_c_per_h(self, from_s: float, to_s: float) -> float | None:
        """Return the true mean rate between two moments [°C/h]; None outside the firing."""
        before, after = self.at(from_s), self.at(to_s)
        return None if before is None or after is None else (after - before) / (to_s - from_s) * 3600

    def part_at(self, t_s: float) -> TruePart | None:
        """Return the part the controller ran then."""
        running = [p for p in self.truth.parts if p.start_s <= t_s]
        return running[-1] if running else None

    def happened(self, name: str) -> Happened | None:
        """Return the first fault of that name that came about."""
        return next((h for h in self.truth.faults if h.name == name), None)

    def offset_k(self, before_s: float) -> float | None:
        """Return how much too high the probe truly read in the last long hold over by then [K]; None before."""
        program = (self.case.keyed or self.case.plan).steps
        found = None
        for part in self.truth.parts:
            end_s = part.end_s or before_s
            if part.part == "hold" and end_s < before_s and end_s - part.start_s >= _STEADY_S:
                level_c = self.at((part.start_s + 3 * end_s) / 4)
                found = None if level_c is None else level_c - program[part.step - 1].to_c
        return found

    def too_hot_c(self, before_s: float) -> float:
        """Return what our probe may show at the most [°C], by what the owner or an earlier hold has told of it."""
        known_k = self.offset_k(before_s)
        if known_k is None and self.case.is_offset_known:
            known_k = self.case.offset_k
        margin_k = UNKNOWN_MARGIN_K if known_k is None else KNOWN_MARGIN_K
        return self.case.plan.highest_c + margin_k + (known_k or 0.0)


def is_overrun(over_s: float, hold_s: float) -> bool:
    """Return whether a top of ``hold_s`` that lasts so much longer [s] is told at rank wake."""
    return over_s > max(_OVER_S, _OVER_SHARE * hold_s)


def onset_s(expected: Expected, course: Course) -> float | None:
    """Return the true onset [s]; None where it never came to that, so that nothing is to be said."""
    if expected.fault == "keyed":
        return course.truth.parts[0].start_s if course.truth.parts else None
    happened = course.happened(expected.fault)
    return None if happened is None else _ONSETS[expected.onset](course, happened)


def _fault(course: Course, happened: Happened) -> float | None:
    """Return when the fault began."""
    return happened.at_s


def _end(course: Course, happened: Happened) -> float | None:
    """Return when the fault ended."""
    return happened.until_s


def _climbs_again(course: Course, happened: Happened) -> float | None:
    """Return when the kiln left its lowest after a restart, to climb again; None where it did not.

    A plan of one climb that begins again in its own hold comes back to it, however far it fell meanwhile, and holds
    longer by what it had held before. Nothing must be said where those are few minutes.
    """
    was_c, part = course.at(happened.at_s), course.part_at(happened.at_s)
    if was_c is None:
        return None
    is_own = part is not None and (part.step, part.part) == (1, "hold") and not is_overrun(
        happened.at_s - part.start_s, course.case.plan.steps[0].hold_s)
    fallen_k = inf if is_own else _STRAYED_K
    lowest_s, lowest_c = happened.at_s, was_c
    first = bisect_left(course.times, happened.at_s)
    for t_s, temp_c in zip(course.times[first:], course.temps[first:], strict=True):
        if t_s > happened.at_s + _CLIMBS_WITHIN_S:
            break
        lowest_c = min(lowest_c, temp_c)
        if temp_c < lowest_c + _LOWEST_K:
            lowest_s = t_s
        if temp_c > lowest_c + _CLIMBED_K and (was_c - lowest_c > fallen_k or temp_c > was_c + _STRAYED_K):
            return lowest_s
    return None


def _part_end(course: Course, happened: Happened) -> float | None:
    """Return when the hold that ran at the fault ended; it may have ended in the fault's own second."""
    holds = [part for part in course.truth.parts if part.part == "hold" and part.start_s <= happened.at_s]
    return holds[-1].end_s if holds else None


def _hold_over(course: Course, happened: Happened) -> float | None:
    """Return when the hold that ran at the fault should have been over by the plan."""
    part = course.part_at(happened.at_s)
    return None if part is None else part.start_s + course.case.plan.steps[part.step - 1].hold_s


def _crossing(course: Course, happened: Happened) -> float | None:
    """Return when the probe passed the limit, which is lower where an earlier hold has told its offset."""
    limit_c = course.too_hot_c(happened.at_s)
    return next((
        t_s for t_s, temp_c in zip(course.times, course.temps, strict=True)
        if t_s >= happened.at_s and temp_c > limit_c), None)


def _slow(course: Course, happened: Happened) -> float | None:
    """Return when the climb's mean rate first fell below a share of the planned one; None where it never did."""
    part = course.part_at(happened.at_s)
    if part is None:
        return None
    planned_c_per_h = course.case.plan.steps[part.step - 1].rate_c_per_h or _FREE_CLIMB_C_PER_H
    t_s = happened.at_s
    while t_s < happened.at_s + _SLOW_WITHIN_S and (part.end_s is None or t_s + _SLOW_OVER_S < part.end_s):
        rate_c_per_h = course.rate_c_per_h(t_s, t_s + _SLOW_OVER_S)
        if rate_c_per_h is None or rate_c_per_h < _SLOW_SHARE * planned_c_per_h:
            return None if rate_c_per_h is None else t_s
        t_s += 60.0
    return None


def _fast(course: Course, happened: Happened) -> float | None:
    """Return when the fault began, if the kiln then truly climbs much faster than planned."""
    part = course.part_at(happened.at_s)
    planned = course.case.plan.steps[part.step - 1].rate_c_per_h if part else None
    rate = course.rate_c_per_h(happened.at_s + _FAST_FROM_S, happened.at_s + _FAST_TO_S)
    return happened.at_s if planned and rate and rate > _FAST_FACTOR * planned else None


def _band(course: Course, happened: Happened) -> float | None:
    """Return when the fault began, if the fall is as fast as was meant and lies in the annealing band.

    A kiln that can't fall as fast as the wrong figure asks does not count in its row.
    """
    band_low_c = FAMILIES[course.case.glass].band_low_c
    part = course.part_at(happened.at_s)
    here_c = course.at(happened.at_s)
    rate = course.rate_c_per_h(happened.at_s + _COOLING_FROM_S, happened.at_s + _COOLING_TO_S)
    planned = course.case.plan.steps[part.step - 1].rate_c_per_h if part else None
    if here_c is None or rate is None or planned is None or happened.size is None:
        return None
    within = _AS_MEANT_SMALL if happened.size < _SMALL_FACTOR else _AS_MEANT
    is_as_meant = abs(-rate / planned / happened.size - 1) < within
    return happened.at_s if is_as_meant and here_c > band_low_c + _ABOVE_BAND_LOW_K else None


_ONSETS: dict[str, Callable[[Course, Happened], float | None]] = {
    "fault": _fault, "lid": lid_shows_s, "power": power_missed_s, "cut-short": cut_short_s, "end": _end,
    "climbs-again": _climbs_again, "part-end": _part_end, "hold-over": _hold_over, "crossing": _crossing,
    "slow": _slow, "fast": _fast, "band": _band,
}
"""From which moment of a fault a delay counts, by the name in Expected.onset."""
