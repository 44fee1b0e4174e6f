"""How fast the bench is: ``python benchmarks/bench_simulations.py``.

Prints the speed of the kiln alone, of a simulated firing, and of one read second by second through chip
and real driver; the best of a few runs each.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from time import perf_counter

from simulations.bench import REHEARSAL_PLAN, plan_from, simulate_through_chip
from simulations.firing import simulate
from simulations.plant.builds import PRESETS
from simulations.plant.kiln import STEP_S, Kiln

RUNS = 3
KILN_AIM = 150_000
CHIP_AIM_S = 6.0
TWENTY_HOURS_S = 20 * 3600.0


def best_s(work: Callable[[], object]) -> float:
    """Return the shortest time of a few runs [s]."""
    times = []
    for _ in range(RUNS):
        began_s = perf_counter()
        work()
        times.append(perf_counter() - began_s)
    return min(times)


def kiln_alone(name: str, steps: int = 50_000) -> float:
    """Return how many times real time one kiln model runs."""
    build = PRESETS[name]

    def work() -> None:
        kiln = Kiln(build)
        for _ in range(steps):
            kiln.step(STEP_S, 0.4 * build.power_w)

    return steps * STEP_S / best_s(work)


def main() -> int:
    """Print the figures beside what they are to reach."""
    plan = plan_from(REHEARSAL_PLAN)
    say = sys.stdout.write
    for name in PRESETS:
        say(f"kiln alone, {name:<18} {kiln_alone(name):>12,.0f} times real time (aim {KILN_AIM:,})\n")
    fast_s = best_s(lambda: simulate(plan, until_c=-300.0, longest_s=TWENTY_HOURS_S))
    say(f"20 h firing, without the driver   {fast_s:>8.2f} s\n")
    full_s = best_s(lambda: simulate_through_chip(plan, until_c=-300.0, longest_s=TWENTY_HOURS_S))
    say(f"20 h firing, driver on the chip   {full_s:>8.2f} s at a reading a second (aim {CHIP_AIM_S:g} s)\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
