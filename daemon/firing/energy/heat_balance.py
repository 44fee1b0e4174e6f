"""The heat that a firing took, in terms of the kiln's own steady loss, from its temperatures alone.

The elements' power heats what is light (air, shelf, glass, the wall's first skin), and flows into the wall:

    P = K · g,    g = c · dT/dt + w(T; τ),

with K the wall's steady conductance [W/K], c what is light, as a time [s], and w what flows into the wall, as
``wall_heat`` has it [K]. Three things are unknown. c and τ are found where the power is known to be nothing: in the
plan's free falls, and after its end, g has to be nought. K cancels: a kiln that has all its rated power shows
``full_k``, the g of full power, and

    energy = rated power × ∫ g dt / full_k.

A kiln that was never seen with all its power shows only the least that ``full_k`` can be, its largest g.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from statistics import fmean, median

from daemon.firing.energy.known_power import Power, known_power
from daemon.firing.energy.wall_heat import driving_k, into_wall_k
from daemon.firing.events import Part
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart

STEP_S = 60.0
"""Between two moments of the reckoning [s]. [chosen: a kiln changes little in it, and a day is 1,440 of them]"""
WALL_TIMES_S = tuple(3600.0 * hours for hours in (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0))
"""The wall's own times τ = L²/α that are tried [s]. [derived: 50 mm of fibre board at 7e-7 m²/s to 150 mm of dense
brick at 4e-7 m²/s]"""
_RATE_OVER = 5
"""A rate is taken over so many steps to each side. [chosen: ten minutes, against noise and the controller's cycle]"""
_LEAST_FALL = 30
"""Fewer minutes without power than this show nothing of the wall. [tuned: bench, docs/develop/decisions/054]"""
_LEAST_FULL = 4
"""Fewer minutes of full power don't tell it from a kick. [tuned: bench, docs/develop/decisions/054]"""
_COLD_K = 40.0
"""Nearer to the room than this a fall shows nothing: the room's own temperature is not known well [K].
[chosen: a tenth of the falls that count]"""
_WARMEST_ROOM_C = 35.0
"""A first reading below this is the room's [°C]. [from: daemon.firing.verdict.cooldown_forecast._WARMEST_ROOM_C]"""
_HOT_START_C = 150.0
"""A firing whose record begins hotter than this took much of its heat before [°C]. [chosen: a second firing into a
warm kiln is still reckoned]"""
_HEATED_C = 200.0
"""A kiln that was never hotter than this was not fired [°C]. [chosen: below any firing of glass]"""
_LONGEST_GAP_S = 1800.0
"""Over a longer gap the curve is not known well enough [s]. [chosen: a ramp passes 100 K in it]"""
LONGEST_S = 7 * 86_400.0
"""A longer record is no firing's, but a clock's that leapt [s]. [chosen: a casting takes two to three days]"""
_SUSTAINED = 30
"""The largest g counts where it lasted for so many minutes. [chosen: longer than a swing of a controller]"""
_EVEN_SHARE = 0.85
"""All the power shows as a g of which nine tenths of the minutes reach this share of the largest.
[tuned: bench, docs/develop/decisions/054]"""


class Why(Enum):
    """Why nothing can be reckoned."""

    NO_PLAN = "no-plan"
    NOT_FIRED = "not-fired"
    HOT_START = "hot-start"
    GAP = "gap"
    NO_FALL = "no-fall"
    HEATED = "heated-in-a-fall"
    """The kiln was heated where its plan lets it fall, so that no fall can be trusted; the caller knows."""


@dataclass(frozen=True, slots=True)
class HeatUse:
    """What a firing took, in terms of the kiln's steady loss.

    Attributes
    ----------
    kelvin_h
        ∫ g dt while there may have been power [K·h]: so many hours of holding the kiln one kelvin above the room.
    most_k
        The largest g that lasted [K].
    full_k
        The g of all its power [K]; None where it was never seen with it.
    """

    kelvin_h: float
    most_k: float
    full_k: float | None


def heat_use(trace: Sequence[tuple[float, float]], planned: Sequence[PlannedPart],
             parts: Sequence[Part]) -> HeatUse | Why:
    """Return what a firing that has ended took, or why that can't be said.

    Parameters
    ----------
    trace
        (second of the firing, temperature [°C]) in order, about one a minute; none where nothing was read.
    planned
        The plan's ramps and holds; empty where the firing had no plan.
    parts
        Those that were found.
    """
    if not planned or not parts:
        return Why.NO_PLAN
    if not trace or max(temp_c for _, temp_c in trace) < _HEATED_C:
        return Why.NOT_FIRED
    if trace[0][1] > _HOT_START_C:
        return Why.HOT_START
    if trace[-1][0] - trace[0][0] > LONGEST_S or any(
            b[0] - a[0] > _LONGEST_GAP_S and max(a[1], b[1]) > _HEATED_C for a, b in pairwise(trace)):
        return Why.GAP
    times_s, temps_c = _evenly(trace)
    rates = _rates(temps_c)
    room_c = temps_c[0] if temps_c[0] < _WARMEST_ROOM_C else ASSUMED_ROOM_C
    power = known_power(times_s, temps_c, [rate * 3600 for rate in rates], planned, parts)
    falls = [at for at, known in enumerate(power) if known is Power.OFF and temps_c[at] > room_c + _COLD_K]
    if len(falls) < _LEAST_FALL:
        return Why.NO_FALL
    heat = _fitted([driving_k(temp_c, room_c) for temp_c in temps_c], rates, falls)
    if not heat:
        return Why.NO_FALL
    heated = [0.0 if known is Power.OFF else max(0.0, g) for g, known in zip(heat, power, strict=True)]
    most_k = max(_running(heated, _SUSTAINED // 2))
    return HeatUse(sum(heated) * STEP_S / 3600, most_k, _full_k(_running(heat, _RATE_OVER), power, most_k))


def _full_k(heat: Sequence[float], power: Sequence[Power], most_k: float) -> float | None:
    """Return the g of all the power, where the minutes that look like it do: all alike, and none elsewhere greater.

    A controller that was told to climb more slowly than the plan looks like a kiln that can't follow, but its g grows
    with the temperature.
    """
    full = sorted(g for g, known in zip(heat, power, strict=True) if known is Power.FULL)
    if len(full) < _LEAST_FULL or full[len(full) // 10] < _EVEN_SHARE * most_k:
        return None
    return median(full)


def _evenly(trace: Sequence[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """Return times, STEP_S apart, and temperatures there, straight between the readings."""
    times_s, temps_c = [], []
    at, t_s = 0, trace[0][0]
    while t_s <= trace[-1][0]:
        while at + 1 < len(trace) - 1 and trace[at + 1][0] <= t_s:
            at += 1
        (t0, c0), (t1, c1) = trace[at], trace[min(at + 1, len(trace) - 1)]
        times_s.append(t_s)
        temps_c.append(c0 if t1 <= t0 else c0 + (c1 - c0) * (t_s - t0) / (t1 - t0))
        t_s += STEP_S
    return times_s, temps_c


def _rates(temps_c: Sequence[float]) -> list[float]:
    """Return the rate at each moment over _RATE_OVER steps to each side [K/s]."""
    last = len(temps_c) - 1
    found = []
    for at in range(len(temps_c)):
        low, high = max(0, at - _RATE_OVER), min(last, at + _RATE_OVER)
        found.append((temps_c[high] - temps_c[low]) / ((high - low) * STEP_S) if high > low else 0.0)
    return found


def _running(values: Sequence[float], beside: int) -> list[float]:
    """Return running means over ``beside`` values to each side."""
    return [fmean(values[max(0, at - beside):at + beside + 1]) for at in range(len(values))]


def _fitted(driving: Sequence[float], rates_k_per_s: Sequence[float], falls: Sequence[int]) -> list[float]:
    """Return g at each moment [K], with c and τ such that it is least in the falls against its largest elsewhere.

    Empty where it is nowhere above nought.
    """
    best: tuple[float, list[float]] | None = None
    for time_s in WALL_TIMES_S:
        wall = _running(into_wall_k(driving, STEP_S, time_s), _RATE_OVER // 2)
        square = sum(rates_k_per_s[at] ** 2 for at in falls)
        light_s = max(0.0, -sum(rates_k_per_s[at] * wall[at] for at in falls) / square) if square else 0.0
        heat = [light_s * rate + flow for rate, flow in zip(rates_k_per_s, wall, strict=True)]
        if max(heat) <= 0.0:
            continue
        off = (sum(heat[at] ** 2 for at in falls) / len(falls)) ** 0.5 / max(heat)
        if best is None or off < best[0]:
            best = (off, heat)
    return [] if best is None else best[1]
