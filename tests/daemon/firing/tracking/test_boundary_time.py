"""A change of state is placed by the readings, and by the planned time only where the readings allow it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.tracking.boundary_time import (
    StateChange,
    Uncertainty,
    boundary_s,
)
from daemon.firing.tracking.change_points import ChangePointFinder
from tests.daemon.firing.tracking.test_turns import creeping, sagging

PARTS = planned_parts(Plan("Anneal", "C", (
    Step(300.0, 400.0), Step(200.0, 516.0, 2000.0, "anneal"), Step(8.0, 450.0), Step(300.0, 20.0))))
CLIMB, NEXT_CLIMB, HOLD, FALL, LAST = PARTS
UNCERTAINTY = Uncertainty(wander_k=0.5, offset_k=0.0, near_k=8.0)


def change(was, becomes, began_s, began_c, rough_s, after_s=9000.0, *, is_start=False):
    return StateChange(is_start, was, becomes, began_s, began_c, rough_s, after_s)


@pytest.fixture
def placed(along, trail_of):
    """Return a function: when a change was, in readings along corners (s, °C) every ten seconds."""

    def place(corners, seen, uncertainty=UNCERTAINTY, **how):
        trail = trail_of(along(*corners), **how)
        return boundary_s(trail, ChangePointFinder(trail), seen, uncertainty)

    return place


def held_until(left_s, fall_c_per_h):
    """Return the corners of an anneal from 1000 s that is left for a fall."""
    return (0.0, 460.0), (1000.0, 516.0), (left_s, 516.0), (left_s + 2000.0, 516.0 - fall_c_per_h * 2000 / 3600)


def test_a_sharp_bend_wins_against_the_planned_end(placed):
    # Planned to end at 1000 + 2000 s; left by hand five minutes late, for a fall of 300 °C/h.
    assert placed(held_until(3300.0, 300.0), change(HOLD, FALL, 1000.0, 516.0, 3340.0)) == 3300.0


def test_the_planned_end_wins_against_a_soft_bend(placed):
    # 8 °C/h five minutes late are 0.7 K: less than the wander of half a kelvin tells over minutes.
    assert placed(held_until(3300.0, 8.0), change(HOLD, FALL, 1000.0, 516.0, 3340.0)) == 3000.0


def test_a_planned_end_too_far_away_says_nothing(placed):
    # Three tenths of the planned 2000 s are 600 s.
    assert placed(held_until(3700.0, 8.0), change(HOLD, FALL, 1000.0, 516.0, 3740.0)) != 3000.0


def test_only_the_next_part_begins_by_the_clock(placed):
    skipped = change(HOLD, LAST, 1000.0, 516.0, 3340.0)
    assert placed(held_until(3300.0, 8.0), skipped) != 3000.0


CLIMBS = (0.0, 20.0), (4600.0, 20.0 + 4600.0 / 12), (8000.0, 20.0 + 4600.0 / 12 + 3400.0 / 18)
"""300 °C/h for 4600 s, 40 s longer than the planned 4560 s, then 200 °C/h."""


def test_a_ramp_that_was_kept_up_with_took_as_long_as_planned(placed):
    assert placed(CLIMBS, change(CLIMB, NEXT_CLIMB, 0.0, 20.0, 4650.0)) == 4560.0


@pytest.mark.parametrize("began_c", [-10.1, 50.1, None])
def test_a_ramp_that_began_elsewhere_took_another_time(placed, began_c):
    assert placed(CLIMBS, change(CLIMB, NEXT_CLIMB, 0.0, began_c, 4650.0)) == 4600.0


def test_a_ramp_that_lagged_took_another_time(placed):
    # From 20 °C at −700 s on: 383 K in 5300 s are 260 °C/h, 13 % less than planned.
    assert placed(CLIMBS, change(CLIMB, NEXT_CLIMB, -700.0, 20.0, 4650.0)) == 4600.0


def test_a_probe_that_climbs_faster_than_the_controller_still_ran_the_planned_time(placed):
    # The probe reads 12.5 % more of each kelvin; the kiln itself kept to its 300 °C/h for 4600 s.
    fast = tuple((t_s, 20.0 + (temp_c - 20.0) * 1.125) for t_s, temp_c in CLIMBS)
    assert placed(fast, change(CLIMB, NEXT_CLIMB, 0.0, 20.0, 4650.0)) == 4560.0


def test_the_first_climb_begins_before_its_first_degrees_but_not_before_the_plan(placed):
    cold = (0.0, 20.0), (1000.0, 20.0), (3000.0, 120.0)
    seen = change(None, CLIMB, 0.0, 20.0, 1200.0, is_start=True)
    early = placed(cold, seen)
    assert 900.0 <= early <= 1000.0
    assert placed(cold, seen._replace(began_s=1100.0)) == 1100.0


def test_a_change_lies_between_the_part_before_and_the_one_after(placed):
    seen = change(HOLD, FALL, 1000.0, 516.0, 3340.0)
    assert placed(held_until(3300.0, 300.0), seen._replace(began_s=3320.0)) >= 3320.0
    assert placed(held_until(3300.0, 300.0), seen._replace(after_s=3290.0)) <= 3290.0


def test_a_change_in_a_gap_lies_where_the_ramp_after_it_meets_the_target(along, trail_of):
    # Readings until 2900 s and from 3500 s on; a fall of 300 °C/h that began at 3100 s.
    readings = [(t, c) for t, c in along(*held_until(3100.0, 300.0)) if not 2900.0 < t < 3500.0]
    trail = trail_of(readings)
    seen = change(replace(HOLD, duration_s=100.0), FALL, 1000.0, 516.0, 3500.0)
    assert boundary_s(trail, ChangePointFinder(trail), seen, UNCERTAINTY) == pytest.approx(3100.0, abs=1.0)


STAGES = planned_parts(Plan("Stages", "C", (
    Step(300.0, 516.0, 600.0), Step(80.0, 461.0), Step(150.0, 406.0, 1200.0), Step(300.0, 20.0))))
TOO_FAST = (0.0, 516.0), (720.0, 476.0), (1395.0, 461.0), (3795.0, 361.0)
"""200 °C/h for twelve minutes, 80 °C/h as planned from there, and 150 °C/h from 461 °C on."""


def test_a_fall_that_was_put_right_under_way_ends_at_its_target(placed):
    seen = change(STAGES[2], STAGES[3], 0.0, 516.0, 1100.0, 3795.0)
    assert placed(TOO_FAST, seen) == pytest.approx(1395.0, abs=30.0)


def test_where_a_hold_was_passed_over_its_target_is_no_boundary(placed):
    held = planned_parts(Plan("Held", "C", (Step(300.0, 516.0, 600.0), Step(80.0, 461.0, 1200.0), Step(150.0, 20.0))))
    seen = change(held[2], held[4], 0.0, 516.0, 1100.0, 3795.0)
    assert placed(TOO_FAST, seen) == pytest.approx(720.0, abs=120.0)


def test_a_hold_after_a_climb_begins_before_the_sag(placed):
    climb = PARTS[1]
    assert climb.direction > 0
    seen = change(climb, HOLD, 0.0, 300.0, 5000.0)
    assert placed(sagging(12.0), seen) == pytest.approx(2000.0, abs=20.0)


def test_a_hold_after_a_climb_begins_where_the_readings_jump(placed):
    # The follower saw the hold minutes later. Two lines that meet would meet at 2680 s, before the drop.
    drops = (0.0, 266.0), (3000.0, 516.0), (3030.0, 504.0), (5000.0, 516.0), (9000.0, 516.0)
    assert placed(drops, change(PARTS[1], HOLD, 0.0, 266.0, 3100.0)) == pytest.approx(2955.0, abs=45.0)


def test_a_jump_at_the_planned_end_of_a_hold_is_its_end_however_late_the_kiln_moves(placed):
    # Held for 2000 s as planned; then 8 K are gone, and the kiln needs long to climb again.
    late = (0.0, 460.0), (1000.0, 516.0), (3000.0, 516.0), (3030.0, 508.0), (3900.0, 512.0), (6000.0, 650.0)
    up = replace(NEXT_CLIMB, index=HOLD.index + 1)
    assert placed(late, change(HOLD, up, 1000.0, 516.0, 3950.0)) == pytest.approx(2955.0, abs=45.0)


FREE = replace(FALL, index=HOLD.index - 1, rate_c_per_h=None, from_c=800.0, to_c=516.0)


def test_a_hold_after_a_free_fall_begins_where_it_turned(placed):
    assert placed(creeping(500.0), change(FREE, HOLD, 0.0, 800.0, 5000.0)) == pytest.approx(3000.0, abs=20.0)


