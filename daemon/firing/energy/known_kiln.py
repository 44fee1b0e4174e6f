"""What earlier firings of this kiln taught, as the watches compare a night with it.

It is plain data, and it is fixed when a firing begins. Who learns it is told in daemon/kiln/for_watches.py.
"""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.energy.thermal import Heat, Thermal, losing_k_per_s, soaked
from daemon.firing.energy.tonight import Tonight

_WALLS_KNOWN_BELOW_C = 60.0
"""A kiln that is warmer when its readings begin has walls of which nothing is known [°C]. [chosen: below it walls and
chamber differ by less than a firing warms them in some minutes]"""


class KnownKiln(NamedTuple):
    """One kiln with the probe, elements and lining that are in now; from firings in which nothing was told."""

    thermal: Thermal
    power_k_per_s: float
    """The most that its elements have shown: how fast they alone would heat the chamber [K/s]."""
    waits_s_per_k: float
    """By how much the controller makes each kelvin of a climb longer [s/K]."""
    climb_off: float
    """One deviation of the power in a climb from what was due, as a share of it [1]."""


class KilnNow(NamedTuple):
    """The known kiln at one moment of a firing."""

    known: KnownKiln
    walls_c: float
    """Temperature of the walls, as the readings so far have warmed them [°C]."""
    room_c: float

    def natural_k_per_s(self, temp_c: float) -> float:
        """Return how fast the kiln falls without power at ``temp_c`` [K/s]; below 0 where its walls warm it."""
        return losing_k_per_s(self.known.thermal, Heat(temp_c, self.walls_c), self.room_c)

    def before(self, ago_s: float, temp_c: float) -> KilnNow:
        """Return the kiln as it was ``ago_s`` earlier [s], when it had ``temp_c`` [°C]."""
        return self._replace(walls_c=soaked(self.known.thermal, self.walls_c, temp_c, -ago_s, self.room_c))

    def most_k_per_s(self, temp_c: float) -> float:
        """Return how fast it climbs at ``temp_c`` with all the power that it has shown [K/s]."""
        return self.known.power_k_per_s - self.natural_k_per_s(temp_c)

    def due_k_per_s(self, temp_c: float, planned_k_per_s: float) -> float:
        """Return the power that a climb takes at ``temp_c`` [K/s of the chamber].

        It is what the planned rate asks, with the controller's usual waiting, or all that the kiln has shown.
        """
        return min(self.known.power_k_per_s, self.led_k_per_s(planned_k_per_s) + self.natural_k_per_s(temp_c))

    def led_k_per_s(self, planned_k_per_s: float) -> float:
        """Return how fast the controller leads a climb [K/s]: as planned, with its usual waiting."""
        return 1 / (1 / planned_k_per_s + self.known.waits_s_per_k)


def kiln_now(known: KnownKiln | None, tonight: Tonight | None) -> KilnNow | None:
    """Return the known kiln as it is by now; None where it is not known, or its walls are not."""
    if known is None or tonight is None or tonight.first_c is None or tonight.walls_c is None or (
            tonight.first_c > _WALLS_KNOWN_BELOW_C):
        return None
    return KilnNow(known, tonight.walls_c, tonight.room_c)
