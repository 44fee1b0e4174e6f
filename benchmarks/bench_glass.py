"""What the glass costs a reading: ``python -m benchmarks.bench_glass``.

Prints the processor time a reading of one thickness and of four, quiet and noisy, at several spacings; of a firing
twice as long, which must cost as much a reading; and of asking for the figures. The best of a few runs each.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from random import Random
from time import process_time

from daemon.glass.load import Load
from daemon.glass.materials import FAMILIES

RUNS = 5
AIM_US = 12.0
LEGS = ((620.0, 150.0, 0.0), (670.0, 50.0, 1800.0), (800.0, 250.0, 600.0), (516.0, 500.0, 7200.0), (460.0, 25.0, 0.0),
        (405.0, 45.0, 0.0), (40.0, 60.0, 0.0))
"""A full fuse of 12 mm as (to °C, °C/h, hold s); invented."""


def trace(step_s: float, noise_k: float, times: int = 1) -> list[tuple[float, float]]:
    """Return the readings of so many firings in a row (s, °C)."""
    rng = Random(1)

    def rows() -> Iterator[tuple[float, float]]:
        t_s, here_c = 0.0, 20.0
        for to_c, rate, hold_s in LEGS * times:
            n = max(1, round(abs(to_c - here_c) / rate * 3600 / step_s))
            for k in range(1, n + 1):
                yield t_s + step_s * k, here_c + (to_c - here_c) * k / n
            t_s += step_s * n
            held = round(hold_s / step_s)
            yield from ((t_s + step_s * k, to_c) for k in range(1, held + 1))
            t_s, here_c = t_s + step_s * held, to_c

    return [(t_s, temp_c + rng.gauss(0.0, noise_k)) for t_s, temp_c in rows()]


def best_s(work: Callable[[], object]) -> float:
    """Return the shortest processor time of a few runs [s]."""
    times = []
    for _ in range(RUNS):
        began_s = process_time()
        work()
        times.append(process_time() - began_s)
    return min(times)


def reading_us(rows: list[tuple[float, float]], *thicknesses_mm: float) -> float:
    """Return the cost of a reading [µs]."""
    def work() -> None:
        load = Load(FAMILIES["90"], thicknesses_mm, 1)
        for t_s, temp_c in rows:
            load.offer(t_s, temp_c)

    return best_s(work) / len(rows) * 1e6


def main() -> int:
    """Print the figures beside what they are to reach."""
    say = sys.stdout.write
    for noise_k in (0.0, 0.3):
        for step_s in (1.0, 5.0, 20.0, 60.0):
            rows = trace(step_s, noise_k)
            cost_us = reading_us(rows, 12.0)
            say(f"noise {noise_k:.1f} K, a reading each {step_s:>2.0f} s: {cost_us:6.1f} µs a reading, one "
                f"thickness (aim {AIM_US:g} at 5 s)\n")
    say(f"four thicknesses at 5 s:              {reading_us(trace(5.0, 0.0), 19.0, 12.0, 9.0, 6.0):6.1f} µs\n")
    say(f"three firings in a row at 5 s:        {reading_us(trace(5.0, 0.0, 3), 12.0):6.1f} µs\n")
    load = Load(FAMILIES["90"], (12.0,), 1)
    for t_s, temp_c in trace(5.0, 0.3):
        load.offer(t_s, temp_c)
    say(f"asking for the figures, noisy:        {best_s(load.figures) * 1e3:6.2f} ms\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
