"""While no firing is open: the last half hour in memory, and a climb that opens one by itself."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from itertools import islice
from statistics import median

from daemon.acquisition.sampling import SLOT_S
from daemon.firing.events import Sample

KEPT_S = 30 * 60
SLOPE_S = 5 * 60
"""How long readings are kept, and over how long the climb is measured [s]. [chosen: half an hour holds the foot of
a slow climb; five minutes average the noise away]"""
LEAST_SLOPE_C_PER_H = 40.0
"""Slower than the slowest first ramp of thick work, about 55 °C/h, and faster than a room warms: a kiln standing in
the sun or beside a stove does some 10 °C/h [°C/h]. [common practice: both rates]"""
LEAST_RISE_C = 12.0
"""Over the lowest of the kept half hour [°C]. [chosen: more than a room warms in that time, far above the noise]"""
LEAST_TEMP_C = 35.0
"""Below it a climb may still be the weather [°C]. [chosen: above any room]"""
_MINUTE = 60 // SLOT_S
"""Stored readings in a minute. [derived: 60 s by SLOT_S]"""


class Idle:
    """The readings of the last half hour, none of them stored yet."""

    def __init__(self) -> None:
        self.samples: deque[Sample] = deque()

    def add(self, sample: Sample) -> bool:
        """Keep a reading; return whether a kiln is climbing, so that a firing should be opened."""
        self.samples.append(sample)
        while sample.t_s - self.samples[0].t_s > KEPT_S:
            self.samples.popleft()
        return climbs(self.samples)

    def take(self) -> list[Sample]:
        """Return the kept readings and forget them."""
        kept = list(self.samples)
        self.samples.clear()
        return kept


def climbs(samples: Sequence[Sample]) -> bool:
    """Return whether the readings show a sustained climb, robust against single wrong ones.

    The kiln is above LEAST_TEMP_C, at least LEAST_RISE_C over the lowest reading kept, its slope over the
    last five minutes (the median over pairs half of that apart) is at least LEAST_SLOPE_C_PER_H, and it is
    not below what it had before that lowest reading: a lid opened and shut on a cooling kiln is no firing.
    """
    if not samples or samples[-1].temp_c is None:
        return False
    now_c = median(islice((s.temp_c for s in reversed(samples) if s.temp_c is not None), _MINUTE // 2))
    if now_c < LEAST_TEMP_C:
        return False  # as nearly always; what follows looks through half an hour
    known = [(s.t_s, s.temp_c) for s in samples if s.temp_c is not None]
    if len(known) < 2 * _MINUTE:
        return False
    temps = [c for _, c in known]
    now_s, lowest_c = known[-1][0], min(temps)
    if now_c - lowest_c < LEAST_RISE_C:
        return False
    slope = slope_c_per_h([(t, c) for t, c in known if now_s - t <= SLOPE_S])
    if slope is None or slope < LEAST_SLOPE_C_PER_H:
        return False
    before = temps[:temps.index(lowest_c)]
    minutes = [median(before[i:i + _MINUTE]) for i in range(0, len(before), _MINUTE)]
    return not minutes or now_c >= max(minutes)


def slope_c_per_h(points: Sequence[tuple[float, float]]) -> float | None:
    """Return the median slope [°C/h] over pairs of (second, °C) half the stretch apart; None if too short."""
    if len(points) < _MINUTE or points[-1][0] - points[0][0] < 0.8 * SLOPE_S:
        return None
    half = len(points) // 2
    return median((c1 - c0) / (t1 - t0) * 3600
                  for (t0, c0), (t1, c1) in zip(points, points[half:], strict=False))
