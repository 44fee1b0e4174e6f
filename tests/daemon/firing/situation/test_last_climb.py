"""Where a plan has nothing left to climb, and how high the way back from an interruption leads."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation import last_climb as room
from daemon.firing.situation.view import Interruption

SQUEEZE, CLIMB, TOP, FALL, ANNEAL, COOLING = 1, 2, 3, 4, 5, 6
"""Parts of the plan of the fixture ``view_of``; its anneal is at 516 °C."""


def broke_off(index):
    return Interruption(3000.0, index, 0.0, 500.0)


@pytest.mark.parametrize(("steps", "index"), [
    ((Step(300.0, 600.0, 600.0), Step(300.0, 800.0, 600.0), Step(None, 516.0, 600.0)), 3),  # the top's hold
    ((Step(300.0, 800.0), Step(None, 516.0, 600.0)), 0),  # a top that is only touched
    ((Step(300.0, 800.0),), 0),
    ((Step(300.0, 800.0, 600.0),), 1),
])
def test_the_last_climb_is_the_hold_it_leads_to_where_there_is_one(steps, index):
    assert room.last_climb(planned_parts(Plan("drawn", "C", steps))) == index


def test_a_plan_without_a_climb_has_no_last_one(view_of):
    parts = planned_parts(Plan("cooling only", "C", (Step(60.0, 400.0),)), start_c=516.0)
    assert room.last_climb(parts) == -1
    view = view_of([(0.0, 500.0)], 1, parts=parts, found=(Part(0, 1, "ramp", 0.0, 9000.0),))
    assert not room.climbs_no_more(view)


@pytest.mark.parametrize(("found", "no_more"), [
    ((), False),
    ((Part(TOP, 2, "hold", 0.0, 9000.0),), False),
    ((Part(FALL, 3, "ramp", 0.0, 299.0),), False),  # a guess of the follower's
    ((Part(FALL, 3, "ramp", 0.0, 300.0),), True),
    ((Part(FALL, 3, "ramp", 701.0),), False),  # open, and now is 1000 s
    ((Part(FALL, 3, "ramp", 700.0),), True),
    ((Part(FALL, 3, "ramp", 0.0, 400.0), Part(CLIMB, 2, "ramp", 400.0)), True),
])
def test_a_plan_climbs_no_more_once_a_later_part_has_lasted_five_minutes(view_of, found, no_more):
    assert room.climbs_no_more(view_of([(1000.0, 600.0)], CLIMB + 1, found=found)) is no_more


@pytest.mark.parametrize(("peak_c", "first_c", "no_more"), [
    (759.0, 20.0, False), (761.0, 20.0, True),  # 40 K below its top of 800 °C no probe reads a kiln that was there
    (759.0, 401.0, True),  # its beginning was not seen: it may have been there before
])
def test_a_kiln_that_never_came_near_its_top_still_has_to_climb(view_of, peak_c, first_c, no_more):
    view = view_of([(1000.0, 600.0)], FALL + 1, found=(Part(FALL, 3, "ramp", 0.0),), peak_c=peak_c, first_c=first_c)
    assert room.climbs_no_more(view) is no_more


@pytest.mark.parametrize(("peak_c", "no_more"), [(300.0, False), (790.0, True)])
def test_lurches_of_a_cold_kiln_that_looked_like_its_last_fall_end_no_plan(view_of, peak_c, no_more):
    found = (Part(COOLING, 4, "ramp", 0.0, 900.0), Part(CLIMB, 2, "ramp", 900.0))
    view = view_of([(1000.0, 300.0)], CLIMB + 1, found=found, peak_c=peak_c, first_c=20.0)
    assert room.climbs_no_more(view) is no_more  # one that comes from its top has begun again, and should not


@pytest.mark.parametrize(("broken", "offset", "back_c"), [
    (None, 0.0, None),
    (broke_off(SQUEEZE), 0.0, inf), (broke_off(TOP), 0.0, inf),  # it is still to climb
    (broke_off(FALL), 0.0, 516.0), (broke_off(ANNEAL), 5.0, 521.0), (broke_off(COOLING), -3.0, 513.0),
])
def test_what_broke_off_past_the_top_is_taken_back_to_the_anneal(view_of, broken, offset, back_c):
    assert room.resume_target_c(view_of([(0.0, 500.0)], FALL + 1, broken=broken, offset_k=offset)) == back_c


def test_without_an_anneal_it_is_taken_back_to_where_its_part_was_hottest(view_of):
    view = view_of([(0.0, 500.0)], COOLING + 1, broken=broke_off(COOLING), anneal=None)
    assert room.resume_target_c(view) == 516.0  # the cooling falls from there to 400 °C
    fall = view_of([(0.0, 500.0)], FALL + 1, broken=broke_off(FALL), anneal=None)
    assert room.resume_target_c(fall) == 800.0


@pytest.mark.parametrize(("temp_c", "known", "beyond"), [
    # 516 °C, how closely a target can be told (8 K, or 14), and 15 K.
    (538.0, True, False), (540.0, True, True), (544.0, False, False), (546.0, False, True),
])
def test_a_kiln_is_beyond_its_plan_above_the_way_back(view_of, temp_c, known, beyond):
    done = (Part(FALL, 3, "ramp", 0.0, 400.0),)
    assert room.is_beyond_plan(view_of([(1000.0, temp_c)], FALL + 1, found=done, broken=broke_off(FALL),
                                   offset_known=known)) is beyond


def test_a_kiln_past_its_last_climb_is_beyond_its_plan_at_any_temperature_if_nothing_broke_off(view_of):
    done = (Part(FALL, 3, "ramp", 0.0, 400.0),)
    assert room.is_beyond_plan(view_of([(1000.0, 100.0)], FALL + 1, found=done, peak_c=800.0))
    assert not room.is_beyond_plan(view_of([(1000.0, 900.0)], FALL + 1, found=(Part(TOP, 2, "hold", 0.0, 400.0),)))
    assert not room.is_beyond_plan(view_of([(1000.0, 900.0)], FALL + 1, found=done, broken=broke_off(TOP)))


# --- lines that were keyed in ------------------------------------------------------------------------

AT_S = 600.0
KEYED = Plan("Fuse, as keyed in", "C", (
    Step(300.0, 800.0, 600.0), Step(None, 516.0, 300.0), Step(240.0, 450.0), Step(150.0, 516.0, 3600.0, "anneal"),
    Step(80.0, 461.0), Step(None, 40.0)), KeyedIn(AT_S, 4, (2, 3)))
OFF = 8
"""Its last part, the free fall, in which the follower takes a fall without power to be."""


@pytest.mark.parametrize(("corners", "target_c"), [
    (((1800.0, 380.0),), 516.0),  # still without power
    (((1800.0, 380.0), (4000.0, 470.0)), 516.0),
    (((1800.0, 380.0), (4000.0, 516.0), (6000.0, 516.0)), 516.0),  # its hold
    (((1800.0, 380.0), (4000.0, 516.0), (6000.0, 496.0)), 516.0),  # known to 8 K, and 15 K of a swing
    (((1800.0, 380.0), (4000.0, 516.0), (6000.0, 490.0)), None),  # its cooling
    (((1800.0, 380.0), (4000.0, 516.0), (5000.0, 490.0), (6000.0, 520.0)), None),
    (((8000.0, 380.0),), None),  # the trail of two hours has forgotten the lines
])
def test_a_climb_just_keyed_in_is_asked_for_until_it_is_behind(view_of, along, corners, target_c):
    view = view_of(along((0.0, 490.0), (AT_S, 450.0), *corners), OFF + 1, KEYED)
    assert room.keyed_target_c(view) == target_c


@pytest.mark.parametrize(("temp_c", "beyond"), [(470.0, False), (538.0, False), (540.0, True)])
def test_a_kiln_that_climbs_as_keyed_in_is_not_beyond_its_plan(view_of, along, temp_c, beyond):
    fallen = (Part(OFF, 6, "ramp", AT_S, 1800.0),)
    view = view_of(along((0.0, 490.0), (AT_S, 450.0), (1800.0, 380.0), (4000.0, temp_c)), OFF + 1, KEYED,
                   found=fallen, peak_c=800.0)
    assert room.climbs_no_more(view)
    assert room.is_beyond_plan(view) is beyond


def test_lines_that_only_fall_ask_for_no_climb(view_of, along):
    plan = replace(KEYED, keyed_in=KeyedIn(AT_S, 5, (2, 3)))
    readings = along((0.0, 490.0), (AT_S, 450.0), (1800.0, 380.0))
    assert room.keyed_target_c(view_of(readings, OFF + 1, plan)) is None
    assert room.keyed_target_c(view_of(readings, OFF + 1, replace(KEYED, keyed_in=None))) is None
