"""A plan that the kiln can follow, and that gives the glass the same near its top.

Where a kiln can't climb as planned, the controller lags or stops with an error, and the slow climb adds time near the
top to the hold there. The plan that is proposed climbs as the kiln can, in a few steps each slower than the one
before, and holds so much shorter at the same top that the glass is as long within NEAR_TOP_K of it as the plan asks.
The measure is ``daemon.glass.exposure.Exposure``, by which a record counts minutes above a temperature. No climb
becomes faster, and nothing from the top on changes but that hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import floor
from typing import NamedTuple

from daemon.firing.plan.plan import Plan, Step, Unit, in_c, rate_to_unit, to_unit
from daemon.firing.plan.schedule import planned_parts, top_hold
from daemon.kiln.foresight import Foresight, foresee
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.planning.outlook import near_top_s
from daemon.kiln.planning.variants import with_hold

SPARE_SHARE = 0.05
"""So much of the elements' power is left to nights with poor mains or a heavier load [1]. [chosen: mains may lie a
twentieth below their mean; twice what a kiln's learned power is mostly off]"""
_AMPLE_K_PER_S = 10.0
"""A kiln with so much power follows any plan [K/s]. [derived: 36,000 °C/h]"""
_PIECES, _LEAST_PIECE_K = 3, 30.0
"""A slow climb is cut into so many steps at most, each so high at least [1, K]. [chosen: a controller has few lines,
and within a piece the kiln loses little of its rate]"""
_GRAIN = 5.0
"""Targets and rates of the new steps are multiples of this, in the plan's unit. [common practice: as plans are
written]"""
_LEAST_RATE = 10.0
"""No slower climb is proposed [degrees an hour]. [chosen: a kiln so near its limit may not get there tonight]"""
_LEAST_HOLD_S = 60.0
"""A hold at the top is not shortened below this [s]. [chosen: so that the top is held at all]"""
_SAME_S, _SAME_SHARE = 120.0, 0.1
"""Times near the top are called the same where they differ by no more than the greater of these [s, 1]. [chosen: a
minute of hold is the least that is written, and glass at its top looks the same a tenth later]"""
_MOST_RAISES = 40
"""A climb is raised by so many grains at most. [derived: 200 degrees an hour; warmer walls give less]"""
_ROUNDS = 3
"""The hold is corrected so often. [chosen: minutes of hold are minutes near the top, so that the first one nearly
fits; the others are for rounding]"""


class Followable(NamedTuple):
    """A plan that the kiln can follow."""

    plan: Plan
    slowed: tuple[int, ...]
    """The steps of the plan as written whose climb was slowed, from 1."""
    wanted_s: float
    """How long the plan as written asks to be near its top [s], if the kiln could follow."""
    as_written_s: float
    """How long the kiln would be there with the plan as it is written [s]."""
    gives_s: float
    """How long it will be there with the new one [s]."""
    hold_s: float
    """The hold at the top as written [s]."""
    new_hold_s: float


    @property
    def is_same(self) -> bool:
        """Return whether the glass is about as long near the top as the plan as written asks."""
        return abs(self.gives_s - self.wanted_s) <= max(_SAME_S, _SAME_SHARE * self.wanted_s)


class _Slowed(NamedTuple):
    """A plan with slower climbs, and for each of its steps how fast it may become [°C/h]; None for one as written."""

    plan: Plan
    limits_c_per_h: list[float | None]


class OutOfReach(NamedTuple):
    """A target that the kiln can't reach, or only just: no slower climb helps."""

    step: int
    to_c: float


def followable(plan: Plan, model: KilnModel, from_c: float, room_c: float) -> Followable | OutOfReach | None:
    """Return a plan that the kiln can follow; None where it can follow this one, or nobody knows what it can do.

    Parameters
    ----------
    plan
        As it is written.
    model
        What is known of the kiln.
    from_c, room_c
        Temperature of the kiln at the start, and of the room [°C].
    """
    if not model.is_power_known:
        return None
    written = _foreseen(plan, model, from_c, room_c)
    slow = slow_steps(plan, written, from_c)
    if not slow:
        return None
    first = _slowed(plan, slow, model, from_c, room_c)
    if isinstance(first, OutOfReach):
        return first
    peak_c = plan.highest_c
    ideal = _foreseen(plan, model._replace(power_k_per_s=_AMPLE_K_PER_S), from_c, room_c)
    wanted_s = near_top_s(ideal, peak_c)
    hold_s = _hold_at_top_s(plan, from_c)
    slowed = _raised(first, model, from_c, room_c)
    new, new_hold_s = slowed, hold_s
    for _ in range(_ROUNDS if hold_s else 0):
        gives_s = near_top_s(_foreseen(new, model, from_c, room_c), peak_c)
        new_hold_s = max(min(hold_s, _LEAST_HOLD_S), 60.0 * round((new_hold_s + wanted_s - gives_s) / 60))
        new = with_hold(slowed, _top(slowed, from_c), new_hold_s)
    gives_s = near_top_s(_foreseen(new, model, from_c, room_c), peak_c)
    return Followable(new, slow, wanted_s, near_top_s(written, peak_c), gives_s, hold_s, new_hold_s)


def out_of_reach(plan: Plan, model: KilnModel, from_c: float, room_c: float) -> OutOfReach | None:
    """Return the first target that the kiln reaches only just, or not at all; None without one, or if nobody knows.

    Parameters as of ``followable``.
    """
    if not model.is_power_known:
        return None
    slow = slow_steps(plan, _foreseen(plan, model, from_c, room_c), from_c)
    found = _slowed(plan, slow, model, from_c, room_c) if slow else None
    return found if isinstance(found, OutOfReach) else None


def _foreseen(plan: Plan, model: KilnModel, from_c: float, room_c: float) -> Foresight:
    return foresee(planned_parts(plan, from_c), model, from_c, room_c=room_c)


def slow_steps(plan: Plan, found: Foresight, from_c: float) -> tuple[int, ...]:
    """Return the steps whose planned climb a kiln can't follow, from 1."""
    planned = planned_parts(plan, from_c)
    return tuple(planned[part.part].step for part in found.parts
                 if planned[part.part].direction > 0 and (part.slow_from_c is not None or not part.is_reached))


def _hold_at_top_s(plan: Plan, from_c: float) -> float:
    hold = top_hold(planned_parts(plan, from_c))
    return 0.0 if hold is None else hold.duration_s


def _top(plan: Plan, from_c: float) -> int:
    """Return the place among the steps of the one with the hold at the top; there is one."""
    hold = top_hold(planned_parts(plan, from_c))
    assert hold is not None
    return hold.step - 1


def _slowed(plan: Plan, slow: Sequence[int], model: KilnModel, from_c: float, room_c: float) -> _Slowed | OutOfReach:
    """Return the plan with its slow climbs in steps that the kiln can do with power to spare; holds as they are."""
    found = _foreseen(plan, _spare(model), from_c, room_c)
    planned = planned_parts(plan, from_c)
    steps: dict[int, list[Step]] = {}
    for part in found.parts:
        asked = planned[part.part]
        if asked.direction <= 0 or asked.step not in slow:
            continue
        if not part.is_reached:
            return OutOfReach(asked.step, asked.to_c)
        climb = [point for point in found.curve if part.start_s <= point[0] <= part.end_s]
        new = _steps(plan.steps[asked.step - 1], climb, part.slow_from_c, plan.unit)
        if new is None:
            return OutOfReach(asked.step, asked.to_c)
        steps[asked.step] = new
    new, limits = list[Step](), list[float | None]()
    for number, written in enumerate(plan.steps, start=1):
        those = steps.get(number, [written])
        new += those
        limits += [written.rate_c_per_h if number in steps else None] * len(those)
    return _Slowed(replace(plan, keyed_in=None, steps=tuple(new)), limits)


def _spare(model: KilnModel) -> KilnModel:
    """Return the kiln on a night on which its elements do a little less."""
    return model._replace(power_k_per_s=(1 - SPARE_SHARE) * model.power_k_per_s, differences={})


def _raised(slowed: _Slowed, model: KilnModel, from_c: float, room_c: float) -> Plan:
    """Return the plan with each new climb as fast as the kiln can still follow, and no faster than written.

    The rates were read off a climb with all power. In the new one, which is slower, the walls are warmer and take
    less, so that the kiln can do a little more.
    """
    plan, spare = slowed.plan, _spare(model)
    grain = _GRAIN if plan.unit == "C" else _GRAIN * 5 / 9
    for at, limit in enumerate(slowed.limits_c_per_h):
        for _ in range(_MOST_RAISES):
            rate = plan.steps[at].rate_c_per_h
            if limit is None or rate is None or rate + grain > limit:
                break
            tried = replace(plan, steps=(*plan.steps[:at], replace(plan.steps[at], rate_c_per_h=rate + grain),
                                         *plan.steps[at + 1:]))
            if slow_steps(tried, _foreseen(tried, spare, from_c, room_c), from_c):
                break
            plan = tried
    return plan


def _steps(written: Step, climb: Sequence[tuple[float, float]], slow_from_c: float | None,
           unit: Unit) -> list[Step] | None:
    """Return a climb in steps that the kiln can do; None where the last would be too slow to be proposed.

    Parameters
    ----------
    written
        The step as it is written.
    climb
        How the kiln climbs there with all its power: (second, temperature [°C]).
    slow_from_c
        Where it becomes slow [°C]; None where it does only with less power to spare.
    unit
        The plan's.
    """
    if slow_from_c is None:
        return [written]
    from_c, to_c = climb[0][1], written.to_c
    begins_c = max(from_c, in_c(_GRAIN * floor(to_unit(slow_from_c, unit) / _GRAIN), unit))
    number = max(1, min(_PIECES, int((to_c - begins_c) / _LEAST_PIECE_K)))
    ends_c = [begins_c + (to_c - begins_c) * n / number for n in range(1, number)]
    ends_c = [in_c(_GRAIN * round(to_unit(end_c, unit) / _GRAIN), unit) for end_c in ends_c] + [to_c]
    written_rate = 3.6e6 if written.rate_c_per_h is None else written.rate_c_per_h
    found = [Step(written.rate_c_per_h, begins_c)] if begins_c - from_c >= _LEAST_PIECE_K else []
    for end_c in ends_c:
        rate = min(written_rate, _rate_c_per_h(climb, end_c, unit))
        if rate_to_unit(rate, unit) < min(_LEAST_RATE, rate_to_unit(written_rate, unit)):
            return None
        if found and found[-1].rate_c_per_h == rate:
            found.pop()
        found.append(Step(rate, end_c))
    found[0] = replace(found[0], tell=written.tell)
    found[-1] = replace(found[-1], hold_s=written.hold_s, purpose=written.purpose)
    return found


def _rate_c_per_h(climb: Sequence[tuple[float, float]], at_c: float, unit: Unit) -> float:
    """Return how fast the kiln climbs as it comes to a temperature [°C/h], rounded down as plans are written."""
    rates = [(b_c - a_c) / (b_s - a_s) * 3600 for (a_s, a_c), (b_s, b_c) in pairwise(climb)
             if b_s > a_s and a_c < at_c]
    value = rate_to_unit(rates[-1], unit)
    grain = _GRAIN if value >= 2 * _LEAST_RATE else 1.0
    in_unit = grain * floor(value / grain)
    return in_unit if unit == "C" else in_unit * 5 / 9

