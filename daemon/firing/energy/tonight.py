"""The firing that runs, as forecast and watches follow it: the room, and how warm the walls are by now."""

from __future__ import annotations

from daemon.firing.energy.thermal import Thermal, walls_along
from daemon.firing.plan.schedule import ASSUMED_ROOM_C

WARMEST_ROOM_C = 33.0
"""A firing that begins below this begins at the temperature of the room [°C]. [chosen: a studio in summer]"""
_MINUTE_S = 60.0
"""The walls are followed by means of so long [s]. [chosen: as daemon.store.readings.by_minute]"""


class Tonight:
    """Takes the readings of one firing in order; what it knows depends on them alone.

    Parameters
    ----------
    thermal
        The kiln's figures.
    """

    def __init__(self, thermal: Thermal) -> None:
        self._thermal = thermal
        self._minute: list[tuple[float, float]] = []
        self._last: tuple[float, float] | None = None
        self._walls_c = 0.0
        self.first_c: float | None = None
        """The temperature of the first minute [°C]; None until it is over."""
        self.room_c = ASSUMED_ROOM_C
        """Temperature of the room [°C]: the first reading, where the kiln was cold; else assumed."""

    def take(self, t_s: float, temp_c: float) -> None:
        """Take a reading [s, °C], as the owner's correction leaves it."""
        minute = self._minute
        if minute and t_s // _MINUTE_S != minute[0][0] // _MINUTE_S:
            mean = sum(t for t, _ in minute) / len(minute), sum(c for _, c in minute) / len(minute)
            self._go_on(mean)
            minute.clear()
        minute.append((t_s, temp_c))

    def _go_on(self, mean: tuple[float, float]) -> None:
        if self._last is None:
            self._walls_c = self.first_c = mean[1]
            if mean[1] < WARMEST_ROOM_C:
                self.room_c = mean[1]
        else:
            self._walls_c = walls_along(self._thermal, [self._last, mean], self.room_c, self._walls_c)[-1]
        self._last = mean

    @property
    def walls_c(self) -> float | None:
        """Return the temperature of the walls [°C]; None in the first minute."""
        return None if self._last is None else self._walls_c
