"""How this kiln falls: the figures of its two bodies, and how well they tell its last fall."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log

from daemon.firing.energy.thermal import Heat, Thermal, falling, heated, walls_along
from daemon.kiln.least_squares import least_squares
from daemon.kiln.past_firing import PastFiring

_PRIOR = (1 / 1800.0, 1 / 9000.0, 1 / 14_000.0, 1 / 20_000.0)
"""A usual kiln, in the order of Thermal [1/s]. [tuned: 40 kilns of the bench, seeds 0 to 39 of
benchmarks.foresight]"""
_PRIOR_SPREADS = (0.8, 0.8, 0.7, 1.0)
"""How much kilns differ, one deviation of the logarithm. [common practice: from fibre to heavy brick, a factor of
two either way]"""
_OFF_K, _OFF_S = 1.5, 300.0
"""A fall may be off by so much, and by so much time [K, s]. [chosen: what a probe wanders, and the minutes that a
forecast is to be good for]"""
_ROWS_OF_A_FALL = 30
"""So many readings of a fall are compared. [chosen: bounds the work; a fall is smooth]"""
_FAR_DOWN_C, _LONGEST_FALL_S, _MINUTE_S = 150.0, 4 * 86_400.0, 60.0
"""A fall that ends above the first teaches nothing of how long it takes until the kiln may be opened [°C]; a longer
one than the second is none [s]; and the step of time in it [s]. [chosen: below it a fall takes the most time; no kiln
takes four days]"""


def thermal_of(past: Sequence[PastFiring]) -> Thermal:
    """Return the kiln's figures, from the falls without power."""
    falls = [(firing, rows[::max(1, len(rows) // _ROWS_OF_A_FALL)]) for firing in past
             for rows in firing.unpowered_falls()]

    def residuals(logs: Sequence[float]) -> list[float]:
        thermal = Thermal(*map(exp, logs))
        walls = {id(firing): walls_along(thermal, firing.trace, firing.room_c) for firing in past}
        found = []
        for firing, rows in falls:
            trace = firing.trace
            begin = Heat(trace[rows[0]][1], walls[id(firing)][rows[0]])
            curve = falling(thermal, begin, (trace[i][0] for i in rows), firing.room_c)
            found += [(trace[i][1] - temp_c) / (_OFF_K + _OFF_S * abs(firing.slopes[i]))
                      for i, temp_c in zip(rows, curve, strict=True)]
        return found

    fit = least_squares(residuals, [log(value) for value in _PRIOR], _PRIOR_SPREADS)
    return Thermal(*map(exp, fit.values))


def last_fall(firing: PastFiring, thermal: Thermal) -> list[tuple[float, float]]:
    """Return by how much the fall after the plan lasted longer than foreseen, and how long was foreseen [s].

    It is timed as far down as the lid stayed shut; nothing where the kiln was never left to fall.
    """
    falls = firing.unpowered_falls()
    if not falls or firing.trace[falls[-1][-1]][1] > _FAR_DOWN_C:
        return []
    rows = falls[-1]
    walls_c = walls_along(thermal, firing.trace, firing.room_c)[rows[0]]
    (from_s, from_c), (to_s, to_c) = firing.trace[rows[0]], firing.trace[rows[-1]]
    heat, took_s = Heat(from_c, walls_c), 0.0
    while heat.chamber_c > to_c and took_s < _LONGEST_FALL_S:
        heat, took_s = heated(thermal, heat, 0.0, _MINUTE_S, firing.room_c), took_s + _MINUTE_S
    return [(to_s - from_s - took_s, took_s)]
