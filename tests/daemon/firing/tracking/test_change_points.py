"""Where the readings bend: each rule on readings whose bend is known beforehand."""

from __future__ import annotations

import pytest

from daemon.firing.plan.schedule import PlannedPart, ramp_s
from daemon.firing.tracking import change_points


def ramp(from_c, to_c, rate_c_per_h):
    """Return a planned ramp; its rate [°C/h] is signed, or None where it is free."""
    return PlannedPart(0, 1, "ramp", from_c, to_c, rate_c_per_h, ramp_s(from_c, to_c, rate_c_per_h),
                       direction=1 if to_c > from_c else -1)


def hold(at_c, minutes=30.0):
    return PlannedPart(1, 1, "hold", at_c, at_c, 0.0, 60.0 * minutes)


@pytest.fixture
def changes_in(along, trail_of):
    """Return a function: the change points of a trail along corners (s, °C), read every ten seconds."""

    def build(*corners, **how):
        every = {"every_s": how["step_s"]} if "step_s" in how else {}
        return change_points.ChangePointFinder(trail_of(along(*corners, **every), **how))

    return build


# --- a knot of two lines ---------------------------------------------------------------------------------


@pytest.mark.parametrize("rough_s", [1900.0, 2000.0, 2100.0, 2300.0])
def test_a_bend_is_found_to_the_reading(changes_in, rough_s):
    bent = changes_in((0.0, 500.0), (2000.0, 500.0), (4000.0, 450.0))
    assert bent.nearest_bend(0.0, rough_s, 4000.0) == 2000.0


def test_a_straight_line_and_a_bend_within_the_noise_leave_the_time_as_it_was(changes_in):
    assert changes_in((0.0, 500.0), (4000.0, 400.0)).nearest_bend(0.0, 2000.0, 4000.0) == 2000.0
    noisy = changes_in((0.0, 500.0), (2000.0, 500.0), (4000.0, 450.0), noise=20.0)
    assert noisy.nearest_bend(0.0, 2100.0, 4000.0) == 2100.0


def test_a_bend_is_sought_eight_minutes_back_and_five_on_at_most(changes_in):
    bent = changes_in((0.0, 500.0), (2000.0, 500.0), (4000.0, 470.0))
    assert bent.nearest_bend(0.0, 2470.0, 4000.0) == 2000.0
    assert bent.nearest_bend(0.0, 2500.0, 4000.0) >= 2500.0 - 480.0
    assert bent.nearest_bend(0.0, 1710.0, 4000.0) == 2000.0
    assert bent.nearest_bend(0.0, 1600.0, 4000.0) <= 1600.0 + 300.0


def test_the_bend_before_the_last_boundary_is_none_of_this_one(changes_in):
    # Two bends, at 1500 and 2000 s: with the boundary before it at 1600 s only the second is in the window.
    two = changes_in((0.0, 600.0), (1500.0, 600.0), (2000.0, 550.0), (3500.0, 550.0))
    assert two.nearest_bend(1600.0, 2010.0, 3500.0) == 2000.0
    # Up to the boundary after it, at 1900 s, only the first is.
    assert two.nearest_bend(0.0, 1510.0, 1900.0) == 1500.0


def test_on_a_steep_fall_the_window_takes_in_no_more_than_fifty_kelvin(changes_in):
    # 0.2 K/s after 2000 s: 50 K are 250 s. The bend at 2450 s, 350 s after the time asked of, is out of reach,
    # and the sharper of the two would otherwise win.
    two = changes_in((0.0, 700.0), (2000.0, 700.0), (2450.0, 610.0), (2900.0, 790.0))
    assert two.nearest_bend(0.0, 2060.0, 2900.0) == 2000.0


def test_the_steepness_is_that_beside_the_time_and_not_across_it(changes_in):
    # Climbing 0.2 K/s for 300 s before the bend at 2000 s: 250 s are looked back, not to the sharper bend at 1700 s.
    before = changes_in((0.0, 1320.0), (1700.0, 640.0), (2000.0, 700.0), (4000.0, 700.0))
    assert before.nearest_bend(0.0, 2010.0, 4000.0) == 2000.0
    # Falling 0.2 K/s for 260 s after it: 250 s are looked on from 1950 s, not to the sharper bend at 2260 s.
    after = changes_in((0.0, 700.0), (2000.0, 700.0), (2260.0, 648.0), (4000.0, 1344.0))
    assert after.nearest_bend(0.0, 1950.0, 4000.0) == 2000.0


def test_a_slow_logger_has_a_window_of_four_of_its_steps(changes_in):
    slow = changes_in((0.0, 700.0), (6000.0, 700.0), (9000.0, 500.0), step_s=120.0)
    assert slow.nearest_bend(0.0, 6120.0, 9000.0) == 6000.0


# --- a look inside ----------------------------------------------------------------------------------------

LOOK = (2100.0, 2400.0)
"""From when to when the readings were those of air, and settled again [s]."""


def looked(level_c):
    """Return the corners of a climb of 360 °C/h that has come to 800 °C at 2000 s, and of a look inside at 2100 s."""
    return ((0.0, 600.0), (2000.0, 800.0), (2100.0, 800.0), (2130.0, 650.0), (2400.0, level_c),
            (3400.0, level_c))


@pytest.mark.parametrize(("air", "is_found"), [((), False), ((LOOK,), True)])
def test_a_dip_under_the_lid_is_no_bend(changes_in, air, is_found):
    # The top is left at 2700 s for a fall of 360 °C/h, five minutes after the readings have settled.
    one = changes_in(*looked(800.0)[:-1], (2700.0, 800.0), (3700.0, 700.0))
    one.air = air
    assert (abs(one.nearest_bend(2000.0, 2760.0, 3700.0) - 2700.0) < 30.0) is is_found


# --- two ramps that meet at a target ---------------------------------------------------------------------

COOLED = (0.0, 516.0), (1000.0, 516.0), (1720.0, 476.0), (2395.0, 461.0), (4795.0, 361.0)
"""From 516 °C at 200 °C/h for twelve minutes, put right to 80 °C/h, and from 461 °C on at 150 °C/h as planned."""
FIRST_FALL = ramp(516.0, 461.0, -80.0)


def test_of_two_bends_the_one_at_the_target_is_the_boundary(changes_in):
    bent = changes_in(*COOLED)
    sharpest_s = bent.nearest_bend(1000.0, 2050.0, 4795.0)
    assert sharpest_s == pytest.approx(1720.0, abs=120.0)
    assert bent.bend_at_target(FIRST_FALL, sharpest_s, (1000.0, 4795.0), 0.0, 8.0) == pytest.approx(2395.0, abs=20.0)
    # A probe that reads 20 K high bends there too, once its usual difference is known.
    high = changes_in(*((t_s, temp_c + 20.0) for t_s, temp_c in COOLED))
    assert high.bend_at_target(FIRST_FALL, 1720.0, (1000.0, 4795.0), 20.0, 8.0) == pytest.approx(2395.0, abs=20.0)


@pytest.mark.parametrize(("corners", "bend_s"), [
    pytest.param(COOLED, 2395.0, id="it bends at the target already"),
    pytest.param(((0.0, 516.0), (1000.0, 516.0), (1720.0, 500.0), (4120.0, 400.0)), 1720.0,
                 id="the maker went on by hand, and the next ramp passes the target straight"),
    pytest.param(COOLED[:3], 1300.0, id="the target is not reached yet"),
])
def test_a_bend_stays_where_there_is_none_at_the_target(changes_in, corners, bend_s):
    found_s = changes_in(*corners).bend_at_target(FIRST_FALL, bend_s, (1000.0, corners[-1][0]), 0.0, 8.0)
    assert found_s == bend_s


# --- when a hold was left --------------------------------------------------------------------------------


def test_a_hold_that_was_left_before_the_knot_ended_where_its_readings_were_last_near_it(changes_in):
    # Held at 500 °C to 1000 s, then 0.25 K/s down; the knot was found at 1200 s, 50 K below.
    # Near is a third of 12 K and four noises: 4.13 K, passed at 1016.5 s.
    left = changes_in((0.0, 500.0), (1000.0, 500.0), (1400.0, 400.0))
    assert left.end_of_hold(0.0, 1050.0, 1200.0, -1) == 1010.0
    up = changes_in((0.0, 500.0), (1000.0, 500.0), (1400.0, 600.0))
    assert up.end_of_hold(0.0, 1050.0, 1200.0, 1) == 1010.0


def test_a_knot_within_twelve_kelvin_of_the_hold_stands(changes_in):
    left = changes_in((0.0, 500.0), (1000.0, 500.0), (1400.0, 400.0))
    assert left.end_of_hold(0.0, 1050.0, 1040.0, -1) == 1040.0  # 10 K below
    assert left.end_of_hold(0.0, 1050.0, 1060.0, -1) == 1010.0  # 15 K below
    noisy = changes_in((0.0, 500.0), (1000.0, 500.0), (1400.0, 400.0), noise=2.0)
    assert noisy.end_of_hold(0.0, 1050.0, 1060.0, -1) == 1060.0  # 12 K and four times 2 K are 20 K


def test_the_level_of_a_hold_is_its_lower_quartile_in_the_way_it_is_left(changes_in):
    # A quarter of the time at 510 °C, the rest at 500: to leave it falling counts from 500 °C, not from 510.
    steps = changes_in((0.0, 510.0), (240.0, 510.0), (250.0, 500.0), (1000.0, 500.0), (1400.0, 400.0))
    assert steps.end_of_hold(0.0, 1000.0, 1200.0, -1) == 1010.0


def test_a_bend_before_the_hold_was_ever_near_its_level_stands(changes_in):
    # It came up to 500 °C over 300 s: at 60 s it is 24 K below, and so are all readings before that.
    came = changes_in((0.0, 470.0), (300.0, 500.0), (1000.0, 500.0))
    assert came.end_of_hold(0.0, 1000.0, 60.0, -1) == 60.0


def test_too_little_of_a_hold_says_nothing(changes_in):
    left = changes_in((0.0, 500.0), (1000.0, 500.0), (1400.0, 400.0))
    assert left.end_of_hold(960.0, 1000.0, 1200.0, -1) == 1200.0  # four readings
    assert left.end_of_hold(950.0, 1000.0, 1200.0, -1) == 1010.0  # five
    assert left.end_of_hold(0.0, 1050.0, 9000.0, -1) == 9000.0  # no reading beside the knot


# --- when a climb was begun ------------------------------------------------------------------------------


def test_a_climb_began_as_long_before_its_first_height_as_it_took_from_there_to_four_times_it(trail_of):
    # 20 °C, then 20 + 0.0021·(t − 600)²; with a noise of 0.5 K a height is 2 K: last at or below 22 °C at 630 s,
    # first above 28 °C at 670 s. So it began at 630 − 40 = 590 s.
    readings = [(10.0 * i, 20.0 + 0.0021 * max(0.0, 10.0 * i - 600.0) ** 2) for i in range(120)]
    found = change_points.ChangePointFinder(trail_of(readings, noise=0.5))
    assert found.start_of_first_climb(700.0) == 590.0
    assert found.start_of_first_climb(660.0) == 590.0


def test_no_kiln_lurches_for_longer_than_four_minutes(changes_in):
    # 0.01 K/s from 1000 s: 2 K after 200 s (1200 s), 8 K after 800 s: more than 240 s.
    slow = changes_in((0.0, 20.0), (1000.0, 20.0), (3000.0, 40.0), noise=0.5)
    assert slow.start_of_first_climb(1500.0) == 1200.0 - 240.0


def test_a_climb_that_never_reaches_four_heights_began_where_it_was_last_low(changes_in):
    assert changes_in((0.0, 20.0), (1000.0, 20.0), (1300.0, 23.0), noise=0.5).start_of_first_climb(1300.0) == 1200.0


def test_without_readings_before_it_a_climb_begins_where_it_was_seen(changes_in):
    assert changes_in((1000.0, 20.0), (2000.0, 200.0)).start_of_first_climb(900.0) == 900.0


def test_the_level_before_a_climb_is_that_of_the_last_quarter_of_an_hour(changes_in):
    # A kiln that was at 60 °C an hour ago and has cooled to 20 °C starts from 20 °C.
    found = changes_in((0.0, 60.0), (3600.0, 60.0), (3610.0, 20.0), (4700.0, 20.0), (5000.0, 50.0), noise=0.5)
    assert found.start_of_first_climb(4760.0) == 4720.0 - 70.0  # 22 °C at 4720 s, above 28 °C at 4790 s


# --- a change in a gap -----------------------------------------------------------------------------------


@pytest.fixture
def holed(along, trail_of):
    """Return a function: the change points of two pieces of readings, with nothing between them."""

    def build(before, after):
        return change_points.ChangePointFinder(trail_of([*along(*before), *along(*after)]))

    return build


@pytest.mark.parametrize(("rough_s", "found"), [
    (990.0, None), (1000.0, (1000.0, 1300.0)), (1300.0, (1000.0, 1300.0)), (1700.0, (1000.0, 1300.0)), (1720.0, None),
])
def test_a_gap_that_a_change_may_lie_in_reaches_to_it_or_ended_seven_minutes_ago(holed, rough_s, found):
    one = holed([(0.0, 500.0), (1000.0, 500.0)], [(1300.0, 480.0), (2500.0, 450.0)])
    assert one.gap_near(rough_s) == found


def test_a_gap_may_follow_the_first_reading(along, trail_of):
    late = change_points.ChangePointFinder(trail_of([(0.0, 500.0), *along((300.0, 480.0), (900.0, 450.0))]))
    assert late.gap_near(300.0) == (0.0, 300.0)


def test_readings_without_a_gap_have_none(changes_in):
    assert changes_in((0.0, 500.0), (2000.0, 500.0)).gap_near(1000.0) is None
    assert changes_in((0.0, 500.0), (2000.0, 500.0)).gap_near(0.0) is None


def test_a_hold_in_a_gap_ended_where_the_fall_after_it_drawn_back_meets_its_target(holed):
    # 470 °C at 1600 s, falling 0.1 K/s: 500 °C was left 300 s before.
    fall = holed([(0.0, 500.0), (1000.0, 500.0)], [(1600.0, 470.0), (2200.0, 410.0)])
    assert fall.inside_gap(hold(500.0), ramp(500.0, 400.0, -360.0), (1000.0, 1600.0), 1610.0) == pytest.approx(1300.0)


def test_a_climb_in_a_gap_ended_where_it_meets_its_target_drawn_on(holed):
    # 450 °C at 1000 s, climbing 0.1 K/s: at 500 °C in 500 s.
    climb = holed([(0.0, 350.0), (1000.0, 450.0)], [(1600.0, 500.0), (2200.0, 500.0)])
    assert climb.inside_gap(ramp(20.0, 500.0, 360.0), hold(500.0), (1000.0, 1600.0), 1610.0) == pytest.approx(1500.0)


@pytest.mark.parametrize(("target_c", "met_s"), [
    (540.0, 1000.0),  # met at 900 s: before the gap
    (467.0, 1600.0),  # met at 1630 s, within a minute after it
    (463.0, None),  # met at 1670 s: the readings themselves tell
])
def test_what_meets_outside_the_gap_is_put_at_its_edge_or_left_to_the_readings(holed, target_c, met_s):
    fall = holed([(0.0, 500.0), (1000.0, 500.0)], [(1600.0, 470.0), (2200.0, 410.0)])
    assert fall.inside_gap(hold(target_c), ramp(target_c, 400.0, -360.0), (1000.0, 1600.0), 1610.0) == met_s


def test_a_gap_before_or_after_the_plan_ends_with_its_first_reading(holed):
    flat = holed([(0.0, 500.0), (1000.0, 500.0)], [(1600.0, 500.0), (2200.0, 500.0)])
    assert flat.inside_gap(None, hold(500.0), (1000.0, 1600.0), 1610.0) == 1600.0
    assert flat.inside_gap(hold(500.0), None, (1000.0, 1600.0), 1610.0) == 1600.0
    assert flat.inside_gap(hold(500.0), ramp(500.0, 400.0, -360.0), (1000.0, 1600.0), 1610.0) is None  # meets nowhere


# --- a target passed on the way --------------------------------------------------------------------------


def passing(changes_in, rate_c_per_h, level_c=600.0, at_s=1000.0):
    """Return the change points of one straight line that passes ``level_c`` at ``at_s``."""
    per_s = rate_c_per_h / 3600
    return changes_in((0.0, level_c - per_s * at_s), (2000.0, level_c + per_s * (2000.0 - at_s)))


@pytest.mark.parametrize(("was", "becomes", "rate", "offset", "passed_s"), [
    # 108 °C/h are 0.03 K/s, planned 100 and then 120: the slope does not tell, the target does.
    (ramp(20, 600, 100), ramp(600, 700, 120), 108.0, 0.0, 1000.0),
    # The probe reads 3 K high: 100 s later.
    (ramp(20, 600, 100), ramp(600, 700, 120), 108.0, 3.0, 1100.0),
    # Alike is between three quarters and four thirds.
    (ramp(20, 600, 100), ramp(600, 700, 76), 108.0, 0.0, 1000.0),
    (ramp(20, 600, 100), ramp(600, 700, 74), 108.0, 0.0, None),
    (ramp(20, 600, 100), ramp(600, 700, 132), 108.0, 0.0, 1000.0),
    (ramp(20, 600, 100), ramp(600, 700, 140), 108.0, 0.0, None),
    (ramp(800, 600, -100), ramp(600, 400, -120), -108.0, 0.0, 1000.0),
    # A fall at less than three quarters of its plan lags: its controller goes on 5 K above the target,
    # at 0.03 K/s 167 s before it; whatever comes next.
    (ramp(800, 600, -200), ramp(600, 400, None), -108.0, 0.0, 1000.0 - 5.0 / 0.03),
    (ramp(800, 600, -140), ramp(600, 400, None), -108.0, 0.0, None),
    # A climb that lags waits for its target.
    (ramp(20, 600, 200), ramp(600, 700, None), 108.0, 0.0, None),
    # A turn, a hold, a free ramp, and readings that go the other way have no passing.
    (ramp(20, 600, 100), ramp(600, 500, -100), 108.0, 0.0, None),
    (ramp(20, 600, 100), hold(600.0), 108.0, 0.0, None),
    (ramp(20, 600, None), ramp(600, 700, 100), 108.0, 0.0, None),
    (ramp(20, 600, 100), ramp(600, 700, 120), -108.0, 0.0, None),
    (None, ramp(600, 700, 120), 108.0, 0.0, None),
    (ramp(20, 600, 100), None, 108.0, 0.0, None),
])
def test_between_two_ramps_alike_the_target_tells(changes_in, was, becomes, rate, offset, passed_s):
    found = passing(changes_in, rate).target_crossing(was, becomes, 1000.0, offset)
    assert found == (passed_s if passed_s is None else pytest.approx(passed_s, abs=0.01))


def test_the_slope_of_four_minutes_on_either_side_is_drawn_on(changes_in):
    # 0.03 K/s to 1000 s and twice that after it; asked at 1400 s, the window holds the second slope alone.
    two = changes_in((0.0, 570.0), (1000.0, 600.0), (2000.0, 660.0))
    first, second = ramp(20, 630, 200), ramp(630, 700, 220)
    assert two.target_crossing(first, second, 1400.0, 0.0) == pytest.approx(1500.0, abs=0.01)
    assert two.target_crossing(first, second, 9000.0, 0.0) is None  # no readings there
