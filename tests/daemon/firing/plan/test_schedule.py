"""The plan as the kiln runs it: its parts, its curve, and which hold is the anneal."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf, isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.firing.plan.plan import PURPOSES, Plan, Step, parse_plan
from daemon.firing.plan.schedule import (
    anneal_hold,
    at,
    curve,
    fastest_c_per_h,
    part_after,
    part_before,
    passing_s,
    planned_parts,
    ramp_s,
    top_hold,
    way_to,
)
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]  # computed strain point 488.6 °C, annealing point 515.0 °C: the range is 458.6 to 550 °C
FULL_FUSE = (
    Step(220, 670, 1800, "squeeze"), Step(250, 800, 600), Step(None, 516, 3600), Step(80, 461), Step(None, 40))
STEPS = st.builds(
    Step, rate_c_per_h=st.none() | st.floats(0.1, 2000), to_c=st.integers(0, 140_000).map(lambda n: n / 100),
    hold_s=st.just(0.0) | st.floats(1, 600_000), purpose=st.none() | st.sampled_from(PURPOSES),
)


def plan(*steps: Step) -> Plan:
    return Plan("Night", "C", steps)


def parts(*steps: Step, start_c: float = 20.0):
    return planned_parts(plan(*steps), start_c)


def test_every_step_becomes_its_ramp_and_its_hold():
    found = parts(*FULL_FUSE)
    assert [(p.index, p.step, p.part) for p in found] == [
        (0, 1, "ramp"), (1, 1, "hold"), (2, 2, "ramp"), (3, 2, "hold"), (4, 3, "ramp"), (5, 3, "hold"),
        (6, 4, "ramp"), (7, 5, "ramp"),
    ]
    assert [p.rate_c_per_h for p in found] == [220, 0.0, 250, 0.0, None, 0.0, -80, None]
    assert [p.direction for p in found] == [1, 0, 1, 0, -1, 0, -1, -1]


def test_a_written_ramp_takes_its_difference_over_its_rate():
    found = parts(*FULL_FUSE)
    assert found[0].duration_s == pytest.approx(650 / 220 * 3600)
    assert found[2].duration_s == pytest.approx(130 / 250 * 3600)
    assert found[6].duration_s == pytest.approx(55 / 80 * 3600)
    assert found[1].duration_s == 1800.0


def test_a_hold_of_nothing_and_a_ramp_to_where_the_kiln_is_are_left_out():
    assert [(p.step, p.part) for p in parts(Step(100, 20, 600), Step(100, 500), Step(100, 500, 600))] == [
        (1, "hold"), (2, "ramp"), (3, "hold")]
    assert parts(Step(100, 20)) == ()


def test_a_plan_may_start_hot():
    found = parts(Step(80, 461, 60), start_c=516.0)
    assert [(p.part, p.from_c, p.to_c, p.direction) for p in found] == [
        ("ramp", 516.0, 461.0, -1), ("hold", 461.0, 461.0, 0)]


def test_the_curve_goes_through_the_corners_one_after_another():
    corners = curve(parts(Step(100, 520, 1800), Step(None, 400)), 60.0)
    assert corners[:3] == ((60.0, 20.0), (60.0 + 18_000, 520.0), (60.0 + 19_800, 520.0))
    assert corners[3][1] == 400.0
    assert at(corners, 60.0 + 9000) == pytest.approx(270.0)
    assert at(corners, 60.0 + 18_900) == 520.0
    assert at(corners, 59.0) is None
    assert at(corners, corners[-1][0] + 1) is None
    assert curve(()) == ()


def test_a_free_fall_slows_as_it_nears_the_room():
    # Newton's law of cooling: the time from a to b and from b to c add up to that from a to c, and
    # the same hundred degrees last longer further down.
    assert ramp_s(800, 516, None) + ramp_s(516, 100, None) == pytest.approx(ramp_s(800, 100, None))
    assert ramp_s(200, 100, None) > ramp_s(800, 700, None) > 0


@given(st.lists(STEPS, min_size=1, max_size=8), st.integers(-20, 1000).map(float))
def test_parts_join_without_a_jump_and_all_take_time(steps, start_c):
    found = planned_parts(plan(*steps), start_c)
    here = start_c
    for number, part in enumerate(found):
        assert part.index == number
        assert part.from_c == here
        assert isfinite(part.duration_s)
        assert part.duration_s > 0
        assert part.direction == (part.to_c > part.from_c) - (part.to_c < part.from_c)
        assert (part.part == "hold") == (part.direction == 0)
        here = part.to_c
    assert found == () or here == steps[-1].to_c
    assert all(a.step < b.step or (a.step == b.step and a.part == "ramp") for a, b in pairwise(found))


# --- the anneal hold -----------------------------------------------------------------------------


def annealed_at(*steps: Step) -> float | None:
    found = anneal_hold(parts(*steps), GLASS)
    return None if found is None else found.to_c


def test_the_anneal_is_the_longest_hold_reached_from_above_in_range():
    assert annealed_at(*FULL_FUSE) == 516.0
    assert annealed_at(Step(200, 800, 600), Step(None, 530, 1200), Step(50, 500, 3600), Step(50, 40)) == 500.0


def test_a_hold_reached_climbing_is_no_anneal():
    assert annealed_at(Step(200, 516, 7200), Step(200, 800, 600), Step(None, 40)) is None
    assert annealed_at(Step(200, 516, 7200), Step(200, 800, 600), Step(None, 520, 600), Step(50, 40)) == 520.0


@pytest.mark.parametrize(("hold_c", "is_one"), [(458.5, False), (458.7, True), (549.9, True), (550.2, False)])
def test_the_range_is_strain_point_minus_30_to_annealing_point_plus_35(hold_c, is_one):
    # Strain point 227.1 + 4268.3/16.3235 = 488.6 °C, annealing point 515 °C (family 90).
    found = annealed_at(Step(200, 800, 600), Step(None, hold_c, 3600), Step(50, 40))
    assert found == (hold_c if is_one else None)


def test_the_range_follows_the_glass():
    steps = parts(Step(200, 820, 600), Step(None, 580, 3600), Step(50, 40))
    assert anneal_hold(steps, GLASS) is None
    assert anneal_hold(steps, FAMILIES["33"]).to_c == 580.0


def test_the_makers_mark_rules():
    marked = (Step(200, 800, 600), Step(None, 516, 7200), Step(50, 400, 60, "anneal"), Step(50, 40))
    assert annealed_at(*marked) == 400.0
    climbing = (Step(200, 516, 600, "anneal"), Step(200, 800, 600), Step(None, 520, 7200))
    assert annealed_at(*climbing) == 516.0


def test_a_mark_on_a_step_without_a_hold_marks_no_hold():
    steps = (Step(200, 800, 600), Step(None, 516, 3600), Step(80, 400, 0.0, "anneal"), Step(None, 40))
    assert annealed_at(*steps) == 516.0


def test_a_plan_without_a_fall_has_no_anneal():
    assert annealed_at(Step(200, 800, 600)) is None
    assert annealed_at(Step(200, 516, 600)) is None


# --- the top -------------------------------------------------------------------------------------


def test_the_top_is_the_hold_at_the_highest_target():
    assert top_hold(parts(*FULL_FUSE)).to_c == 800.0


def test_the_makers_mark_rules_the_top_too():
    assert top_hold(parts(replace(FULL_FUSE[0], purpose="top"), *FULL_FUSE[1:])).to_c == 670.0


def test_a_top_without_a_hold_is_none():
    assert top_hold(parts(Step(200, 670, 600), Step(250, 800), Step(None, 516, 3600))) is None
    assert top_hold(()) is None


def test_celsius_and_fahrenheit_plans_run_alike():
    celsius, fahrenheit = (
        f'title = "x"\nunit = "{unit}"\n[[step]]\nrate = {rate}\nto = {to}\nhold_min = 5\n'
        f'[[step]]\nrate = "free"\nto = {end}' for unit, rate, to, end in (("C", 80, 500, 40), ("F", 144, 932, 104)))
    for ours, theirs in zip(planned_parts(parse_plan(celsius, "c")), planned_parts(parse_plan(fahrenheit, "f")),
                            strict=True):
        assert (theirs.step, theirs.part, theirs.direction) == (ours.step, ours.part, ours.direction)
        assert (theirs.from_c, theirs.to_c, theirs.duration_s) == pytest.approx(
            (ours.from_c, ours.to_c, ours.duration_s))


def test_what_comes_before_and_after_a_part():
    climb, hold, fall = parts = planned_parts(Plan("x", "C", (Step(300.0, 800.0, 600.0), Step(None, 500.0, 0.0))))
    assert [part_before(parts, part.index) for part in parts] == [None, climb, hold]
    assert [part_after(parts, part.index) for part in parts] == [hold, fall, None]


def test_the_way_to_a_hold_and_how_long_it_is_near_it():
    parts = planned_parts(Plan("x", "C", (Step(300.0, 800.0, 600.0), Step(None, 500.0, 600.0))))
    _, top, _, anneal = parts
    assert (way_to(parts, top), way_to(parts, anneal)) == (1, -1)
    assert passing_s(parts, top, 10.0) == pytest.approx(120.0)  # 10 K at 300 °C/h
    assert passing_s(parts, anneal, 10.0) == 0.0  # the fall to it is free
    begins = planned_parts(Plan("x", "C", (Step(None, 800.0, 600.0),)), start_c=800.0)
    assert (way_to(begins, begins[0]), passing_s(begins, begins[0], 10.0)) == (0, 0.0)


@pytest.mark.parametrize(("rates", "fastest"), [((), 0.0), ((120.0, 300.0), 300.0), ((120.0, None), inf)])
def test_the_fastest_of_some_climbs(rates, fastest):
    steps = tuple(Step(rate, 300.0 * number, 0.0) for number, rate in enumerate(rates, 1))
    assert fastest_c_per_h(planned_parts(Plan("x", "C", steps))) == fastest
