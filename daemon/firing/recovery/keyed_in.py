"""The plan of a firing from the lines that were keyed in on its way: what was done of the old one, then the lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from daemon.firing.events import Line
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step, Unit, in_c
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.units import Units

_MOVED_K = 10.0
"""A way of less than this is no step of its own [K]. [chosen: as near as a target is told]"""
_WORTH_S = 60.0
"""A shorter hold is none [s]. [chosen: plans count minutes]"""


@dataclass(frozen=True, slots=True)
class LeftOff:
    """Where the old plan was left; temperatures [°C] as the controller reads them."""

    part: PlannedPart
    held_s: float
    """How much of it was held, where it is a hold [s]."""
    from_c: float
    """Where it was left."""
    lowest_c: float
    """The lowest it has been since."""
    fall_c_per_h: float | None = None
    """How fast it fell there; None where it did not, or that was not seen."""


def keyed_in_plan(plan: Plan, left: LeftOff, lines: Sequence[Line], anneal_c: float | None, unit: Unit,
                  title: str, at_s: float = 0.0) -> Plan:
    """Return the plan of the whole firing: the steps done, what broke off as far as it went, the fall, the lines.

    So it can be followed from the beginning, and what was held before counts as it was. The fall stands with the rate
    it had. What broke off and the fall are marked as made up: nobody planned them, so nothing is asked of them.

    Parameters
    ----------
    plan
        The one that was left.
    left
        Where.
    lines
        What was keyed in [°C, °C/h, s].
    anneal_c
        Where the glass is annealed [°C]; None where the plan has no anneal.
    unit
        The controller's, in which the figures are whole numbers.
    title
        What the new plan is called.
    at_s
        When they were keyed in [s of the firing].
    """
    own = plan.steps[left.part.step - 1]
    made_up = [number for number in (plan.keyed_in.made_up if plan.keyed_in is not None else ())
               if number < left.part.step]
    done = [replace(step, purpose=None) if step.purpose == "anneal" else step
            for step in plan.steps[:left.part.step - 1]]
    held_s = left.held_s if left.part.part == "hold" and left.held_s >= _WORTH_S else 0.0
    to_c = left.part.to_c if left.part.part == "hold" else left.from_c
    before_c = left.part.from_c if left.part.part == "ramp" else to_c
    if held_s or left.part.part == "hold" or abs(to_c - before_c) > _MOVED_K:
        purpose = None if own.purpose == "anneal" else own.purpose
        done.append(Step(own.rate_c_per_h, to_c, held_s, purpose))
        is_as_planned = held_s == own.hold_s if held_s else left.part.part == "hold"
        if not is_as_planned:
            made_up.append(len(done))
    here_c = done[-1].to_c if done else left.from_c
    if left.lowest_c < here_c - _MOVED_K:
        done.append(Step(left.fall_c_per_h, left.lowest_c))
        made_up.append(len(done))
    return Plan(title, unit, (*done, *_steps(lines, anneal_c, unit)),
                KeyedIn(at_s, len(done) + 1, tuple(made_up)))


def _steps(lines: Sequence[Line], anneal_c: float | None, unit: Unit) -> list[Step]:
    """Return the lines as steps, with the figures as they stand on the controller; one is marked as the anneal."""
    held = [line for line in lines if line.hold_s > 0]
    anneal = None
    if anneal_c is not None and held:
        anneal = min(reversed(held), key=lambda line: abs(line.to_c - anneal_c))
    words = Units(unit)
    return [Step(None if line.rate_c_per_h is None else words.keyed_rate_c_per_h(line.rate_c_per_h),
                 in_c(float(words.bare(line.to_c)), unit), line.hold_s, "anneal" if line is anneal else None)
            for line in lines]
