"""When something truly began: the moment from which a watcher's delay is counted."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable

from daemon.glass.materials import FAMILIES
from simulations.cases import Case, Expected
from simulations.firing import Simulated
from simulations.plant.mishaps import Happened
from simulations.truth import TruePart

KNOWN_MARGIN_K, UNKNOWN_MARGIN_K = 15.0, 25.0
"""Over-temperature is due this far above the highest target, where the offset can be known and where not."""
_STEADY_S = 600.0
_GONE_K, _AGAIN_K, _STANDS_K, _AGAIN_WITHIN_S = 25.0, 12.0, 2.0, 6 * 3600.0
"""A controller that begins again has done nothing yet where the kiln is no further than this from where it was, nor
climbed by so much from its lowest, where it may stand for a while; it does so within so long [K, K, K, s]."""


class Course:
    """The true course of a firing, as our probe would show it without noise.

    Parameters
    ----------
    case, fired
        What was to happen, and what did.
    """

    def __init__(self, case: Case, fired: Simulated) -> None:
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
        """Return how the probe truly reads against the targets of holds that were over by then [K]."""
        program = (self.case.keyed or self.case.plan).steps
        found = None
        for part in self.truth.parts:
            end_s = part.end_s or before_s
            if part.part == "hold" and end_s < before_s and end_s - part.start_s >= _STEADY_S:
                level_c = self.at((part.start_s + 3 * end_s) / 4)
                found = None if level_c is None else level_c - program[part.step - 1].to_c
        return found


def onset_s(expected: Expected, course: Course) -> float | None:
    """Return the true onset [s]; None where it never came to that, so that nothing is to be said."""
    if expected.fault == "keyed":
        return course.truth.parts[0].start_s if course.truth.parts else None
    happened = course.happened(expected.fault)
    return None if happened is None else _ONSETS[expected.onset](course, happened)


def _fault(course: Course, happened: Happened) -> float | None:
    return happened.at_s


def _end(course: Course, happened: Happened) -> float | None:
    return happened.until_s


def _again(course: Course, happened: Happened) -> float | None:
    """Return when the kiln began to climb again, having lost much or gained much; None where it did neither.

    A plan of one climb that begins again in its own hold holds a few minutes longer: nothing is to be said.
    """
    was_c = course.at(happened.at_s)
    if was_c is None:
        return None
    lowest_s, lowest_c = happened.at_s, was_c
    first = bisect_left(course.times, happened.at_s)
    for t_s, temp_c in zip(course.times[first:], course.temps[first:], strict=True):
        if t_s > happened.at_s + _AGAIN_WITHIN_S:
            break
        lowest_c = min(lowest_c, temp_c)
        if temp_c < lowest_c + _STANDS_K:
            lowest_s = t_s
        if temp_c > lowest_c + _AGAIN_K and (was_c - lowest_c > _GONE_K or temp_c > was_c + _GONE_K):
            return lowest_s
    return None


def _part_end(course: Course, happened: Happened) -> float | None:
    part = course.part_at(happened.at_s)
    return None if part is None else part.end_s


def _hold_over(course: Course, happened: Happened) -> float | None:
    part = course.part_at(happened.at_s)
    return None if part is None else part.start_s + course.case.plan.steps[part.step - 1].hold_s


def _crossing(course: Course, happened: Happened) -> float | None:
    """Return when the probe passed the limit, which is lower where an earlier hold has told its offset."""
    known_k = course.offset_k(happened.at_s)
    if known_k is None and course.case.is_offset_known:
        known_k = course.case.offset_k
    margin_k = UNKNOWN_MARGIN_K if known_k is None else KNOWN_MARGIN_K
    limit_c = course.case.plan.highest_c + margin_k + (known_k or 0.0)
    return next((
        t_s for t_s, temp_c in zip(course.times, course.temps, strict=True)
        if t_s >= happened.at_s and temp_c > limit_c), None)


def _slow(course: Course, happened: Happened) -> float | None:
    """Return when the climb had fallen below half its planned rate for good, as a look back of ten minutes has it."""
    part = course.part_at(happened.at_s)
    if part is None:
        return None
    asked = course.case.plan.steps[part.step - 1].rate_c_per_h or 300.0
    t_s = happened.at_s
    while t_s < happened.at_s + 2 * 3600 and (part.end_s is None or t_s + 900 < part.end_s):
        rate = course.rate_c_per_h(t_s, t_s + 900)
        if rate is None or rate < 0.5 * asked:
            return None if rate is None else t_s
        t_s += 60.0
    return None


def _fast(course: Course, happened: Happened) -> float | None:
    """Return when it began, if the kiln then truly climbs faster than the plan by much."""
    part = course.part_at(happened.at_s)
    asked = course.case.plan.steps[part.step - 1].rate_c_per_h if part else None
    rate = course.rate_c_per_h(happened.at_s + 300, happened.at_s + 1200)
    return happened.at_s if asked and rate and rate > 1.5 * asked else None


def _band(course: Course, happened: Happened) -> float | None:
    """Return when the fall was too fast within the anneal band, if it is as fast as was meant.

    A kiln that can't fall as fast as the wrong figure asks is no case of this row.
    """
    band_low_c = FAMILIES[course.case.glass].band_low_c
    part = course.part_at(happened.at_s)
    here_c, rate = course.at(happened.at_s), course.rate_c_per_h(happened.at_s + 240, happened.at_s + 720)
    asked = course.case.plan.steps[part.step - 1].rate_c_per_h if part else None
    if here_c is None or rate is None or asked is None or happened.size is None:
        return None
    as_meant = abs(-rate / asked / happened.size - 1) < (0.12 if happened.size < 2 else 0.2)
    return happened.at_s if as_meant and here_c > band_low_c + 15.0 else None


_ONSETS: dict[str, Callable[[Course, Happened], float | None]] = {
    "fault": _fault, "end": _end, "again": _again, "part-end": _part_end, "hold-over": _hold_over,
    "crossing": _crossing, "slow": _slow, "fast": _fast, "band": _band,
}
