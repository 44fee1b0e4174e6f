"""Simulated kilns that fire one plan after another, each night with another room, load and mains."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import NamedTuple

from simulations.faults import Fault, parse_all
from simulations.firing import Simulated, simulate
from simulations.firing import program as segments
from simulations.generator import random_habits, random_offset_k
from simulations.plant.surroundings import Surroundings
from simulations.random_kilns import hold_w, random_build, random_surroundings
from simulations.random_plans import Program
from simulations.second_plant.cases import random_bench, random_usual
from simulations.second_plant.firing import Bench, fire

UNTIDY_SHARE = 0.5
"""Share of the firings with vents, looks and minutes added."""
Fires = Callable[[Program, Random], Simulated]


class BenchNight(NamedTuple):
    """What differs from one firing of a kiln of the bench to the next."""

    around: Surroundings
    faults: tuple[Fault, ...]
    seed: int
    start_s: float


class BenchKiln:
    """A kiln of the bench with its controller and its probe."""

    def __init__(self, seed: int) -> None:
        rng = Random(f"learned kiln {seed}")
        self.build = random_build(rng)
        self._usual = random_surroundings(rng, self.build)
        self.offset_k = random_offset_k(rng)
        self.noise_k, self.wander_k, self.kind = rng.uniform(0.2, 1.1), rng.uniform(0.1, 0.5), rng.choice("KKKN")

    def night(self, made: Program, chance: Random) -> BenchNight:
        """Return a night at random."""
        usual, tonight = self._usual, random_surroundings(chance, self.build)
        around = replace(usual, room_c=tonight.room_c, day_s=tonight.day_s, load_share=tonight.load_share,
                         start_c=tonight.start_c,
                         mains_share=min(1.03, max(0.8, usual.mains_share * chance.uniform(0.97, 1.03))))
        habits = random_habits(chance, made) if chance.random() < UNTIDY_SHARE else ()
        return BenchNight(around, parse_all(habits), chance.randrange(2**31), chance.uniform(0, 200))


def bench_kiln(seed: int, change: Callable[[Surroundings], Surroundings] = lambda around: around) -> Fires:
    """Return how a kiln of the bench fires a program, where ``change`` makes its surroundings others."""
    kiln = BenchKiln(seed)

    def fires(made: Program, chance: Random) -> Simulated:
        night = kiln.night(made, chance)
        return simulate(made.plan, kiln.build, night.faults, night.seed, start_s=night.start_s,
                        offset_k=kiln.offset_k, noise_k=kiln.noise_k, wander_k=kiln.wander_k,
                        around=change(night.around), kind=kiln.kind, longest_s=72 * 3600.0)
    return fires


WEAK_DUTY = (0.55, 0.75)
"""Share of its power that holds a weak kiln at 800 °C, with full mains."""


def weak_kiln(seed: int, times: float = 1.0) -> Fires:
    """Return how a kiln with tired elements fires a program, or its twin with ``times`` its power.

    Nothing goes wrong, and the same chance gives the same night to both.
    """
    rng = Random(f"weak kiln {seed}")
    build = random_build(rng)
    build = replace(build, power_w=hold_w(build) / rng.uniform(*WEAK_DUTY))
    usual, offset_k = random_surroundings(rng, build), random_offset_k(rng)
    noise_k, wander_k = rng.uniform(0.2, 1.1), rng.uniform(0.1, 0.5)

    def fires(made: Program, chance: Random) -> Simulated:
        tonight = random_surroundings(chance, build)
        around = replace(usual, room_c=tonight.room_c, day_s=tonight.day_s, load_share=tonight.load_share,
                         start_c=tonight.start_c, mains_share=chance.uniform(0.97, 1.0))
        return simulate(made.plan, replace(build, power_w=times * build.power_w), (), chance.randrange(2**31),
                        start_s=chance.uniform(0, 200), offset_k=offset_k, noise_k=noise_k, wander_k=wander_k,
                        around=around, longest_s=72 * 3600.0)
    return fires


class SecondNight(NamedTuple):
    """What differs from one firing of a kiln of the second plant to the next."""

    bench: Bench
    faults: tuple[Fault, ...]
    seed: int


class SecondKiln:
    """A kiln of the second plant with its controller and its probe."""

    def __init__(self, seed: int) -> None:
        self.bench = random_bench(Random(f"learned second kiln {seed}"))

    def night(self, made: Program, chance: Random) -> SecondNight:
        """Return a night at random."""
        bench, room_c = self.bench, chance.uniform(8, 30)
        tonight = replace(bench, room_c=room_c, start_c=room_c + chance.uniform(0, 3), start_s=chance.uniform(0, 200),
                          covered=chance.uniform(0.2, 0.8),
                          mains_share=min(1.03, max(0.9, bench.mains_share * chance.uniform(0.97, 1.03))))
        return SecondNight(tonight, random_usual(chance, made), chance.randrange(2**31))


def second_kiln(seed: int) -> Fires:
    """Return how a kiln of the second plant fires a program."""
    kiln = SecondKiln(seed)

    def fires(made: Program, chance: Random) -> Simulated:
        night = kiln.night(made, chance)
        return fire(night.bench, segments(made.plan), night.faults, made.thickness_mm, night.seed)
    return fires


def still_room(around: Surroundings) -> Surroundings:
    """Return surroundings whose room stays as it is when the firing begins."""
    return replace(around, room_c=around.room_c + around.room_swing_k * around.time_of_day(0.0), room_swing_k=0.0)


def usual_load(around: Surroundings) -> Surroundings:
    """Return surroundings with the load that the kiln has in the mean."""
    return replace(around, load_share=1.0)
