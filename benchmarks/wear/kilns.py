"""Kilns that fire a dozen plans and then wear, simulated cheaply: only what a kiln is learned from is written down.

The parts are those that the controller ran, put off by what the follower usually is; it is not run here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from random import Random
from statistics import mean
from typing import NamedTuple, Protocol

from benchmarks.foresight.kilns import BenchKiln, SecondKiln
from daemon.firing.plan.schedule import PlannedPart, planned_parts
from daemon.kiln.past_firing import PastFiring, Ran
from simulations.firing import program as segments
from simulations.noise import Noise
from simulations.plant.plant import Plant
from simulations.random_plans import Program, random_program
from simulations.second_plant.firing import Plant as SecondPlant

COLD_C, LONGEST_S = 55.0, 48 * 3600.0
"""A firing is written down until it is so cold, and no longer than this [°C, s]. [chosen: below, nothing is
learned]"""
DATED_S = 60.0
"""The follower dates a boundary with about this deviation [s]. [chosen: a minute]"""
_MEDIAN_OF_FIVE = 0.54
"""Noise of a stored reading, as a share of that of one second. [derived: the median of five normal deviates]"""


class Wear(NamedTuple):
    """What differs from the kiln as it was."""

    power: float = 1.0
    loss: float = 1.0
    probe_k: float = 0.0


SOUND = Wear()


class Fired(NamedTuple):
    """A firing, and how hard its elements worked."""

    past: PastFiring
    duties: Sequence[float]
    """Share of the full power in each minute of the trace [1]."""


class _Running(Protocol):
    """What both plants have, as far as it is needed here."""

    t_s: float

    def advance(self) -> None: ...


class _RanPart(Protocol):
    """A part that a controller ran."""

    @property
    def step(self) -> int: ...

    @property
    def part(self) -> str: ...

    @property
    def start_s(self) -> float: ...

    @property
    def end_s(self) -> float | None: ...


Read = Callable[[], float | None]


def fired(plant: str, seed: int, number: int, wear: Wear = SOUND) -> Fired:
    """Return a kiln's firing of that number; the night and its plan are the same whatever is worn."""
    chance = Random(f"wear {plant} {seed} {number}")
    made = random_program(chance)
    return _second(_second_kiln(seed), made, chance, wear) if plant == "second" else _bench(
        BenchKiln(seed), made, chance, wear)


_second_kiln = lru_cache(maxsize=4)(SecondKiln)


def _bench(kiln: BenchKiln, made: Program, chance: Random, wear: Wear) -> Fired:
    night, build = kiln.night(made, chance), kiln.build
    lining = replace(build.lining, k0=build.lining.k0 * wear.loss, k1=build.lining.k1 * wear.loss)
    worn = replace(build, power_w=build.power_w * wear.power, lining=lining,
                   leak_w_per_k=build.leak_w_per_k * wear.loss)
    full_w = worn.power_w * night.around.mains_share
    plant = Plant(worn, segments(made.plan), night.faults, night.start_s, night.around, kiln.kind)
    noise = Noise(night.seed, kiln.noise_k * _MEDIAN_OF_FIVE, kiln.wander_k)

    def read() -> float | None:
        noise.advance(plant.mishaps.effects)
        shown_c = None if plant.probe_fault else plant.shown_c
        return None if shown_c is None else shown_c + kiln.offset_k + wear.probe_k + noise.draw_k()

    return _run(plant, made, read, lambda: plant.kiln.in_j / full_w, lambda: plant.over, plant.controller.ran,
                chance)


def _second(kiln: SecondKiln, made: Program, chance: Random, wear: Wear) -> Fired:
    night = kiln.night(made, chance)
    build = night.bench.kiln
    worn = replace(build, power_w=build.power_w * wear.power, wall_w_m_k=build.wall_w_m_k * wear.loss,
                   leak_w_per_k=build.leak_w_per_k * wear.loss)
    full_w = worn.power_w * night.bench.mains_share
    plant = SecondPlant(replace(night.bench, kiln=worn), segments(made.plan), night.faults, made.thickness_mm)
    logger = night.bench.logger
    noise = Noise(night.seed, logger.noise_k * _MEDIAN_OF_FIVE, logger.wander_k)

    def read() -> float | None:
        noise.advance()
        if plant.effects.probe:
            return None
        return plant.probe.reads_c + wear.probe_k + logger.drift_k * plant.t_s / 86_400 + noise.draw_k()

    return _run(plant, made, read, lambda: plant.kiln.power_j / full_w, lambda: plant.is_over,
                plant.controller.ran, chance)


def _run(plant: _Running, made: Program, read: Read, worked_s: Callable[[], float], is_over: Callable[[], bool],
         ran: Sequence[_RanPart], chance: Random) -> Fired:
    while plant.t_s < 0.0:
        plant.advance()
    trace: list[tuple[float, float]] = []
    duties: list[float] = []
    minute: list[tuple[float, float]] = []
    worked, minute_s = worked_s(), 60.0
    while plant.t_s < LONGEST_S:
        plant.advance()
        reading_c = read()
        if reading_c is not None:
            minute.append((plant.t_s, reading_c))
        if plant.t_s < minute_s:
            continue
        minute_s += 60.0
        if minute:
            trace.append((mean(t_s for t_s, _ in minute), mean(temp_c for _, temp_c in minute)))
            duties.append((worked_s() - worked) / 60.0)
            minute = []
        worked = worked_s()
        if is_over() and trace and trace[-1][1] < COLD_C:
            break
    planned = planned_parts(made.plan)
    return Fired(PastFiring(planned, _dated(planned, ran, trace[-1][0], chance), trace), duties)


def _dated(planned: Sequence[PlannedPart], ran: Sequence[_RanPart], end_s: float, chance: Random) -> list[Ran]:
    """Return the parts that the controller ran, each boundary as the follower would have dated it."""
    index = {(part.step, part.part): part.index for part in planned}
    found, off_s = [], chance.gauss(0.0, DATED_S)
    for one in ran:
        at = index.get((one.step, one.part))
        start_s, next_off_s = one.start_s + off_s, chance.gauss(0.0, DATED_S)
        if at is not None and one.end_s is not None:
            is_last = at == len(planned) - 1
            found.append(Ran(at, start_s, end_s if is_last else one.end_s + next_off_s))
        off_s = next_off_s
    return found


def with_probe(one: Fired, off_k: float) -> Fired:
    """Return a firing as it is read by a probe that reads higher by so much [K]."""
    past = one.past
    trace = [(t_s, temp_c + off_k) for t_s, temp_c in past.trace]
    return one._replace(past=PastFiring(past.planned, past.ran, trace))
