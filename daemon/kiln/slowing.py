"""How the last fall of this kiln becomes slower as the kiln gets colder, learned from its past falls.

The time constants of all nights are laid over one another: each night has a factor of its own, for what lies in the
kiln, and all have one curve. The curve bends little, and where no night shows it, it goes on as a usual kiln's.

Weighed against one power of the distance from the room, for 24 kilns of the bench (seeds 400 to 429 of
benchmarks.foresight, each firing from the other five): 40 minutes off for 58 ten hours before the opening, and 51 for
102 in eight of ten. A power that fits above 150 K is too large below it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, log

from daemon.firing.verdict.slowing import KNOTS, LOWEST_K, STRETCH, Slowing
from daemon.kiln.least_squares import solved
from daemon.kiln.past_firing import PastFiring

_USUAL_POWER, _USUAL_OFF = 0.04, 0.3
"""The curve of a usual kiln falls by this power of the distance from the room, and its logarithm may be off by so
much from one distance to the next [1]. [tuned: kilns of the bench, seeds 400 to 429 of benchmarks.foresight; powers
of 0 to 0.06 give the same]"""
_BENDS = 0.01
"""And it bends by so much from one distance to the next, one deviation. [tuned: as above; 0.03 is worse at ten hours,
0.003 from eight hours on]"""
_OFF = 0.1
"""A time constant may be off by so much of itself, one deviation. [chosen: a room that changes by 2 K makes so much
where a kiln is 20 K above it]"""
_OUTLIER = 2.0
"""Beyond so many deviations one counts less. [source: Huber, Robust Statistics: a threshold of 1.3 to 2
deviations]"""
_PASSES = 3
"""So many times the weights are set anew. [chosen: the curve changes by less than a hundredth then]"""
_LITTLE = 1e-3
"""Keeps the equations solvable: a factor of all nights and the curve's height are one unknown too many [1].
[chosen: next to nothing]"""
_SMOOTHED = 4
"""A reading is the mean with so many on either side. [chosen: twice the memory of a probe's wander]"""
_SHORTEST_S = 30.0
"""A stretch that takes less tells nothing [s]. [chosen: half the distance of two readings]"""


def slows(past: Sequence[PastFiring]) -> Slowing:
    """Return the curve of the kiln; a usual one without any fall."""
    nights = [night for night in map(time_constants, past) if night]
    usual = [-_USUAL_POWER * STRETCH * n for n in range(KNOTS)]
    values = [*usual, *(sum(log_s - usual[at] for at, log_s in night) / len(night) for night in nights)]
    for _ in range(_PASSES if nights else 0):
        values = _fitted(nights, values)
    return Slowing(tuple(value - values[0] for value in values[:KNOTS]))


def _fitted(nights: Sequence[Sequence[tuple[int, float]]], values: Sequence[float]) -> list[float]:
    """Return curve and nights' factors by least squares, weighted by how far off ``values`` are."""
    size = len(values)
    matrix, right = [[_LITTLE * (i == j) for j in range(size)] for i in range(size)], [0.0] * size

    def ask(terms: Sequence[tuple[int, float]], wanted: float, off: float) -> None:
        for i, a in terms:
            right[i] += a * wanted / off**2
            for j, b in terms:
                matrix[i][j] += a * b / off**2

    for n, night in enumerate(nights):
        for at, log_s in night:
            far = abs(log_s - values[at] - values[KNOTS + n]) / _OFF
            ask(((at, 1.0), (KNOTS + n, 1.0)), log_s, _OFF * max(1.0, far / _OUTLIER) ** 0.5)
    for at in range(KNOTS - 1):
        ask(((at, -1.0), (at + 1, 1.0)), -_USUAL_POWER * STRETCH, _USUAL_OFF)
    for at in range(KNOTS - 2):
        ask(((at, 1.0), (at + 1, -2.0), (at + 2, 1.0)), 0.0, _BENDS)
    return solved(matrix, right)


def time_constants(firing: PastFiring) -> list[tuple[int, float]]:
    """Return (which of the distances from the room, log of the time constant [s]) along the fall after the plan."""
    falls = firing.unpowered_falls()
    if not falls or not firing.ran or firing.ran[-1].part != len(firing.planned) - 1 or (
            firing.trace[falls[-1][0]][0] < firing.ran[-1].start_s):
        return []
    rows = falls[-1]
    curve, lowest_k = list[tuple[float, float]](), float("inf")
    for k in range(_SMOOTHED, len(rows) - _SMOOTHED):
        near = [firing.trace[i] for i in rows[k - _SMOOTHED:k + _SMOOTHED + 1]]
        above_k = sum(temp_c for _, temp_c in near) / len(near) - firing.room_c
        if 0.0 < above_k < lowest_k:
            lowest_k = above_k
            curve.append((sum(t_s for t_s, _ in near) / len(near), above_k))
    found = []
    passes = {at: _passes_s(curve, LOWEST_K * exp((at - 0.5) * STRETCH)) for at in range(KNOTS + 1)}
    for at in range(KNOTS):
        late_s, soon_s = passes[at], passes[at + 1]
        if late_s is not None and soon_s is not None and late_s - soon_s > _SHORTEST_S:
            found.append((at, log((late_s - soon_s) / STRETCH)))
    return found


def _passes_s(curve: Sequence[tuple[float, float]], above_k: float) -> float | None:
    """Return when a falling curve passes a distance from the room [s]; None where it does not."""
    for (before_s, before_k), (t_s, here_k) in pairwise(curve):
        if before_k >= above_k > here_k:
            return before_s + (t_s - before_s) * log(before_k / above_k) / log(before_k / here_k)
    return None
