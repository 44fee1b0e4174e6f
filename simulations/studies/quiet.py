"""Whether a firing with nothing wrong truly was one, and by which mechanism it woke somebody all the same."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from daemon.glass.materials import FAMILIES
from simulations.cases import ToJudge
from simulations.plant.controller import ROOM_C
from simulations.studies.onsets import Course, is_overrun
from simulations.truth import TruePart

DRAGS_TIMES, DRAGS_S = 2.0, 1800.0
"""A climb that takes so many times its planned length, and so much longer [s], is more than its kiln can do.
[chosen: the last 60 K to a top may take a weak kiln twice as long, crept up to]"""
_RATE_OVER_S, _TOO_FAST = 1200.0, 1.4
"""The glass truly falls too fast where its mean rate over so long [s] is so many times the plan's, within one ramp.
[chosen: from there on a maker is promised to be woken]"""
_HELD_SHARE, _HELD_BELOW_K, _HELD_ABOVE_K = 0.6, 15.0, 25.0
"""An anneal in which the glass was for less than this share of the planned time [1] no further below and above the
planned temperature than this [K] was cut short. [common practice: a controller that counts from its own set-point,
while the kiln is still far above, ends the hold before the glass has come to it]"""
_AT_TOP_K = 5.0
"""Glass no further than this below the planned top is at it [K]. [common practice: 5 °C off a target is at it]"""
_NEAR_S = 1800.0
_SILENT_S = 1500.0
_DIP_BEFORE_S, _DIP_S = 900.0, 2700.0
_TOP_S = 900.0
"""A wake belongs to a vent that is no longer over than the first, to the start of a ramp no longer ago than the
second, to an anneal hold from the third before to the fourth after it begins, to the end of the top within the fifth
[s]. [chosen: to sort wakes, not to judge them]"""
VENTS = ("vent", "ajar", "lid", "peek", "prop", "plug", "door")


def is_as_meant(case: ToJudge, course: Course) -> bool:
    """Return whether nothing was truly wrong: the plan was run, neither too hot nor cooled too fast, and annealed.

    A top that truly lasted so long that a maker is promised to be woken is wrong as well.
    """
    parts = course.truth.parts
    return (is_run(case, parts) and not _is_too_hot(course)
            and not any(_is_too_fast(case, course, part) or _is_cut_short(case, course, part)
                        or _is_overrun(case, course, part) for part in parts))


def is_run(case: ToJudge, parts: Sequence[TruePart]) -> bool:
    """Return whether the plan was run to its end, with no climb that took several times what was planned.

    A kiln that creeps up to its target and gets there has run it.
    """
    return all(part.end_s is not None for part in parts) and not any(drags(case, part) for part in parts)


def drags(case: ToJudge, part: TruePart) -> bool:
    """Return whether a climb took so many times its planned length that the plan can't be run in this kiln.

    False as well for a climb that never came to its end.
    """
    steps = case.plan.steps
    step, from_c = steps[part.step - 1], steps[part.step - 2].to_c if part.step > 1 else ROOM_C
    if part.part == "hold" or step.rate_c_per_h is None or step.to_c <= from_c or part.end_s is None:
        return False
    planned_s = (step.to_c - from_c) / step.rate_c_per_h * 3600
    return part.end_s - part.start_s > DRAGS_TIMES * planned_s + DRAGS_S


def _is_too_hot(course: Course) -> bool:
    """Return whether the probe truly passed the limit above the top (see Course.too_hot_c)."""
    if not course.temps:
        return False
    hottest_s = course.times[course.temps.index(max(course.temps))]
    return max(course.temps) > course.too_hot_c(hottest_s)


def _is_too_fast(case: ToJudge, course: Course, part: TruePart) -> bool:
    """Return whether the glass truly fell much faster through the annealing band than the ramp asked."""
    step, low_c = case.plan.steps[part.step - 1], FAMILIES[case.glass].band_low_c
    truth = course.truth
    if part.part == "hold" or step.rate_c_per_h is None or part.end_s is None:
        return False
    t_s = part.start_s
    while t_s + _RATE_OVER_S <= part.end_s:
        first, last = bisect_left(truth.times_s, t_s), bisect_left(truth.times_s, t_s + _RATE_OVER_S)
        if last >= len(truth.times_s):
            break
        fell_c_per_h = (truth.glass_c[first] - truth.glass_c[last]) / _RATE_OVER_S * 3600
        if truth.glass_c[last] > low_c and fell_c_per_h > _TOO_FAST * step.rate_c_per_h:
            return True
        t_s += 60.0
    return False


def _is_overrun(case: ToJudge, course: Course, part: TruePart) -> bool:
    """Return whether the glass was at the top for so long past its time that it is told at rank wake.

    Its own minutes count, less what the planned climb takes through the last kelvins, and no fewer than the
    controller's: one that waits for its set-point begins to count late, while the glass is long as hot as planned.
    (Weighed: the controller's minutes alone. By them a top of ten minutes in which the glass was for 44 is as meant,
    and the wake that tells of it is false.) What cools it once the controller counts, as a look inside does, takes
    nothing away from the minutes before.
    """
    steps, truth = case.plan.steps, course.truth
    step, top = steps[part.step - 1], max(range(len(steps)), key=lambda n: steps[n].to_c) + 1
    if part.part != "hold" or part.step != top or part.end_s is None:
        return False
    passing_s = _AT_TOP_K / step.rate_c_per_h * 3600 if step.rate_c_per_h else 0.0
    rows = zip(truth.times_s, truth.glass_c, strict=True)
    below_s = max((t_s for t_s, glass_c in rows if t_s < part.start_s and glass_c < step.to_c - _AT_TOP_K),
                  default=0.0)
    at_top_s = part.end_s - min(part.start_s, below_s + passing_s)
    return is_overrun(at_top_s - step.hold_s, step.hold_s)


def _is_cut_short(case: ToJudge, course: Course, part: TruePart) -> bool:
    """Return whether ``part`` is a hold after the top of which the glass truly had much less than the plan asked."""
    steps, truth = case.plan.steps, course.truth
    step, top = steps[part.step - 1], max(range(len(steps)), key=lambda n: steps[n].to_c) + 1
    if part.part != "hold" or part.step <= top or part.end_s is None:
        return False
    first, last = bisect_left(truth.times_s, part.start_s), bisect_left(truth.times_s, part.end_s)
    near_s = sum(
        after_s - here_s for here_s, after_s, glass_c in zip(
            truth.times_s[first:last], truth.times_s[first + 1:last + 1], truth.glass_c[first:last], strict=False)
        if -_HELD_BELOW_K <= glass_c - step.to_c <= _HELD_ABOVE_K)
    return near_s < _HELD_SHARE * step.hold_s


def mechanism(case: ToJudge, course: Course, at_s: float) -> str:
    """Return in a few words what truly went on when a firing with nothing wrong told of something at ``at_s`` [s]."""
    truth, steps = course.truth, case.plan.steps
    for happened in truth.faults:
        until_s = happened.at_s if happened.until_s is None else happened.until_s
        if happened.at_s <= at_s <= until_s + _NEAR_S and happened.name in (*VENTS, "restart", "gap"):
            return {"restart": "first start begun again", "gap": "rows missing"}.get(happened.name, "vent or look")
    if at_s < truth.start_s:
        return "the controller had not started yet"
    if case.is_on_off:
        return "on/off saw-teeth"
    part = course.part_at(at_s)
    top = max(range(len(steps)), key=lambda n: steps[n].to_c) + 1
    for near in truth.parts:
        step = steps[near.step - 1]
        if near.step > top and near.part == "hold" and -_DIP_BEFORE_S <= at_s - near.start_s <= _DIP_S and (
            near.end_s is None or at_s <= near.end_s
        ):
            return "dip at the anneal after an unpowered fall" if step.rate_c_per_h is None else "dip at a later hold"
        if near.step > top and near.part == "ramp" and 0 <= at_s - near.start_s <= _SILENT_S:
            return ("top left for a free fall" if near.step == top + 1 and step.rate_c_per_h is None
                    and at_s - near.start_s <= _TOP_S else "element silent at the start of a falling ramp")
    if part is None or part.step > top:
        return "fall after the anneal" if part and part.part == "ramp" else "later in a hold after the fall"
    return "hold at or below the top" if part.part == "hold" else "climb"
