"""The plan from lines keyed in: what was done, what broke off as far as it went, the fall, then the lines."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.events import Line
from daemon.firing.plan.plan import Step, parse_plan, write_plan
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.recovery.keyed_in import LeftOff, keyed_in_plan

PLAN = example_firing.PLAN
PARTS = planned_parts(PLAN)
LINES = (Line(150.0, 516.0, 3600.0), Line(80.0, 461.0), Line(None, 40.0))


def keyed(index, held_s=0.0, from_c=500.0, lowest_c=450.0, lines=LINES, unit="C", fall=300.0):
    left = LeftOff(PARTS[index], held_s, from_c, lowest_c, fall)
    return keyed_in_plan(PLAN, left, lines, 516.0, unit, "Full fuse, as keyed in at 00:05")


def test_of_a_hold_that_broke_off_counts_what_was_held_and_the_fall_is_as_it_was():
    steps = keyed(example_firing.ANNEAL, 1200.0).steps
    assert steps[:3] == PLAN.steps[:3]
    assert steps[3:] == (
        Step(None, 516.0, 1200.0), Step(300.0, 450.0), Step(150.0, 516.0, 3600.0, "anneal"), Step(80.0, 461.0),
        Step(None, 40.0))


def test_only_the_new_anneal_is_the_anneal():
    for index in range(len(PARTS)):
        parts = planned_parts(keyed(index))
        found = anneal_hold(parts, example_firing.GLASS)
        assert (found.to_c, found.duration_s) == (516.0, 3600.0)
        assert found.step > len(PLAN.steps[:PARTS[index].step - 1])


def test_a_climb_that_broke_off_ends_where_it_was_left():
    lines = (Line(250.0, 800.0, 600.0), Line(None, 516.0, 3600.0), Line(80.0, 461.0))
    steps = keyed(example_firing.TOP_RAMP, from_c=740.0, lowest_c=620.0, lines=lines).steps
    assert steps[2:5] == (Step(250.0, 740.0), Step(300.0, 620.0), Step(250.0, 800.0, 600.0))


def test_a_fall_that_goes_on_by_the_lines_has_no_step_of_its_own_where_it_moved_little():
    lines = (Line(None, 516.0, 3600.0), Line(80.0, 461.0))
    steps = keyed(example_firing.FALL_TO_ANNEAL, from_c=795.0, lowest_c=795.0, lines=lines).steps
    assert steps[3:] == (Step(None, 516.0, 3600.0, "anneal"), Step(80.0, 461.0))


def test_a_hold_of_less_than_a_minute_is_none():
    assert keyed(example_firing.ANNEAL, 40.0).steps[3].hold_s == 0.0


@pytest.mark.parametrize("unit", ["C", "F"])
def test_the_figures_are_those_on_the_controller_and_the_plan_can_be_written_and_read(unit):
    found = keyed(example_firing.ANNEAL, 1200.0, unit=unit)
    again = parse_plan(write_plan(found), "the test's plan")
    assert again.unit == unit
    assert [step.to_c for step in again.steps] == pytest.approx([step.to_c for step in found.steps], abs=1e-5)
    # 516 °C = 960.8 °F, keyed in as 961 °F = 516.1 °C; 150 °C/h = 270 °F/h.
    assert again.steps[5].to_c == pytest.approx(516.0 if unit == "C" else (961 - 32) / 1.8, abs=1e-4)
    assert again.steps[5].rate_c_per_h == pytest.approx(150.0)
