"""A kiln as two bodies that store heat: the chamber, which the probe reads, and the walls around it.

The chamber with shelf and glass gives heat to the walls and to the room, and the walls give theirs to the room, each
in proportion to the difference of temperature (lumped capacities, Newton's law of cooling). One body alone can't show
what kilns do: they fall fast while the walls are colder than the chamber, and slowly once both have come together.

    dT/dt = p − exchange · (T − W) − chamber_loses · (T − room)
    dW/dt = store_gains · (T − W) − store_loses · (W − room)

T is the chamber [°C], W the walls [°C], p how fast the elements alone would heat the chamber [K/s].
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

LONGEST_STEP_S = 30.0
"""The equations are solved in steps no longer than this [s]. [derived: a hundredth of the shortest time constant of
a kiln, half an hour, within a factor of two]"""


class Thermal(NamedTuple):
    """The four figures of a kiln [1/s]."""

    exchange_per_s: float
    """What the chamber gives to the walls."""
    store_gains_per_s: float
    """What the walls get from the chamber; smaller, the more heat they hold."""
    store_loses_per_s: float
    """What the walls give to the room."""
    chamber_loses_per_s: float
    """What the chamber gives to the room, past the walls: through gaps."""


class Heat(NamedTuple):
    """Where the heat is [°C]."""

    chamber_c: float
    walls_c: float


def losing_k_per_s(thermal: Thermal, heat: Heat, room_c: float) -> float:
    """Return how fast the chamber would fall without power [K/s]; below 0 where the walls heat it."""
    return (thermal.exchange_per_s * (heat.chamber_c - heat.walls_c)
            + thermal.chamber_loses_per_s * (heat.chamber_c - room_c))


def soaked(thermal: Thermal, walls_c: float, chamber_c: float, for_s: float, room_c: float) -> float:
    """Return the temperature of the walls after the chamber had ``chamber_c`` for some seconds [°C]."""
    return walls_c + for_s * (thermal.store_gains_per_s * (chamber_c - walls_c)
                              - thermal.store_loses_per_s * (walls_c - room_c))


def walls_along(thermal: Thermal, trace: Sequence[tuple[float, float]], room_c: float,
                walls_c: float | None = None) -> list[float]:
    """Return the temperature of the walls at each reading of a trace [°C].

    Parameters
    ----------
    thermal
        The kiln.
    trace
        (second, temperature [°C]) in order, about one a minute.
    room_c
        Temperature of the room [°C].
    walls_c
        Where the walls begin [°C]; at the first temperature where None.
    """
    walls_c = trace[0][1] if walls_c is None else walls_c
    found = [walls_c]
    for (from_s, from_c), (to_s, to_c) in pairwise(trace):
        for share in _steps(to_s - from_s):
            walls_c = soaked(thermal, walls_c, (from_c + to_c) / 2, share, room_c)
        found.append(walls_c)
    return found


def heated(thermal: Thermal, heat: Heat, power_k_per_s: float, for_s: float, room_c: float) -> Heat:
    """Return where the heat is after some seconds with a steady power.

    Parameters
    ----------
    thermal, heat
        The kiln, and where its heat is.
    power_k_per_s
        How fast the elements alone would heat the chamber [K/s].
    for_s
        How long [s].
    room_c
        Temperature of the room [°C].
    """
    for step_s in _steps(for_s):
        rises = power_k_per_s - losing_k_per_s(thermal, heat, room_c)
        heat = Heat(heat.chamber_c + step_s * rises, soaked(thermal, heat.walls_c, heat.chamber_c, step_s, room_c))
    return heat


def falling(thermal: Thermal, heat: Heat, times_s: Iterable[float], room_c: float) -> list[float]:
    """Return the chamber's temperature at each of several rising times while the kiln falls without power [°C]."""
    found: list[float] = []
    last_s: float | None = None
    for t_s in times_s:
        if last_s is not None:
            heat = heated(thermal, heat, 0.0, t_s - last_s, room_c)
        found.append(heat.chamber_c)
        last_s = t_s
    return found


def _steps(for_s: float) -> list[float]:
    """Return a length of time in equal steps [s]."""
    count = max(1, round(for_s / LONGEST_STEP_S))
    return [for_s / count] * count
