"""What a plan says of lines that were keyed in is written, read back, and refused where it is nothing of the kind."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.errors import BadInput
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step, parse_plan, write_plan
from daemon.firing.plan.schedule import planned_parts

PLAN = Plan("Slump, as keyed in", "C", (
    Step(400.0, 640.0, 600.0), Step(500.0, 516.0, 300.0), Step(250.0, 450.0), Step(150.0, 516.0, 3600.0)),
    KeyedIn(9000.0, 4, (2, 3)))


@pytest.mark.parametrize("left", [None, 12])
def test_it_is_written_and_read_back(left):
    plan = replace(PLAN, keyed_in=PLAN.keyed_in._replace(left=left))
    assert parse_plan(write_plan(plan), "night.toml") == plan


def test_a_plan_in_which_nothing_was_keyed_in_says_nothing_of_it():
    plan = Plan("p", "C", PLAN.steps)
    assert "keyed_in" not in write_plan(plan)
    assert parse_plan(write_plan(plan), "night.toml").keyed_in is None


def test_a_hold_that_broke_off_and_the_fall_after_it_are_made_up_but_not_the_way_to_the_hold():
    assert [(part.step, part.is_made_up) for part in planned_parts(PLAN)] == [
        (1, False), (1, False), (2, False), (2, True), (3, True), (4, False), (4, False)]


@pytest.mark.parametrize("value", [
    "3", "true", "{}", "{ at_s = 9000 }", "{ at_s = nan, step = 4 }", "{ at_s = 9000, step = 5 }",
    "{ at_s = 9000, step = 0 }", "{ at_s = 9000, step = true }", "{ at_s = 9000, step = 4, made_up = 2 }",
    "{ at_s = 9000, step = 4, made_up = [4] }", '{ at_s = 9000, step = 4, made_up = ["2"] }',
    "{ at_s = 9000, step = 4, who = 1 }", "{ at_s = 9000, step = 4, left = 0 }",
    '{ at_s = 9000, step = 4, left = "Slump" }',
])
def test_what_is_nothing_of_the_kind_is_named_with_the_remedy(value):
    text = write_plan(Plan("p", "C", PLAN.steps)).replace('unit = "C"', f'unit = "C"\nkeyed_in = {value}')
    with pytest.raises(BadInput, match=r"keyed_in: .* can't be read\. Leave it out"):
        parse_plan(text, "night.toml")
