"""What is doubtful in a plan for a load, by rules of common practice and by the slabs of the load."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import NamedTuple

from daemon.firing.advice.plan_glass import glass_doubts, planned_figures
from daemon.firing.plan.schedule import (
    ASSUMED_COOLING_TIME_S,
    ASSUMED_ROOM_C,
    PlannedPart,
    anneal_hold,
    planned_parts,
    squeezes,
)
from daemon.firing.recovery.recovery import NEAR_K
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.advice import Stage, anneal, heating_limit
from daemon.glass.common_practice import AS_GOOD_TIMES, brittle_below_c

COLDEST_C = 10.0
"""No kiln cools below this [°C]. [chosen: a cold workshop in winter]"""


NO_GLASS = "There is no glass in the kiln, only shelves. So nothing is said of an anneal, of stress or of haze."
"""What is said in place of all that is said of glass."""


def doubts(setup: Setup) -> Iterator[str]:
    """Yield a sentence for each doubt about ``setup.plan`` for its load, that of practice first.

    None where there is no glass in the kiln: each is one about glass.
    """
    if setup.is_empty:
        return
    yield from practice_doubts(setup)
    yield from glass_doubts(setup, planned_figures(setup))


def doubt_lines(setup: Setup) -> list[str]:
    """Return each doubt about ``setup.plan`` as a line, or the one line that there is none, or no glass."""
    if setup.is_empty:
        return [NO_GLASS]
    load = " and ".join(f"{mm:g} mm" for mm in setup.thicknesses_mm)
    return [f"Doubtful: {doubt}" for doubt in doubts(setup)] or [
        f"Nothing doubtful for {load} of {setup.glass.name}, by common practice and by the slab."]


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
    yield from _top(parts, setup, words)
    yield from _climbs(parts, setup, words)
    yield from _falls(parts, setup, words)


def climb_doubts(setup: Setup) -> Iterator[str]:
    """Yield a sentence for each climb of the plan that the load doesn't bear, by rules of the workshop alone."""
    if setup.plan is not None and not setup.is_empty:
        yield from _climbs(planned_parts(setup.plan), setup, Units(setup.unit))


def _top(parts: tuple[PlannedPart, ...], setup: Setup, words: Units) -> Iterator[str]:
    """Yield a sentence where the plan goes above the glass's working point, where it is drawn and blown as a liquid.

    Kilns fuse, slump and cast below it; pot melts come near it. [common practice]
    """
    hottest, working_c = max(parts, key=lambda part: part.to_c), setup.glass.working_point_c
    if hottest.to_c > working_c:
        yield (f"step {hottest.step} goes to {words.temp(hottest.to_c)}. Glass is fused, slumped and cast below its "
               f"working point, which is about {words.temp(working_c)} for {setup.glass.name} (common practice). "
               "Check this figure and its unit.")


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
    """Yield a sentence for each fall after the anneal that is faster than advised in a stage it goes through.

    A free fall counts as too fast in the annealing range, and in the stage below it by how fast a small kiln falls
    there; further down a kiln falls as slowly as most loads ask.
    """
    faces = "one cooled face" if setup.faces == 1 else "two cooled faces"
    low, high = setup.glass.band_low_c, setup.glass.band_high_c
    hold = anneal_hold(parts, setup.glass)
    for part in parts:
        if part.direction >= 0 or (hold is not None and part.index < hold.index):
            continue
        passed = _too_fast(part, setup)
        if passed is None:
            continue
        bears = f"{setup.thickness_mm:g} mm ordinarily bears about {words.rate(passed.stage.rate_c_per_h)}"
        why = f"({passed.stage.ruled_by}, {faces})"
        to = f"from {words.temp(passed.from_c)} to {words.temp(passed.stage.to_c)}"
        if part.rate_c_per_h is None and part.to_c < high and part.from_c > low:
            yield (f"step {part.step} falls free through the annealing range ({words.temp(high)} to "
                   f"{words.temp(low)}); {bears} there {why}.")
        elif part.rate_c_per_h is None:
            yield (f"step {part.step} falls free from {words.temp(part.from_c)}, in a small kiln about "
                   f"{words.rate(passed.c_per_h)} at first; {bears} {to} {why}.")
        elif passed.number == 0:
            yield f"step {part.step} falls {words.rate(part.rate_c_per_h)}; {bears} there {why}."
        else:
            yield f"step {part.step} falls {words.rate(part.rate_c_per_h)}; {bears} {to} {why}."


class _Passed(NamedTuple):
    """A stage of the advice that a fall goes through too fast."""

    number: int
    """Which, from 0."""
    stage: Stage
    from_c: float
    """Where the stage begins [°C]."""
    c_per_h: float
    """How fast the fall is [°C/h], unsigned; a guess for a free one."""


def _too_fast(part: PlannedPart, setup: Setup) -> _Passed | None:
    """Return the slowest stage of the advice that a fall goes through too fast for more than NEAR_K; None where none.

    Glass sets above its strain point: a step that begins below it may go as fast as the second stage.
    """
    found: list[_Passed] = []
    asks, from_c = anneal(setup.glass, setup.thickness_mm, setup.faces), setup.glass.band_high_c
    for number, stage in enumerate(asks.stages):
        begins_c = min(part.from_c, from_c)
        is_set = number == 0 and part.from_c <= setup.glass.strain_point_c
        if begins_c - max(part.to_c, stage.to_c) > NEAR_K and not is_set:
            fall = _fall_c_per_h(part, begins_c, number)
            if fall > AS_GOOD_TIMES * stage.rate_c_per_h:
                found.append(_Passed(number, stage, from_c, fall))
        from_c = stage.to_c
    return min(found, key=lambda passed: passed.stage.rate_c_per_h, default=None)


def _fall_c_per_h(part: PlannedPart, temp_c: float, number: int) -> float:
    """Return how fast a part falls at ``temp_c`` in stage ``number`` of the advice [°C/h]; of a free one a guess.

    Infinite for a free fall through the first stage, where it is not left to the kiln.
    """
    if part.rate_c_per_h is not None:
        return -part.rate_c_per_h
    if number == 0:
        return inf
    return (temp_c - ASSUMED_ROOM_C) / ASSUMED_COOLING_TIME_S * 3600 if number == 1 else 0.0
