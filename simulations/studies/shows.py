"""Whether what went wrong shows in what a probe truly has, and when: what does not show can't be told."""

from __future__ import annotations

from bisect import bisect_left
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING

from daemon.firing.plan.plan import Step
from simulations.plant.mishaps import Happened
from simulations.truth import TruePart

if TYPE_CHECKING:
    from simulations.studies.onsets import Course

_FELL_K = 20.0
_LID_FROM_S, _LID_TO_S = 120.0, 300.0
"""An open lid shows where the probe is this far below its course on average between these moments after it was opened
[K, s]. [chosen: a strong kiln holds against a narrow gap; longer than a look inside]"""
_VENT_S = 720.0
"""A lid over a top that is shut within so long can't be told from a vent opened to cool fast [s].
[common practice: a vent is shut within ten minutes; two of margin]"""
_NEAR_TOP_K, _LEAVES_WITHIN_S = 10.0, 600.0
"""A top that a kiln creeps up to is given within so far of its highest [K], which it leaves within so long after the
hold [s]. [common practice: a fuse is much the same 10 °C lower]"""
_PASSES_K = 10.0
"""A fall has passed the anneal where it is so far below it [K]. [chosen: further than most probes are off]"""


def lid_shows_s(course: Course, happened: Happened) -> float | None:
    """Return when an open lid was first seen in the probe [s]; None where it does not show, or may be a vent.

    It does not show where the elements hold against it: brick and glass are then as hot as the plan asks. Where a
    free fall follows the hold that ran, a lid that is shut within _VENT_S may have been a vent. Before the controller
    runs any part the kiln is taken to stay as hot as it was.
    """
    part = course.part_at(happened.at_s)
    first = max(0, bisect_left(course.times, happened.at_s) - 1)
    if first >= len(course.times):
        return None
    steps = course.case.plan.steps
    is_soon_shut = happened.until_s is not None and happened.until_s - happened.at_s <= _VENT_S
    if part is not None and is_soon_shut and _leads_to_free_fall(steps, part):
        return None
    was_s, was_c, slope = course.times[first], course.temps[first], 0.0
    if part is not None and part.part == "ramp":
        step = steps[part.step - 1]
        slope = -abs(step.rate_c_per_h) / 3600 if step.rate_c_per_h is not None and step.to_c < was_c else 0.0
    below_k = [(t_s, was_c + slope * (t_s - was_s) - temp_c)
               for t_s, temp_c in zip(course.times[first:], course.temps[first:], strict=True)
               if t_s <= happened.at_s + _LID_TO_S]
    settled_k = [k for t_s, k in below_k if t_s >= happened.at_s + _LID_FROM_S]
    if not settled_k or sum(settled_k) / len(settled_k) < _FELL_K:
        return None
    return next((t_s for t_s, k in below_k if k > _FELL_K), None)


def top_was_given(course: Course, part: TruePart, until_s: float) -> bool:
    """Return whether a top before a free fall was near its highest for its planned time until ``until_s`` [s].

    A weak kiln creeps up to it. Nothing is lost then, and nothing tells how long its controller counted. Time in
    which it dipped away from its highest does not count.
    """
    steps = course.case.plan.steps
    if part.part != "hold" or not _leads_to_free_fall(steps, part):
        return False
    rows = [(t_s, temp_c) for t_s, temp_c in zip(course.times, course.temps, strict=True)
            if t_s <= until_s + _LEAVES_WITHIN_S]
    near_c = max((temp_c for _, temp_c in rows), default=0.0) - _NEAR_TOP_K
    near_s = sum(after[0] - before[0] for before, after in pairwise(rows) if min(before[1], after[1]) >= near_c)
    return near_s >= steps[part.step - 1].hold_s


def cut_short_s(course: Course, happened: Happened) -> float | None:
    """Return when the hold that was cut short ended [s]; None where it was a top that was given all the same."""
    part = course.part_at(happened.at_s)
    if part is None or part.end_s is None or top_was_given(course, part, part.end_s):
        return None
    return part.end_s


def power_missed_s(course: Course, happened: Happened) -> float | None:
    """Return when a power cut begins to matter [s]: at once, or, after a top that was given, below the anneal.

    Until then the kiln falls freely, as the plan does. None where the power is back before that.
    """
    part = course.part_at(happened.at_s)
    if part is None or not top_was_given(course, part, happened.at_s):
        return happened.at_s
    anneal_c, back_s = course.case.plan.steps[part.step].to_c, inf if happened.until_s is None else happened.until_s
    return next((t_s for t_s, temp_c in zip(course.times, course.temps, strict=True)
                 if happened.at_s < t_s < back_s and temp_c < anneal_c - _PASSES_K), None)


def _leads_to_free_fall(steps: tuple[Step, ...], part: TruePart) -> bool:
    """Return whether a free fall comes after ``part``, a hold."""
    return part.part == "hold" and part.step < len(steps) and steps[part.step].rate_c_per_h is None and (
        steps[part.step].to_c < steps[part.step - 1].to_c)
