"""The noise of a reading: white noise, a slow wander, hum and spikes; the same for the same seed."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi, sin
from random import Random
from typing import Protocol

from daemon.firing.events import Sample
from simulations.plant.kiln import STEP_S

NOISE_K = 0.5
"""White noise of one second's reading, standard deviation [K]. [common practice: wiring beside a contactor]"""
WANDER_K = 0.4
"""Slow wander, standard deviation [K]. [common practice: draughts and the stirring of the air]"""
WANDER_S = 1200.0
"""Correlation time of the wander [s]. [common practice: draughts turn round in a quarter of an hour or so]"""
CODES_PER_C = 128
"""The chip tells temperatures in 1/128 °C. [source: MAX31856 data sheet, front page]"""
HUM_S = 97.0
"""The mains' residue is seen as a slow beat between its frequency and the chip's own filter [s].
[chosen: a prime, so that it falls in step with no reading interval]"""
LONGEST_SPIKE_S = 9
"""A burst of bad readings lasts up to this long [s]. [chosen: up to two stored readings]"""
SPIKE_K = (15.0, 90.0)
"""Least and greatest size of a spike, either way [K]. [chosen: far above the noise, as a contactor's kick is]"""


class Disturbance(Protocol):
    """What disturbs the wires just now."""

    hum_k: float
    spikes_per_h: float


class Noise:
    """White noise, slow wander, and, where faults ask for it, the mains' hum and spikes.

    Parameters
    ----------
    seed
        The same seed gives the same noise.
    noise_k, wander_k
        Standard deviations [K].
    """

    def __init__(self, seed: int, noise_k: float = NOISE_K, wander_k: float = WANDER_K) -> None:
        # One stream each, so that a fault changes no other noise; the summands are any primes.
        self._white = Random(seed + 7919).gauss
        self._slow = Random(seed + 104729).gauss
        self._rare = Random(seed + 1299709)
        self._noise_k = noise_k
        self._keep = 1 - STEP_S / WANDER_S
        self._kick_k = wander_k * (1 - self._keep**2) ** 0.5
        self._wander_k = self._slow(0.0, wander_k) if wander_k else 0.0
        self._hum_k = self._spikes_per_h = 0.0
        self._second = 0
        self._spike_left = 0
        self._spike_k = 0.0

    def advance(self, disturbance: Disturbance | None = None) -> None:
        """Move the wander on by STEP_S seconds, with the wires disturbed as ``disturbance`` says."""
        if self._kick_k:
            self._wander_k = self._wander_k * self._keep + self._slow(0.0, self._kick_k)
        if disturbance is not None:
            self._hum_k, self._spikes_per_h = disturbance.hum_k, disturbance.spikes_per_h

    def draw_k(self) -> float:
        """Return the error of one second's reading [K]."""
        quiet_k = self._wander_k + (self._white(0.0, self._noise_k) if self._noise_k else 0.0)
        if not (self._hum_k or self._spikes_per_h):
            return quiet_k
        self._second += 1
        return quiet_k + self._hum_k * sin(2 * pi * self._second / HUM_S) + self._spike_now_k()

    def _spike_now_k(self) -> float:
        """Return the spike in this second's reading [K]; 0 where there is none."""
        if not self._spike_left and self._rare.random() < self._spikes_per_h / 3600:
            self._spike_left = self._rare.randint(1, LONGEST_SPIKE_S)
            self._spike_k = self._rare.uniform(*SPIKE_K) * self._rare.choice((-1, 1))
        if not self._spike_left:
            return 0.0
        self._spike_left -= 1
        return self._spike_k


def stored(t_s: float, temps_c: Sequence[float]) -> Sample:
    """Return the stored reading of the five seconds that end at ``t_s``, as the service would keep it."""
    codes = sorted(round(temp_c * CODES_PER_C) for temp_c in temps_c)
    return Sample(
        t_s, codes[len(codes) // 2] / CODES_PER_C, None, codes[0] / CODES_PER_C, codes[-1] / CODES_PER_C,
    )
