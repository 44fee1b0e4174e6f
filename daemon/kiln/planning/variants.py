"""Plans that are one change away from a plan: hotter at the top, longer there, or with the anneal of a thickness."""

from __future__ import annotations

from dataclasses import replace

from daemon.errors import BadInput
from daemon.firing.advice.anneal_text import as_plan
from daemon.firing.plan.plan import MAX_HOLD_MIN, MAX_TARGET_C, Plan, to_unit
from daemon.firing.plan.schedule import anneal_hold, planned_parts, top_hold
from daemon.glass.advice import Anneal
from daemon.glass.materials import Glass


def top_step(plan: Plan, glass: Glass) -> int:
    """Return the place among the steps of the one at the top.

    Raises
    ------
    BadInput
        Where the plan has no top above its anneal hold.
    """
    parts = planned_parts(plan)
    hold, anneal = top_hold(parts), anneal_hold(parts, glass)
    at = hold.step - 1 if hold is not None else max(range(len(plan.steps)), key=lambda n: (plan.steps[n].to_c, n))
    if anneal is not None and plan.steps[at].to_c <= plan.steps[anneal.step - 1].to_c:
        raise BadInput(plan.title, "this plan has no top above its anneal hold, so there is nothing to make hotter "
                       "or longer.", "Leave these two changes out.")
    return at


def hotter(plan: Plan, by_k: float, glass: Glass, unit: str) -> Plan:
    """Return the plan with its top hotter by some kelvins, below 0 cooler; all else as it is written.

    Steps beside the top one with the same target go with it. What is wrong is said in ``unit``, "C" or "F".

    Raises
    ------
    BadInput
        Where the plan has no top, or no plan may be so hot, or the top would lie below a step that leads to it.
    """
    at = top_step(plan, glass)
    top_c = plan.steps[at].to_c
    first = last = at
    while first and plan.steps[first - 1].to_c == top_c:
        first -= 1
    while last + 1 < len(plan.steps) and plan.steps[last + 1].to_c == top_c:
        last += 1
    beside = max((plan.steps[n].to_c for n in (first - 1, last + 1) if 0 <= n < len(plan.steps)), default=0.0)
    if not beside < top_c + by_k <= MAX_TARGET_C:
        raise BadInput(plan.title, f"a top of {to_unit(top_c + by_k, unit):.0f} °{unit} does not fit the plan. "
                       f"It must lie between {to_unit(beside, unit):.0f} and "
                       f"{to_unit(MAX_TARGET_C, unit):.0f} °{unit}.", "Change it by less.")
    return replace(plan, keyed_in=None, steps=tuple(
        replace(step, to_c=top_c + by_k) if first <= n <= last else step for n, step in enumerate(plan.steps)))


def longer(plan: Plan, by_s: float, glass: Glass) -> Plan:
    """Return the plan with the hold at its top longer by some seconds, below 0 shorter.

    Raises
    ------
    BadInput
        Where the plan has no top, or the hold would last less than nothing or longer than any.
    """
    at = top_step(plan, glass)
    hold_s = plan.steps[at].hold_s + by_s
    if not 0.0 <= hold_s <= 60 * MAX_HOLD_MIN:
        written_min = plan.steps[at].hold_s / 60
        raise BadInput(plan.title, f"the hold at the top, {written_min:g} min, can't be made {abs(by_s) / 60:g} min "
                       f"{'shorter' if by_s < 0 else 'longer'}.",
                       f"Make it at most {written_min:g} min shorter, or {MAX_HOLD_MIN - written_min:g} min longer.")
    return with_hold(plan, at, hold_s)


def with_hold(plan: Plan, at: int, hold_s: float) -> Plan:
    """Return the plan with another hold [s] in the step at this place."""
    return replace(plan, keyed_in=None, steps=(*plan.steps[:at], replace(plan.steps[at], hold_s=hold_s),
                                               *plan.steps[at + 1:]))


def annealed(plan: Plan, advice: Anneal) -> Plan:
    """Return the plan with the way to its anneal, the hold and the cooling that are advised for a thickness.

    All up to the last step at the plan's highest target stays as it is written; where the advised hold is no cooler
    than that, the plan is the anneal alone.
    """
    highest = plan.highest_c
    top = max(number for number, step in enumerate(plan.steps) if step.to_c == highest)
    kept = plan.steps[:top + 1] if highest > advice.hold_c else ()
    return Plan(plan.title, plan.unit, (*kept, *as_plan(advice, plan.unit).steps))
