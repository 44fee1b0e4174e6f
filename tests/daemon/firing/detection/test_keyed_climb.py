"""A climb that was keyed in is asked for by the readings alone, whatever the follower takes the kiln to do."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.detection.keyed_climb import is_back_to_anneal, is_just_keyed_in, keyed_climb_left
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts

AT_S = 600.0
"""When the lines were keyed in [s]."""
PLAN = Plan("Fuse, as keyed in", "C", (
    Step(300.0, 800.0, 600.0), Step(None, 516.0, 300.0), Step(240.0, 450.0), Step(150.0, 516.0, 3600.0, "anneal"),
    Step(80.0, 461.0), Step(None, 40.0)), KeyedIn(AT_S, 4, (2, 3)))
FALL_AFTER, BACK_UP, OFF = 4, 5, 8
"""Parts: 4 is the fall without power, 5 the climb keyed in, 6 the anneal, 7 cools at 80 °C/h, 8 is the free fall."""


@pytest.fixture
def later(view_of, along):
    """Return a function: the view ``minutes`` after the lines, which the kiln goes along at rates [°C/h, min]."""
    def view(*legs, plan=PLAN, state=OFF + 1, **fields):
        corners = [(0.0, 490.0), (AT_S, 450.0)]
        for c_per_h, minutes in legs:
            t_s, temp_c = corners[-1]
            corners.append((t_s + minutes * 60.0, temp_c + c_per_h * minutes / 60.0))
        return view_of(along(*corners), state, plan, **fields)
    return view


@pytest.mark.parametrize("state", [FALL_AFTER + 1, BACK_UP + 1, OFF + 1])
def test_a_fall_that_goes_on_leaves_the_climb_wherever_the_follower_is(later, state):
    left = keyed_climb_left(later((-200.0, 9.0), state=state))
    assert (left.t_s, left.from_c, left.planned.index) == (AT_S, 450.0, BACK_UP)


@pytest.mark.parametrize(("legs", "is_asked"), [
    (((-200.0, 7.5),), False),  # the maker may still be at the breaker
    (((-200.0, 8.5),), True),
    (((-200.0, 90.0),), True),
    (((-200.0, 101.0),), False),  # the trail of two hours would soon have forgotten a climb
    (((-200.0, 5.0), (150.0, 5.0)), False),
    (((-200.0, 5.0), (150.0, 5.0), (-200.0, 20.0)), False),  # begun and left again: left_undone tells that
    (((-200.0, 5.0), (150.0, 1.0), (-200.0, 5.0)), True),  # 2.5 K are no climb
])
def test_it_is_asked_for_from_eight_minutes_on_until_it_is_begun(later, legs, is_asked):
    assert (keyed_climb_left(later(*legs)) is not None) == is_asked


def test_air_that_comes_back_after_a_lid_was_open_is_no_climb(later):
    legs = (-1200.0, 1.0), (600.0, 1.0), (-200.0, 9.0)
    assert keyed_climb_left(later(*legs)) is None
    assert keyed_climb_left(later(*legs, dropped_s=AT_S + 30.0)) is not None
    climbs = keyed_climb_left(later(*legs, (150.0, 6.0), dropped_s=AT_S + 30.0))
    assert climbs is None


@pytest.mark.parametrize("line", [Step(80.0, 300.0), Step(None, 40.0), Step(150.0, 458.0, 3600.0)])
def test_lines_that_fall_or_climb_hardly_ask_for_nothing(later, line):
    plan = replace(PLAN, steps=(*PLAN.steps[:3], line))
    assert keyed_climb_left(later((-200.0, 9.0), plan=plan, state=FALL_AFTER + 1)) is None


def test_without_lines_keyed_in_there_is_no_such_climb(later):
    assert keyed_climb_left(later((-200.0, 9.0), plan=replace(PLAN, keyed_in=None))) is None


@pytest.mark.parametrize(("minutes", "is_just"), [(3.0, True), (7.9, True), (8.2, False)])
def test_for_eight_minutes_after_a_climb_was_keyed_in_a_fall_is_none_of_the_lines(later, minutes, is_just):
    assert is_just_keyed_in(later((-200.0, minutes))) is is_just
    assert not is_just_keyed_in(later((-200.0, minutes), plan=replace(PLAN, keyed_in=None)))


def test_only_the_climb_keyed_in_that_leads_to_the_anneal_leads_back_to_it(later):
    parts = planned_parts(PLAN)
    view = later((-200.0, 9.0))
    assert [part.index for part in parts if is_back_to_anneal(view, part)] == [BACK_UP]
    without = later((-200.0, 9.0), plan=replace(PLAN, keyed_in=None))
    assert not any(is_back_to_anneal(without, part) for part in parts)
