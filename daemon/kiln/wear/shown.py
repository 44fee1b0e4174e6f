"""What each firing shows of the kiln's power, of its loss, and of its probe against the controller."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log
from statistics import mean, median
from typing import NamedTuple

from daemon.firing.energy.thermal import Heat, Thermal, falling, losing_k_per_s, walls_along
from daemon.kiln.climbs import at_full_power, climbs_of
from daemon.kiln.falls import thermal_of
from daemon.kiln.foresight import STUCK_K_PER_S
from daemon.kiln.least_squares import least_squares
from daemon.kiln.past_firing import PastFiring

FITTED_FIRINGS = 8
"""So many firings, the earliest, give the figures that all are compared by. [chosen: a kiln is learned well from
six]"""
_OFF_K, _OFF_S, _ROWS = 2.0, 60.0, 40
"""A fall may be off by so much and by so much time, and is compared at so many readings [K, s]. [chosen: what a probe
wanders, and how well the beginning of a fall is known]"""
_LOAD_SPREAD, _LOSS_SPREAD = 0.2, 0.15
"""How much the heat that the chamber stores, and the kiln's loss, differ from night to night, one deviation of the
logarithm. [common practice: an empty shelf and a full one; a warm and a windy day]"""
_OF_LOAD = 0.2
"""So much of a load that seems lighter is a loss that seems greater. [tuned: kilns of the bench, seeds 1000 to 1059
of benchmarks.wear: the share that makes the loss of sound kilns vary least]"""
_HOLD_S, _SETTLES_S, _LEAST_ROWS = 1500.0, 600.0, 10
"""A hold as long as the first shows the probe, from the second on, by so many readings [s]. [chosen: most anneals]"""


class Shown(NamedTuple):
    """What one firing shows; None where it shows nothing of it."""

    power: float | None
    """Logarithm of the elements' power [1]; of climbs in which all of it was on."""
    loss: float | None
    """Logarithm of the kiln's loss, beside that of the other firings [1]."""
    probe_k: float | None
    """Reading less plan, in the longest hold after a fall [K]."""
    top_c: float = 0.0
    """Where its highest climb ends [°C]."""
    needed: float | None = None
    """Logarithm of the power that the end of that climb takes [1], as ``power`` counts it."""


def shown(past: Sequence[PastFiring], thermal: Thermal | None = None) -> list[Shown]:
    """Return what each of the firings shows, the earliest first.

    Parameters
    ----------
    past
        The firings of a kiln.
    thermal
        The figures of the kiln that all are compared by; learned from the first FITTED_FIRINGS where None.
    """
    if not past:
        return []
    if thermal is None:
        thermal = thermal_of(past[:FITTED_FIRINGS])
    powers: dict[int, list[float]] = {}
    for climb in at_full_power(climbs_of(past, thermal)):
        powers.setdefault(climb.firing, []).append(climb.late_k_per_s)
    return [Shown(log(mean(powers[number])) if number in powers else None, _loss(firing, thermal), _probe_k(firing),
                  *_needed(firing, thermal)) for number, firing in enumerate(past)]


def _needed(firing: PastFiring, thermal: Thermal) -> tuple[float, float | None]:
    """Return where the highest climb ends [°C], and the logarithm of the power at which it only just does."""
    climbs = [ran for ran in firing.ran if firing.planned[ran.part].direction > 0]
    if not climbs:
        return 0.0, None
    highest = max(climbs, key=lambda ran: firing.planned[ran.part].to_c)
    top_c, rows = firing.planned[highest.part].to_c, firing.rows(highest.start_s, highest.end_s)
    if not rows:
        return top_c, None
    walls_c = walls_along(thermal, firing.trace, firing.room_c)[rows[-1]]
    return top_c, log(losing_k_per_s(thermal, Heat(top_c, walls_c), firing.room_c) + STUCK_K_PER_S)


def _loss(firing: PastFiring, thermal: Thermal) -> float | None:
    """Return how much more a night's falls lose than the kiln usually does, as a logarithm; None without a fall.

    The load of the night makes the chamber alone slower, a loss the walls as well.
    """
    falls = [rows[::max(1, len(rows) // _ROWS)] for rows in firing.unpowered_falls()]
    if not falls:
        return None

    def residuals(values: Sequence[float]) -> list[float]:
        tonight, trace = _scaled(thermal, *values), firing.trace
        walls = walls_along(tonight, trace, firing.room_c)
        found = []
        for rows in falls:
            curve = falling(tonight, Heat(trace[rows[0]][1], walls[rows[0]]), (trace[i][0] for i in rows),
                            firing.room_c)
            found += [(trace[i][1] - temp_c) / (_OFF_K + _OFF_S * abs(firing.slopes[i]))
                      for i, temp_c in zip(rows, curve, strict=True)]
        return found

    load, loss = least_squares(residuals, (0.0, 0.0), (_LOAD_SPREAD, _LOSS_SPREAD)).values
    return loss - _OF_LOAD * load


def _scaled(thermal: Thermal, load: float, loss: float) -> Thermal:
    """Return the kiln with a chamber that stores ``exp(load)`` times the heat, and ``exp(loss)`` times its loss."""
    return Thermal(thermal.exchange_per_s * exp(-load), thermal.store_gains_per_s,
                   thermal.store_loses_per_s * exp(loss), thermal.chamber_loses_per_s * exp(loss - load))


def _probe_k(firing: PastFiring) -> float | None:
    """Return reading less plan in the longest hold after a fall [K]: there a probe reads alike each time."""
    holds = [ran for ran in firing.ran if ran.took_s >= _HOLD_S and firing.planned[ran.part].direction == 0
             and ran.part and firing.planned[ran.part - 1].direction < 0]
    if not holds:
        return None
    longest = max(holds, key=lambda ran: ran.took_s)
    rows = firing.rows(longest.start_s + _SETTLES_S, longest.end_s)
    if len(rows) < _LEAST_ROWS:
        return None
    return median(firing.trace[i][1] for i in rows) - firing.planned[longest.part].to_c
