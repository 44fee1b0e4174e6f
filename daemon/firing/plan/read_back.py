"""A plan read back step by step in both units, as a second pair of eyes would."""

from __future__ import annotations

from collections.abc import Iterator

from daemon.firing.durations import hours_minutes
from daemon.firing.plan.plan import Plan, rate_to_unit, to_unit
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, planned_parts


def reading_back(plan: Plan) -> Iterator[str]:
    """Yield the plan's lines: each step in °C and °F, then its whole length."""
    yield f"{plan.title} (written in °{plan.unit})"
    here_c = ASSUMED_ROOM_C
    for number, step in enumerate(plan.steps, start=1):
        way = "up to" if step.to_c > here_c else "down to" if step.to_c < here_c else "stays at"
        here_c = step.to_c
        rate = "free" if step.rate_c_per_h is None else rate_in_both(step.rate_c_per_h)
        hold = f", hold {hours_minutes(step.hold_s)}" if step.hold_s else ""
        purpose = f"  [{step.purpose}]" if step.purpose else ""
        yield f"{number:>3}  {rate}, {way} {step.to_c:.0f} °C ({to_unit(step.to_c, 'F'):.0f} °F){hold}{purpose}"
        if step.tell:
            yield f'     says: "{step.tell}"'
    parts = planned_parts(plan)
    whole_s = sum(part.duration_s for part in parts)
    free = any(part.rate_c_per_h is None for part in parts)
    yield f"In all {'about ' if free else ''}{hours_minutes(whole_s)} h from {ASSUMED_ROOM_C:.0f} °C" + (
        "; free steps are guessed for a small studio kiln." if free else ".")


def rate_in_both(rate_c_per_h: float) -> str:
    """Return a rate in both units; a slow one keeps its decimals: ``0.25 °C/h (0.45 °F/h)``."""
    return f"{_figure(rate_c_per_h)} °C/h ({_figure(rate_to_unit(rate_c_per_h, 'F'))} °F/h)"


_WHOLE_FROM_C_PER_H = 10.0
"""Rates from here on are told in whole degrees an hour. [chosen: two digits are enough]"""


def _figure(rate: float) -> str:
    """Return a rate to the degree, a slow one to two digits."""
    return f"{rate:.0f}" if rate >= _WHOLE_FROM_C_PER_H else f"{rate:.2g}"
