"""What is doubtful in a plan for a load, by rules of common practice and by the slabs of the load."""

from __future__ import annotations

from collections.abc import Iterator

from daemon.firing.advice.plan_glass import glass_doubts, planned_figures
from daemon.firing.plan.schedule import PlannedPart, anneal_hold, planned_parts, squeezes
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.advice import anneal, heating_limit
from daemon.glass.common_practice import AS_GOOD_TIMES, brittle_below_c

COLDEST_C = 10.0
"""No kiln cools below this [°C]. [chosen: a cold workshop in winter]"""


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
    for part in parts:
        if part.direction and part.to_c < COLDEST_C:
            yield f"step {part.step} goes to {words.temp(part.to_c)}, colder than a room. The kiln never gets there."
    yield from _climbs(parts, setup, words)
    yield from _falls(parts, setup, words)


def _climbs(parts: tuple[PlannedPart, ...], setup: Setup, words: Units) -> Iterator[str]:
    """Yield a sentence for each climb that is free, or faster than the load bears, while the glass is brittle."""
    brittle_c = brittle_below_c(setup.glass)
    loose = squeezes(parts)
    limit, rule = heating_limit(setup.glass, setup.thickness_mm, setup.faces, loose=loose)
    layers = "in loose layers" if loose else "fused in one"
    bears = f"{setup.thickness_mm:g} mm {layers} ordinarily bears about {words.rate(limit)} ({rule})."
    for part in parts:
        rate = part.rate_c_per_h
        if part.direction <= 0 or part.from_c >= brittle_c:
            continue
        if rate is None:
            yield f"step {part.step} climbs free below {words.temp(brittle_c)}, where the glass is brittle; {bears}"
        elif rate > AS_GOOD_TIMES * limit:
            yield f"step {part.step} climbs {words.rate(rate)} below {words.temp(brittle_c)}; {bears}"


def _falls(parts: tuple[PlannedPart, ...], setup: Setup, words: Units) -> Iterator[str]:
    """Yield a sentence for each fall through the annealing range that is free, or faster than is advised there."""
    asks = anneal(setup.glass, setup.thickness_mm, setup.faces)
    mm, faces = f"{setup.thickness_mm:g} mm", "one cooled face" if setup.faces == 1 else "two cooled faces"
    low, high = setup.glass.band_low_c, setup.glass.band_high_c
    hold = anneal_hold(parts, setup.glass)
    for part in parts:
        if part.direction >= 0 or (hold is not None and part.index < hold.index):
            continue
        if part.to_c >= high or part.from_c <= low:
            continue
        rate = part.rate_c_per_h
        # Glass sets above its strain point; a step that begins below it may go as fast as the second stage.
        stage = asks.stages[part.from_c <= setup.glass.strain_point_c]
        bears = f"{mm} ordinarily bears about {words.rate(stage.rate_c_per_h)} there ({stage.ruled_by}, {faces})."
        if rate is None:
            yield (f"step {part.step} falls free through the annealing range ({words.temp(high)} to "
                   f"{words.temp(low)}); {bears}")
        elif -rate > AS_GOOD_TIMES * stage.rate_c_per_h:
            yield f"step {part.step} falls {words.rate(rate)}; {bears}"
