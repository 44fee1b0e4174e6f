"""What the probe loses when the elements fall silent, as this kiln has shown it in this firing.

A probe sees something of the glowing elements, and more or less of the walls. Where the elements begin to heat
again after a fall, its reading rises by that share, over minutes, with the glass hardly warmer. Where they fall
silent at the beginning of a planned fall, the reading sinks by about as much in about as long, with the glass hardly
cooler. So the beginning of an anneal hold shows beforehand what its end will look like.
"""

from __future__ import annotations

MOST_K = 17.0
"""More than this is not the elements' share [K]. [common practice: 3 to 17 K, by kiln and place of the probe]"""
_SHOWS_S = 2400.0
"""For so long after a fall the rise counts [s]. [common practice: half an hour, and a little more]"""
_LOWEST_S = 900.0
"""Within so long after a fall the reading is lowest [s]. [chosen: before the shortest anneal hold ends]"""
_STEP_K = 0.5
"""A rise is followed in steps of so much [K]. [chosen: the noise of most probes, at the median of half a minute]"""
_MOST_OF_IT = 0.8
"""A rise has taken as long as this share of it took [1]. [chosen: of an exponential it takes 1.6 time constants, and
its end, which no one can date, is left out]"""


class ElementShare:
    """Learns the share from the end of each fall without power; sees every beat."""

    def __init__(self) -> None:
        self._steps: list[tuple[float, float]] = []
        """The lowest reading after the last such fall and each new highest after it [s, °C]."""

    def see(self, t_s: float, temp_c: float, fell_until_s: float | None) -> None:
        """Take a beat: the temperature [°C], and when the kiln last fell as it does without power [s]."""
        if fell_until_s is None or t_s - fell_until_s > _SHOWS_S:
            return
        is_lower = not self._steps or temp_c < self._steps[0][1]
        if t_s == fell_until_s or (is_lower and t_s - fell_until_s < _LOWEST_S):
            self._steps = [(t_s, temp_c)]
        elif self._steps and temp_c > self._steps[-1][1] + _STEP_K:
            self._steps.append((t_s, temp_c))

    @property
    def share_k(self) -> float:
        """Return by how much the reading rose [K], MOST_K at most; 0 where no hold has shown it."""
        return min(MOST_K, self._steps[-1][1] - self._steps[0][1]) if self._steps else 0.0

    @property
    def takes_s(self) -> float:
        """Return how long most of the rise took [s]; 0 where no hold has shown it."""
        if not self._steps:
            return 0.0
        low_s, low_c = self._steps[0]
        most_c = low_c + _MOST_OF_IT * (self._steps[-1][1] - low_c)
        return next(t_s for t_s, temp_c in self._steps if temp_c >= most_c) - low_s
