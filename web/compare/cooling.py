"""How fast firings cooled after the anneal hold: the rates of their steps, as their own pages say them. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from daemon.firing.plan.schedule import PlannedPart
from web.compare.measures import Measures
from web.firings.plan_and_run import Leg


def with_steps(measured: Measures, course: Sequence[Leg], planned: Sequence[PlannedPart],
               anneal: PlannedPart) -> Measures:
    """Return a firing's figures with the first two falls after its anneal hold taken from its steps.

    One figure, one owner: the rate of a step is that of the part as it was found, which the table, the verdict and
    the exports say too. Of a step that goes as fast as it can no rate is told there, since its mean says nothing;
    that of the stretch in ``measured`` stays.

    Parameters
    ----------
    measured
        The figures by the trace alone.
    course
        The parts as they were run.
    planned, anneal
        The parts of the plan, and its anneal hold.
    """
    falls = [part for part in planned[anneal.index + 1:] if part.direction < 0][:2]
    rates = [measured.first_fall_c_per_h, measured.next_fall_c_per_h]
    for number, part in enumerate(falls):
        if part.rate_c_per_h is not None:
            rates[number] = _rate(course, part.index)
    return replace(measured, first_fall_c_per_h=rates[0], next_fall_c_per_h=rates[1])


def _rate(course: Sequence[Leg], index: int) -> float | None:
    """Return how fast a part of the plan fell, all its stretches together [°C/h]; None where it was not seen."""
    runs = [leg.run for leg in course if leg.planned.index == index and leg.run is not None]
    seen = [(run.rate_c_per_h, run.end_s - run.start_s) for run in runs
            if run.rate_c_per_h is not None and run.end_s is not None and run.end_s > run.start_s]
    length_s = sum(part_s for _, part_s in seen)
    return -sum(rate * part_s for rate, part_s in seen) / length_s if length_s else None
