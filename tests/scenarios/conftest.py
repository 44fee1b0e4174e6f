"""Traces drawn by hand, for what the bench's kilns don't do."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import pytest

from daemon.firing.events import Sample


@pytest.fixture(scope="session")
def drawn():
    """Return a function that draws a noisy trace through corner points (minute, °C)."""

    def draw(*points: tuple[float, float], noise_k: float = 0.3, every_s: float = 5.0, seed: int = 1) -> list[Sample]:
        rng = Random(seed)
        samples = []
        for (from_min, from_c), (to_min, to_c) in pairwise(points):
            count = round((to_min - from_min) * 60 / every_s)
            rise_c = (to_c - from_c) / count
            samples += [Sample(from_min * 60 + every_s * n, from_c + rise_c * n + rng.gauss(0, noise_k))
                        for n in range(count)]
        return [*samples, Sample(points[-1][0] * 60, points[-1][1])]

    return draw
