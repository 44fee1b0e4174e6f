"""The bench as it first was: seven kilns, one control law, sensors that differ by a constant.

What the watcher grew up with. It wakes nobody here, and the firings that taught it something stay as cases, named
``first-clean-17``, ``first-lid-17`` and so on. Studies are made on the wider one of ``simulations.random_kilns``.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from simulations.firing import random_sensor_offset_k
from simulations.plant.builds import PRESETS, Build
from simulations.plant.power_loop import Tuning
from simulations.plant.surroundings import Surroundings
from simulations.random_plans import Program

CRASHED_OVER_K = 100.0
"""Nobody crash cools a piece fired no further than this above its anneal [K]: the vent would have to be shut again
before it is open, for a crash cool ends above the anneal. [common practice]"""
INTERVALS_S = (5,) * 18 + (60, 60, 1)
"""Seconds between the readings of a logger, each as often as it is drawn. [chosen: Lehrling's own mostly]"""
TOLD_SHARE = 0.2
"""Share of the owners who have told Lehrling the probe's offset. [chosen: some]"""


def random_build(rng: Random) -> Build:
    """Return one of the bench's kilns, at random, with its power and its leaks varied."""
    build = PRESETS[rng.choice(tuple(PRESETS))]
    return replace(build, power_w=build.power_w * rng.uniform(0.9, 1.15), leak_w_per_k=build.leak_w_per_k *
                   rng.uniform(0.6, 1.8))


def random_surroundings(rng: Random, build: Build, *, tidy: bool = False) -> Surroundings:
    """Return room, mains, load, controller and probe at random.

    A ``tidy`` firing has no weak mains, no controller that waits, and no warm start. The ``build`` is not regarded:
    every kiln had the same sort of controller.
    """
    del build
    tuning = Tuning(
        band_k=rng.uniform(15, 30), integral_s=rng.uniform(300, 700), derivative_s=rng.uniform(15, 40),
        feed_per_k=rng.uniform(4e-4, 6e-4), wait_k=rng.uniform(3, 10), arrive_k=rng.uniform(1.0, 3.0),
        cycle_s=rng.choice((5.0, 10.0, 20.0, 30.0, 30.0)),
        stretch=rng.uniform(1.1, 1.8) if not tidy and rng.random() < 0.12 else 1.0,
    )
    weak = not tidy and rng.random() < 0.1
    return Surroundings(
        room_c=rng.uniform(9, 28), room_swing_k=rng.uniform(0, 5), day_s=rng.uniform(0, 86_400),
        mains_share=rng.uniform(0.72, 0.85) if weak else rng.uniform(0.92, 1.03), mains_swing=rng.uniform(0, 0.02),
        sensor_offset_k=random_sensor_offset_k(rng), load_share=rng.uniform(0.6, 1.4),
        start_c=rng.uniform(60, 250) if not tidy and rng.random() < 0.05 else None,
        sheath_mm=rng.choice((1.5, 3.0, 3.0, 3.0, 4.5, 6.0)),
        hysteresis_k=rng.uniform(0, 4) if rng.random() < 0.5 else 0.0, tuning=tuning,
    )


def pressed_late_s(rng: Random) -> float:
    """Return how long before start is pressed in Lehrling the controller was started, where it was [s]."""
    return rng.uniform(60, 1200)


def random_habits(rng: Random, program: Program) -> tuple[str, ...]:
    """Return what a maker does to a firing without anything being wrong, spelt as faults are."""
    fall, found = f"step{program.anneal}", []
    chance = rng.random
    if chance() < 0.12:
        crash = rng.choice((
            f"vent={rng.uniform(0.3, 1.0):.2f},{rng.uniform(4, 10):.0f}min@{fall}:ramp+60s",
            f"ajar={rng.uniform(0.04, 0.12):.2f},{rng.uniform(2, 4):.0f}min@{fall}:ramp+30s",
        ))
        steps = program.plan.steps
        if steps[program.top - 1].to_c - steps[program.anneal - 1].to_c > CRASHED_OVER_K:
            found.append(crash)
    if chance() < 0.10:
        found.append(f"vent={rng.uniform(0.05, 0.15):.2f},{rng.uniform(1, 2.5):.1f}h@step1:ramp")
    if program.thickness_mm <= 9 and chance() < 0.35:
        found.append(rng.choice((f"vent=0.4@below{rng.randint(120, 200)}", f"ajar=0.15@below{rng.randint(80, 150)}")))
    if chance() < 0.15:
        found += [
            f"lid={rng.uniform(5, 20):.0f}s@step{program.top}:hold+{60 + 150 * n}s" for n in range(rng.randint(1, 2))]
    if chance() < 0.12:
        found.append(rng.choice((
            f"hold-long={rng.uniform(1.1, 1.45):.2f}@step{program.top}",
            f"hold-long={rng.uniform(1.2, 2.0):.2f}@step{program.anneal}",
        )))
    if chance() < 0.08:
        found.append(f"gap={rng.uniform(2, 20):.0f}min@{rng.uniform(0.5, 9):.1f}h")
    if chance() < 0.10:
        found.append(f"spikes={rng.uniform(0.3, 4):.1f}")
    if chance() < 0.04:
        found.append(f"power-cut={rng.uniform(5, 25):.0f}s@{rng.uniform(0.5, 9):.1f}h")
    if chance() < 0.06:
        found.append(f"swing={rng.uniform(1, 3.5):.1f}@step{rng.choice((program.top, program.anneal))}")
    return tuple(found)
