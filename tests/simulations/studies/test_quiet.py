"""Which quiet firings count, and what went on when one woke somebody."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Sample
from simulations.cases import Case
from simulations.firing import Simulated
from simulations.plant.mishaps import Happened
from simulations.random_plans import on_paper
from simulations.studies.onsets import Course
from simulations.studies.quiet import is_as_meant, is_run, mechanism
from simulations.truth import TruePart, Truth

PLAN = on_paper("t", "300/800/30, free/500/60, 60/300")
CLIMB_S = 780 / 300 * 3600.0  # from 20 °C
TOP = TruePart(1, "hold", CLIMB_S, CLIMB_S + 1800)
FALL = TruePart(2, "ramp", CLIMB_S + 1800, CLIMB_S + 5400)
ANNEAL = TruePart(2, "hold", CLIMB_S + 5400, CLIMB_S + 9000)
COOL = TruePart(3, "ramp", CLIMB_S + 9000, CLIMB_S + 21_000)
PARTS = (TruePart(1, "ramp", 0.0, CLIMB_S), TOP, FALL, ANNEAL, COOL)
CASE = Case("clean-1", "clean", PLAN)


def course(top_c: float = 800.0, cool_c_per_h: float = 60.0, faults: tuple[Happened, ...] = (),
           late_s: float = 0.0, parts: tuple[TruePart, ...] = PARTS) -> Course:
    """Return a firing that runs the plan exactly but for the top, the last fall, and a late anneal."""
    def here(t: float) -> float:
        if t < TOP.start_s:
            return 20 + (top_c - 20) * t / CLIMB_S
        if t < FALL.start_s:
            return top_c
        if t < ANNEAL.start_s:
            return top_c - (top_c - 500) * (t - FALL.start_s) / (3600 + late_s)
        if t < ANNEAL.start_s + late_s:
            return top_c - (top_c - 500) * (t - FALL.start_s) / (3600 + late_s)
        return 500.0 - max(0.0, t - COOL.start_s) * cool_c_per_h / 3600

    times = tuple(20.0 * n for n in range(round((COOL.end_s or 0.0) / 20)))
    temps = tuple(here(t) for t in times)
    samples = [Sample(t, c) for t, c in zip(times, temps, strict=True)]
    return Course(CASE, Simulated(samples, Truth(parts, faults, 0.0, temps, temps, temps, times)))


def test_a_plan_that_was_run_counts():
    assert is_as_meant(CASE, course())


def test_one_that_was_never_ended_does_not():
    assert not is_run(CASE, (*PARTS[:-1], replace(COOL, end_s=None)))


@pytest.mark.parametrize(("share", "counts"), [(1.9, True), (2.6, False)])
def test_a_climb_may_creep_but_not_drag(share, counts):
    # Twice the planned 2.6 h and half an hour more is 2.19 of it.
    assert is_run(CASE, (TruePart(1, "ramp", 0.0, share * CLIMB_S),)) is counts


@pytest.mark.parametrize(("top_c", "counts"), [(820.0, True), (830.0, False)])
def test_one_that_truly_got_too_hot_does_not(top_c, counts):
    # No earlier hold has told the offset, so the limit lies 25 K above the top.
    assert is_as_meant(CASE, course(top_c)) is counts


@pytest.mark.parametrize(("cool_c_per_h", "counts"), [(75.0, True), (90.0, False)])
def test_one_that_truly_cooled_too_fast_does_not(cool_c_per_h, counts):
    # 1.4 times 60 °C/h is 84.
    assert is_as_meant(CASE, course(cool_c_per_h=cool_c_per_h)) is counts


@pytest.mark.parametrize(("over_s", "counts"), [(870.0, True), (910.0, False)])
def test_one_whose_top_was_truly_overrun_does_not(over_s, counts):
    """A top of 30 min is told at rank wake from a quarter of an hour over on, as in the study's own row."""
    parts = (PARTS[0], replace(TOP, end_s=TOP.end_s + over_s), *PARTS[2:])
    assert is_as_meant(CASE, course(parts=parts)) is counts


@pytest.mark.parametrize(("waited_s", "counts"), [(870.0, True), (930.0, False)])
def test_nor_one_whose_glass_was_at_its_top_long_before_the_controller_began_to_count(waited_s, counts):
    """The controller counts its 30 min from when its own sensor is there; the glass is hot from the climb's end."""
    late = [replace(part, start_s=part.start_s + waited_s, end_s=part.end_s + waited_s) for part in PARTS[1:]]
    at_top = course()
    times = at_top.truth.times_s
    glass = [800.0 if TOP.start_s <= t < TOP.end_s + waited_s else c
             for t, c in zip(times, at_top.truth.glass_c, strict=True)]
    at_top.truth = replace(at_top.truth, glass_c=tuple(glass),
                           parts=(replace(PARTS[0], end_s=PARTS[0].end_s + waited_s), *late))
    assert is_as_meant(CASE, at_top) is counts


@pytest.mark.parametrize(("told_k", "counts"), [(None, True), (5.0, True), (-5.0, False)])
def test_what_the_owner_has_told_of_the_probe_belongs_to_the_limit(told_k, counts):
    """A probe that reads 818 °C over a top of 800: 18 K hot by itself, 13 K or 23 K where it is known to be off."""
    hot = course(818.0)
    if told_k is not None:
        hot.case = replace(CASE, offset_k=told_k, is_offset_known=True)
    assert is_as_meant(hot.case, hot) is counts


@pytest.mark.parametrize(("late_min", "counts"), [(31.0, True), (33.0, False)])
def test_one_whose_controller_counted_the_anneal_long_before_the_glass_came_to_it_does_not(late_min, counts):
    """36 of 60 min are asked. 25 K above the anneal counts: it is there after 275 / 300 of 91 and of 93 min."""
    assert is_as_meant(CASE, course(late_s=late_min * 60)) is counts


@pytest.mark.parametrize(("at_s", "expected"), [
    (FALL.start_s + 300, "top left for a free fall"),
    (ANNEAL.start_s + 600, "dip at the anneal after an unpowered fall"),
    (COOL.start_s + 240, "element silent at the start of a falling ramp"),
    (CLIMB_S / 2, "climb"), (TOP.start_s + 900, "hold at or below the top"),
    (COOL.start_s + 6000, "fall after the anneal"),
])
def test_a_wake_is_sorted_by_what_went_on(at_s, expected):
    assert mechanism(CASE, course(), at_s) == expected


def test_a_vent_comes_before_the_place_in_the_plan():
    vented = course(faults=(Happened("vent", 1.0, FALL.start_s + 60, FALL.start_s + 300),))
    assert mechanism(CASE, vented, FALL.start_s + 900) == "vent or look"


def test_what_is_told_before_the_controller_starts_has_to_do_with_that():
    late = course()
    late.truth = replace(late.truth, start_s=3600.0)
    assert mechanism(CASE, late, 3000.0) == "the controller had not started yet"
