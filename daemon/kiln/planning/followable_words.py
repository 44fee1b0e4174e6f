"""A plan that the kiln can follow, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from daemon.firing.advice.plan_check import doubt_lines, doubts
from daemon.firing.durations import whole_minutes
from daemon.firing.plan.plan import write_plan
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.setup import Setup
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from daemon.kiln.planning.followable import Followable, OutOfReach
from daemon.kiln.planning.outlook import NEAR_TOP_K

AS_IT_CLIMBS = ", as this kiln climbs"
"""What the new plan's title ends with."""
_LONGEST_TITLE = 120
"""Longest title [characters]. [from: web.request.form.MAX_LINE]"""
MOST_LINES = 8
"""Many controllers take only so many lines [1]. [common practice: from memory; a controller's manual says it]"""
DEFER = ("The data sheet of your glass and the manual of your kiln come first, and you decide. Try it first with "
         "glass that you can spare.")


def followable_toml(found: Followable, setup: Setup) -> str:
    """Return the new plan as TOML, under a title of its own; what is doubtful for the load stands above it."""
    notes = "".join(f"# {line}\n" for line in (*_new_doubts(found, setup), DEFER, NO_SAFETY_DEVICE))
    title = found.plan.title[:_LONGEST_TITLE - len(AS_IT_CLIMBS)] + AS_IT_CLIMBS
    return notes + write_plan(replace(found.plan, title=title))


def _new_doubts(found: Followable, setup: Setup) -> Iterator[str]:
    if not setup.is_empty:
        load = " and ".join(f"{mm:g} mm" for mm in setup.thicknesses_mm)
        yield f"The new plan, checked for {load} of {setup.glass.name}:"
    yield from doubt_lines(replace(setup, plan=found.plan))


def beyond_lines(found: OutOfReach, setup: Setup) -> Iterator[str]:
    """Yield what the kiln reaches only just, or not at all, where nothing else says so."""
    yield f"this kiln reaches {Units(setup.unit).temp(found.to_c)} of step {found.step} only just, or not at all."


def followable_lines(found: Followable | OutOfReach | None, setup: Setup) -> Iterator[str]:
    """Yield what is proposed, what the glass gets by it, and what is doubtful in it for the load.

    Nothing where the kiln can follow the plan. Where no plan helps, the forecast has said which target is too hot.
    """
    if found is None:
        return
    words = Units(setup.unit)
    if isinstance(found, OutOfReach):
        yield "No slower plan helps. Ask whoever cares for its elements, or choose a cooler top."
        return
    near = words.difference(NEAR_TOP_K)
    hold = f"The hold at the top becomes {whole_minutes(found.new_hold_s)} instead of {whole_minutes(found.hold_s)}."
    if found.new_hold_s == found.hold_s:
        hold = "The holds stay as they are written."
    rest = "The anneal and the cooling stay as they are written."
    if setup.is_empty:
        rest = "The cooling stays as it is written."
    elif anneal_hold(planned_parts(found.plan), setup.glass) is None:
        rest = "The cooling stays as it is written. No step is an anneal hold."
    yield (f"This kiln can follow a plan that climbs more slowly in {_steps(found.slowed)}, as fast as it can with "
           f"some power to spare. {hold} {rest}")
    asks, gives, written = (whole_minutes(s) for s in (found.wanted_s, found.gives_s, found.as_written_s))
    counts = "" if setup.is_empty else ", which counts for the glass"
    yield (f"Time within {near} of the top{counts}: {asks} if this kiln could climb as "
           f"written, {written} as it is, {gives} with the new plan. It falls from the top as this kiln does, so "
           "that the plan by its own times may differ by minutes.")
    if not found.is_same:
        yield "That is not the same: this kiln climbs too slowly near the top, and what is in it gets more heat."
    if len(found.plan.steps) > MOST_LINES:
        yield (f"The new plan has {len(found.plan.steps)} steps. Many controllers take only {MOST_LINES} or so "
               "(common practice): look in your controller's manual first.")
    yield from _new_doubts(found, setup)
    yield DEFER


def _steps(numbers: Sequence[int]) -> str:
    *first, last = (str(number) for number in numbers)
    return f"steps {', '.join(first)} and {last}" if first else f"step {last}"


def followable_json(found: Followable | OutOfReach | None, setup: Setup) -> dict[str, Any] | None:
    """Return it as plain values [min, °C]; None where the kiln can follow the plan."""
    if found is None:
        return None
    if isinstance(found, OutOfReach):
        return {"plan": None, "step": found.step, "to_c": found.to_c}
    return {"plan": followable_toml(found, setup), "doubts": list(doubts(replace(setup, plan=found.plan))),
             "slowed_steps": list(found.slowed), "same": found.is_same,
            "near_top_min": {"asked": round(found.wanted_s / 60, 1), "gives": round(found.gives_s / 60, 1),
                             "as_written": round(found.as_written_s / 60, 1)},
            "hold_min": [found.hold_s / 60, found.new_hold_s / 60]}
