"""How a plan seems to run where its figures or its temperatures are misread.

Two ways are common: a controller that takes the figures for the other unit, and a probe of another type than the chip
is set to, so that every temperature is read from the wrong table.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace

from daemon.firing.plan.plan import MAX_RATE_C_PER_H, Plan, Step, Unit, in_c, to_unit
from daemon.firing.plan.schedule import ASSUMED_ROOM_C

_STEP_C = 100.0
"""Spacing of the temperatures in EMF_MV [°C]. [derived: that of the rows below]"""
EMF_MV: dict[str, tuple[float, ...]] = {
    "K": (0.0, 4.096, 8.138, 12.209, 16.397, 20.644, 24.905, 29.129, 33.275, 37.326, 41.276, 45.119, 48.838, 52.410),
    "N": (0.0, 2.774, 5.913, 9.341, 12.974, 16.748, 20.613, 24.527, 28.455, 32.371, 36.256, 40.087, 43.846, 47.513),
    "S": (0.0, 0.646, 1.441, 2.323, 3.259, 4.233, 5.239, 6.275, 7.345, 8.449, 9.587, 10.757, 11.951, 13.159),
}
"""Voltage of each type at 0, 100, … 1300 °C against 0 °C [mV]. Type R is within 11 % of S.
[source: ITS-90 tables, IEC 60584-1]"""
COLD_END_C = 30.0
"""The cold end of a probe beside a kiln at work [°C]; ten degrees more or less move an answer by 3 K.
[common practice]"""
TYPES = (("K", "N"), ("N", "K"), ("S", "K"))
"""(type of the probe, type the chip is set to); K set to S or R goes past the chip's end instead. [common practice]
"""
SHARES = (0.97, 0.985, 1.0, 1.015, 1.03)
_SHARE_SD = 0.015
"""What a probe of another type shows may be off by a share besides, tried in these steps; and its standard deviation.
The place of a probe is warmer or colder than that of the kiln's own sensor, by more in a hotter kiln, and a flatter
table stretches it. [common practice: some 1.5 % of the temperature, 10 K at 700 °C]"""
_NO_WAY_K = 1.0
"""A step that moves by less has no rate that could be misread [K]. [chosen: lest a rate be divided by nothing]"""


@dataclass(frozen=True, slots=True)
class Misread:
    """A plan read wrongly.

    Attributes
    ----------
    plan
        As the kiln would then seem to run it.
    unit
        "C" or "F": what the controller takes the figures for; empty where the unit is right.
    types
        (type of the probe, type it is read as); None where the probe is right.
    price
        What it costs to take it for this, before any stop is laid along it [nats].
    """

    plan: Plan
    unit: str = ""
    types: tuple[str, str] | None = None
    price: float = 0.0


def misread(plan: Plan) -> tuple[Misread, ...]:
    """Return ``plan`` in each way it is commonly misread."""
    other: Unit = "C" if plan.unit == "F" else "F"
    return (
        Misread(_taken_for(plan, other), unit=other), Misread(_taken_for(plan, plan.unit), unit=plan.unit),
        *(Misread(_read_as(plan, true, shown, share), types=(true, shown), price=0.5 * ((share - 1) / _SHARE_SD) ** 2)
          for true, shown in TYPES for share in SHARES),
    )


def _taken_for(plan: Plan, unit: Unit) -> Plan:
    """Return the plan where its figures, written in the other unit, are taken for ``unit``."""
    def taken(temp_c: float) -> float:
        """Return a target [°C] as it is taken where its figure is read in ``unit``."""
        return to_unit(temp_c, "F") if unit == "C" else in_c(temp_c, "F")

    return replace(plan, unit=unit, steps=_steps(plan, taken))


def _read_as(plan: Plan, true: str, shown: str, share: float) -> Plan:
    """Return the plan as a chip set to type ``shown`` shows ``share`` of it through a probe of type ``true``."""
    return replace(plan, steps=_steps(plan, lambda temp_c: share * read_as(temp_c, true, shown)))


def read_as(temp_c: float, true: str, shown: str) -> float:
    """Return what a chip set to type ``shown`` reads from a probe of type ``true`` at ``temp_c`` [°C].

    The chip adds what its own table has for its cold end, COLD_END_C.
    """
    mv = _emf_mv(true, temp_c) - _emf_mv(true, COLD_END_C) + _emf_mv(shown, COLD_END_C)
    table = EMF_MV[shown]
    at = min(max(bisect_right(table, mv) - 1, 0), len(table) - 2)
    return _STEP_C * (at + (mv - table[at]) / (table[at + 1] - table[at]))


def _emf_mv(kind: str, temp_c: float) -> float:
    """Return the voltage of a type at ``temp_c`` against 0 °C [mV], by straight lines through the table."""
    at = min(max(int(temp_c // _STEP_C), 0), len(EMF_MV[kind]) - 2)
    low, high = EMF_MV[kind][at:at + 2]
    return low + (high - low) * (temp_c / _STEP_C - at)


def _steps(plan: Plan, taken: Callable[[float], float]) -> tuple[Step, ...]:
    """Return the steps with every target as ``taken``, and every rate by as much as the way there."""
    steps, here_c = [], ASSUMED_ROOM_C
    for step in plan.steps:
        rate = step.rate_c_per_h
        if rate is not None and abs(step.to_c - here_c) > _NO_WAY_K:
            rate = min(MAX_RATE_C_PER_H, rate * abs((taken(step.to_c) - taken(here_c)) / (step.to_c - here_c)))
        steps.append(replace(step, to_c=taken(step.to_c), rate_c_per_h=rate))
        here_c = step.to_c
    return tuple(steps)
