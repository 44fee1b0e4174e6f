"""By how much a kiln's fall becomes slower as the kiln gets colder: its time constant, by the distance from the room.

Newton's law of cooling has one time constant. A kiln's grows while it falls, fast at first and hardly at the end: the
chamber falls to the walls before it falls with them, and the lining conducts worse when it is colder. How much is a
property of the kiln; what the time constant is tonight depends on the load, and is measured.
"""

from __future__ import annotations

from math import ceil, exp, log
from typing import NamedTuple

LOWEST_K, STRETCH = 8.0, 0.15
"""Distances from the room at which the time constant is known: the lowest [K], and by which logarithm each is further
[1]. [chosen: below it readings wander by a tenth; a seventh finer than the curve bends]"""
KNOTS = 27
"""And how many. [derived: to 400 K, where most last falls begin]"""
_STEP = 0.05
"""Step of the integral, as a logarithm [1]. [chosen: the error is far below a minute]"""


class Slowing(NamedTuple):
    """A kiln's time constant along its last fall, but for one factor."""

    log_times: tuple[float, ...]
    """Its logarithm at each of KNOTS distances from the room, rising from LOWEST_K."""

    def log_time(self, above_k: float) -> float:
        """Return the logarithm so far above the room [K]; beyond the ends as there."""
        at = min(max(0.0, log(above_k / LOWEST_K) / STRETCH), len(self.log_times) - 1.0)
        below = min(int(at), len(self.log_times) - 2)
        low, high = self.log_times[below], self.log_times[below + 1]
        return low + (at - below) * (high - low)

    def time_s(self, measured_s: float, at_k: float, above_k: float) -> float:
        """Return the time constant ``above_k`` above the room, where it was ``measured_s`` at ``at_k`` [s, K]."""
        return measured_s * exp(self.log_time(above_k) - self.log_time(at_k))

    def takes_s(self, measured_s: float, at_k: float, from_k: float, to_k: float) -> float:
        """Return how long a fall takes between two distances from the room, with a time constant measured at one [s].

        The integral of the time constant over the logarithm of the distance, by the midpoint rule.
        """
        if from_k <= to_k:
            return 0.0
        steps = ceil(log(from_k / to_k) / _STEP)
        each = log(from_k / to_k) / steps
        return each * sum(self.time_s(measured_s, at_k, to_k * exp((n + 0.5) * each)) for n in range(steps))


def by_power(power: float) -> Slowing:
    """Return a time constant in proportion to (temperature − room) ** −power; 0 is Newton's law."""
    return Slowing(tuple(-power * n * STRETCH for n in range(KNOTS)))
