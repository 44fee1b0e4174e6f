"""What is doubtful in a plan for a load, by rules of common practice and by the slabs of the load."""

from __future__ import annotations

from collections.abc import Iterator

from daemon.firing.advice.plan_glass import glass_doubts, planned_figures
from daemon.firing.plan.schedule import PlannedPart, anneal_hold, planned_parts
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.advice import anneal
from daemon.glass.practice import BRITTLE_BELOW_C, ORDINARY_DIFFERENCE_K, bearable_c_per_h

_LOOSE_LIMIT_C_PER_H = 250.0
"""Loose layers of 6 mm in all climb no faster below 540 °C; common practice."""


def doubts(setup: Setup) -> Iterator[str]:
    """Yield a sentence for each doubt about ``setup.plan`` for its load, that of practice first."""
    yield from practice_doubts(setup)
    yield from glass_doubts(setup, planned_figures(setup))


def practice_doubts(setup: Setup) -> Iterator[str]:
    """Yield a sentence for each doubt by rules of the workshop alone."""
    if setup.plan is None:
        return
    parts = planned_parts(setup.plan)
    words = Units(setup.unit)
    if anneal_hold(parts, setup.glass) is None:
        yield ("no step is an anneal hold: none is marked, and none is reached from above between "
               f"{words.temp(setup.glass.strain_point_c - 30)} and {words.temp(setup.glass.annealing_point_c + 35)}.")
    yield from _climbs(parts, words)
    yield from _falls(parts, setup, words)


def _climbs(parts: tuple[PlannedPart, ...], words: Units) -> Iterator[str]:
    for part in parts:
        if part.direction <= 0 or part.from_c >= BRITTLE_BELOW_C:
            continue
        if part.rate_c_per_h is None:
            yield f"step {part.step} climbs free below {words.temp(BRITTLE_BELOW_C)}, where glass is brittle."
        elif part.rate_c_per_h > _LOOSE_LIMIT_C_PER_H:
            yield (f"step {part.step} climbs {words.rate(part.rate_c_per_h)} below "
                   f"{words.temp(BRITTLE_BELOW_C)}; common practice stays under "
                   f"{words.rate(_LOOSE_LIMIT_C_PER_H)} for loose layers, and slower for fused plates.")


def _falls(parts: tuple[PlannedPart, ...], setup: Setup, words: Units) -> Iterator[str]:
    bears = bearable_c_per_h(setup.thickness_mm, setup.faces)
    # What is advised is not doubted: glass sets above its strain point, little sets below it.
    advised = [stage.rate_c_per_h for stage in anneal(setup.glass, setup.thickness_mm, setup.faces).stages]
    low, high = setup.glass.band_low_c, setup.glass.band_high_c
    hold = anneal_hold(parts, setup.glass)
    for part in parts:
        if part.direction >= 0 or (hold is not None and part.index < hold.index):
            continue
        if part.to_c >= high or part.from_c <= low:
            continue
        rate = part.rate_c_per_h
        if rate is None:
            yield (f"step {part.step} falls free through the annealing range "
                   f"({words.temp(high)} to {words.temp(low)}); {setup.thickness_mm:g} mm ordinarily bears about "
                   f"{words.rate(bears)} there.")
        elif -rate > max(bears, advised[part.from_c <= setup.glass.strain_point_c]):
            yield (f"step {part.step} falls {words.rate(rate)}; {setup.thickness_mm:g} mm ordinarily bears about "
                   f"{words.rate(bears)} there ({words.difference(ORDINARY_DIFFERENCE_K)} between the faces, "
                   f"{setup.faces} cooled).")
