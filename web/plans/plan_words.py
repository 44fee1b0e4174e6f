"""A step of a plan in words, in one unit: ``Step 1: climb 300 °F/h to 1225 °F, hold 30 min``."""

from __future__ import annotations

from daemon.firing.plan.plan import Plan, Step, rate_to_unit, to_unit
from daemon.firing.plan.schedule import ASSUMED_ROOM_C

_PURPOSE = {"squeeze": "to squeeze the air out", "top": "the top", "anneal": "the anneal", "burn-off": "to burn off"}
_SAME_K = 0.3
"""A way shorter than this is none [K]. [derived: half a degree Fahrenheit]"""


def step_words(number: int, step: Step, from_c: float, unit: str, *, way_min: float | None = None) -> str:
    """Return one step in words.

    Parameters
    ----------
    number
        Its number, from 1.
    step
        The step.
    from_c
        Where it sets out [°C].
    unit
        "C" or "F", in which it is said.
    way_min
        How long it takes to the target, where the paper says that and not a rate [min].
    """
    to = f"{figure(to_unit(step.to_c, unit))} °{unit}"
    rate = "" if step.rate_c_per_h is None else f"{figure(rate_to_unit(step.rate_c_per_h, unit))} °{unit}/h"
    up = step.to_c > from_c
    verb = "climb" if up else "fall"
    if abs(step.to_c - from_c) < _SAME_K:
        way = f"stay at {to}"
    elif way_min is not None:
        per_hour = rate_to_unit(step.rate_c_per_h or 0.0, unit)
        way = f"{verb} to {to} in {minutes_words(way_min)} ({per_hour:.0f} °{unit}/h)"
    elif rate:
        way = f"{verb} {rate} to {to}"
    else:
        way = f"climb as fast as the kiln goes to {to}" if up else f"fall freely to {to}"
    hold = f", hold {minutes_words(step.hold_s / 60)}" if step.hold_s else ""
    purpose = f", {_PURPOSE[step.purpose]}" if step.purpose in _PURPOSE else ""
    return f"Step {number}: {way}{hold}{purpose}"


def plan_words(plan: Plan, unit: str) -> tuple[str, ...]:
    """Return the steps of a plan in words, from a room on."""
    lines, here_c = [], ASSUMED_ROOM_C
    for number, step in enumerate(plan.steps, start=1):
        lines.append(step_words(number, step, here_c, unit))
        here_c = step.to_c
    return tuple(lines)


def minutes_words(minutes: float) -> str:
    """Return a length of time [min] to the second, however long it is: ``30 min``, ``1 h 05 min``, ``12.5 min``."""
    if minutes < 60 or round(minutes, 3) % 1:
        return f"{round(minutes, 3):g} min"
    return f"{round(minutes) // 60} h" + (f" {round(minutes) % 60:02d} min" if round(minutes) % 60 else "")


def figure(value: float) -> str:
    """Return a figure as it was typed, without what reckoning in °C adds far behind the point."""
    return f"{round(value, 3):g}"
