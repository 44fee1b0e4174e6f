"""What the plan's clock says of a boundary, and when the readings overrule it."""

from __future__ import annotations

import numpy as np
import pytest

from daemon.firing.plan.schedule import PlannedPart, ramp_s
from daemon.firing.tracking.plan_clock import end_by_clock, is_asked, start_by_clock, unseen_hold_s

HALF_HOUR_HOLD = PlannedPart(1, 1, "hold", 500.0, 500.0, 0.0, 1800.0)
FREE = PlannedPart(2, 2, "ramp", 500.0, 400.0, None, 1800.0, direction=-1)
CLIMB = PlannedPart(0, 1, "ramp", 20.0, 500.0, 300.0, ramp_s(20.0, 500.0, 300.0), direction=1)
STILL = 0.0


def hold(seconds, at_c=500.0):
    return PlannedPart(1, 1, "hold", at_c, at_c, 0.0, seconds)


def sum_of_squares(readings, knot_s):
    """Return the least sum of squares of two lines that meet at ``knot_s`` [K²], by numpy."""
    times, temps = np.array(readings).T
    design = np.column_stack([np.ones_like(times), times - knot_s, np.maximum(0.0, times - knot_s)])
    fit, *_ = np.linalg.lstsq(design, temps, rcond=None)
    return float(((temps - design @ fit) ** 2).sum())


# --- how near the clock must be --------------------------------------------------------------------------


@pytest.mark.parametrize(("length_s", "away_s", "asked"), [
    (600.0, 240.0, True), (600.0, 241.0, False),  # four minutes at least
    (2000.0, 600.0, True), (2000.0, 601.0, False),  # three tenths of the planned time
    (20_000.0, 2400.0, True), (20_000.0, 2401.0, False),  # forty minutes at most
])
def test_the_clock_is_asked_only_near_the_knot(length_s, away_s, asked):
    assert is_asked(5000.0, 5000.0 + away_s, hold(length_s)) is asked
    assert is_asked(5000.0, 5000.0 - away_s, hold(length_s)) is asked


# --- when a part ended -----------------------------------------------------------------------------------


def test_a_hold_ends_by_the_clock_where_the_readings_bend_there_and_at_the_knot_where_they_bend_elsewhere(
        along, trail_of):
    # Began at 200 s: by the clock it ends at 2000 s.
    sharp = trail_of(along((0.0, 500.0), (2000.0, 500.0), (4000.0, 300.0)))
    assert end_by_clock(sharp, 2050.0, 200.0, HALF_HOUR_HOLD, STILL) == 2000.0
    lengthened = trail_of(along((0.0, 500.0), (2300.0, 500.0), (4000.0, 330.0)))
    assert end_by_clock(lengthened, 2300.0, 200.0, HALF_HOUR_HOLD, STILL) == 2300.0


def test_a_free_ramp_has_no_clock(along, trail_of):
    sharp = trail_of(along((0.0, 500.0), (2000.0, 500.0), (4000.0, 300.0)))
    assert end_by_clock(sharp, 2050.0, 200.0, FREE, STILL) == 2050.0


def test_a_clock_too_far_from_the_knot_is_not_asked(along, trail_of):
    soft = trail_of(along((0.0, 500.0), (4000.0, 500.0)))
    assert end_by_clock(soft, 2000.0, 199.0, HALF_HOUR_HOLD, STILL) == 1999.0
    assert end_by_clock(soft, 2600.0, 200.0, HALF_HOUR_HOLD, STILL) == 2600.0  # 600 s away; asked up to 540


@pytest.mark.parametrize(("nats", "ended_s"), [(4.9, 2000.0), (5.1, 2300.0)])
@pytest.mark.parametrize("share_of_wander", [0.0, 0.5, 1.0])
def test_the_clock_wins_where_the_readings_fit_it_worse_by_less_than_five_nats(
        along, trail_of, nats, ended_s, share_of_wander):
    # What two lines that meet at the clock's 2000 s leave over, against none at the true knot, 2300 s; the window
    # reaches 480 s beyond both. Half of it over the variance is the price in nats. The variance is made of the noise
    # a median leaves (0.45 of it) and of the wander, whose readings agree for 240 s: 24 of ten seconds each.
    readings = along((0.0, 500.0), (2300.0, 500.0), (4000.0, 465.0))
    window = [r for r in readings if 2000.0 - 480.0 <= r[0] < 2300.0 + 480.0]
    lost = sum_of_squares(window, 2000.0) - sum_of_squares(window, 2300.0)
    variance = lost / (2.0 * nats)
    wander = (share_of_wander * variance / 24.0) ** 0.5
    noise = ((1.0 - share_of_wander) * variance / 0.45) ** 0.5
    assert end_by_clock(trail_of(readings, noise=noise), 2300.0, 200.0, HALF_HOUR_HOLD, wander) == ended_s


@pytest.mark.parametrize("at_s", [200.0 + 10.0, 3990.0])
def test_a_clock_or_knot_at_the_edge_of_the_readings_fits_nothing(along, trail_of, at_s):
    flat = trail_of(along((200.0, 500.0), (4000.0, 500.0)))
    assert end_by_clock(flat, at_s, at_s - 1700.0, HALF_HOUR_HOLD, STILL) == at_s
    assert end_by_clock(flat, at_s + 100.0, at_s - 1800.0, HALF_HOUR_HOLD, STILL) == at_s + 100.0


# --- when a hold began, seen from its end ----------------------------------------------------------------


def test_a_hold_began_its_length_before_its_end_where_the_readings_bend_there(along, trail_of):
    sharp = trail_of(along((0.0, 400.0), (1000.0, 500.0), (4000.0, 500.0)))
    assert start_by_clock(sharp, 1050.0, 2800.0, HALF_HOUR_HOLD, STILL, None) == 1000.0
    elsewhere = trail_of(along((0.0, 370.0), (1300.0, 500.0), (4000.0, 500.0)))
    assert start_by_clock(elsewhere, 1300.0, 2800.0, HALF_HOUR_HOLD, STILL, None) == 1300.0


@pytest.mark.parametrize(("rate", "short", "planned", "began_s"), [
    # The clock says 1000 s, a bend was found at 1800 s (too far to be asked). At 1000 s the kiln was short of where
    # it stood at the end by ``short`` K, climbing ``rate`` °C/h.
    (36.0, 8.0, 100.0, 1000.0),  # 36 is less than six tenths of 100: it creeps
    (36.0, 8.0, None, 1800.0),  # nothing was planned to climb
    (36.0, 10.5, 100.0, 1800.0),  # more than 10 K short is not there
    (36.0, 8.0, 50.0, 1800.0),  # at 36 of 50 it kept up, and at 50 °C/h 8 K take 576 s
    (36.0, 2.0, 50.0, 1000.0),  # as fast, but there in 144 s
    (36.0, 3.0, 50.0, 1800.0),  # in 216 s: not soon
])
def test_a_top_that_was_crept_up_to_began_by_the_clock(along, trail_of, rate, short, planned, began_s):
    there_s = 1000.0 + short / rate * 3600
    crept = trail_of(along((0.0, 500.0 - short - rate / 3.6), (1000.0, 500.0 - short), (there_s, 500.0),
                           (4000.0, 500.0)))
    assert start_by_clock(crept, 1800.0, 2800.0, HALF_HOUR_HOLD, STILL, planned) == began_s


def test_a_hold_does_not_begin_after_its_knot_for_having_been_crept_up_to(along, trail_of):
    flat = trail_of(along((0.0, 499.0), (4000.0, 499.5)))
    assert start_by_clock(flat, 400.0, 2800.0, HALF_HOUR_HOLD, STILL, 100.0) == 400.0


@pytest.mark.parametrize(("lower_k", "began_s"), [(4.5, 1800.0), (3.5, 600.0)])
def test_a_hold_that_seems_too_long_began_by_the_clock_where_the_kiln_climbed(along, trail_of, lower_k, began_s):
    # Flat from 600 s on, as it seems; the end at 3600 s and half an hour before it say 1800 s. A kiln that is lower
    # at 600 s was still on its way to the hold; one that stands was held for longer than planned.
    crept = trail_of(along((0.0, 400.0), (600.0, 500.0 - lower_k), (1800.0, 500.0), (4000.0, 500.0)))
    assert start_by_clock(crept, 600.0, 3600.0, HALF_HOUR_HOLD, STILL, 300.0) == pytest.approx(began_s, abs=1.0)


# --- a short top that nobody saw -------------------------------------------------------------------------

TOP = PlannedPart(3, 2, "hold", 800.0, 800.0, 0.0, 600.0)


def topped(along, trail_of, reached_s, high_c=800.0):
    """Return readings that climb 0.1 K/s, reach ``high_c`` at ``reached_s`` and leave it at 2000 s."""
    return trail_of(along((0.0, high_c - 0.1 * reached_s), (reached_s, high_c), (2000.0, high_c), (3000.0, 700.0)))


def test_a_top_of_its_planned_length_began_that_long_before_it_was_left(along, trail_of):
    assert unseen_hold_s(topped(along, trail_of, 1400.0), 2000.0, TOP, 0.0, 14.0) == 1400.0


def test_a_top_reached_late_began_at_the_clock_up_to_ten_kelvin_below_it_and_else_when_reached(along, trail_of):
    # At 1400 s, 600 s before its end, the kiln was 0.1 K/s times the rest of the way below.
    assert unseen_hold_s(topped(along, trail_of, 1490.0), 2000.0, TOP, 0.0, 14.0) == 1400.0  # 9 K below
    # 15 K below: it began when it was within 4 K, 40 s before 1550 s.
    assert unseen_hold_s(topped(along, trail_of, 1550.0), 2000.0, TOP, 0.0, 14.0) == 1510.0


def test_a_top_held_for_less_than_a_third_of_its_time_was_none(along, trail_of):
    # Within 4 K since 40 s before it was reached; 0.35 of 600 s are 210 s.
    assert unseen_hold_s(topped(along, trail_of, 1820.0), 2000.0, TOP, 0.0, 14.0) == 1780.0  # 220 s
    assert unseen_hold_s(topped(along, trail_of, 1840.0), 2000.0, TOP, 0.0, 14.0) is None  # 200 s


@pytest.mark.parametrize(("high_c", "offset", "is_one"), [
    (813.0, 0.0, True), (815.0, 0.0, False), (785.0, 0.0, False), (815.0, 10.0, True), (785.0, -10.0, True),
    (800.0, 15.0, False),
])
def test_a_top_far_from_its_target_is_another(along, trail_of, high_c, offset, is_one):
    found = unseen_hold_s(topped(along, trail_of, 1400.0, high_c), 2000.0, TOP, offset, 14.0)
    assert found == (1400.0 if is_one else None)


def test_the_height_of_a_top_is_that_of_its_highest_tenth_without_wild_readings(along, trail_of):
    readings = along((0.0, 660.0), (1400.0, 800.0), (2000.0, 800.0), (3000.0, 700.0))
    for i in (150, 160, 170):
        readings[i] = (readings[i][0], 850.0)
    assert unseen_hold_s(trail_of(readings), 2000.0, TOP, 0.0, 14.0) == 1400.0


def test_too_few_readings_before_a_fall_hide_no_top(along, trail_of):
    assert unseen_hold_s(trail_of(along((1960.0, 800.0), (3000.0, 700.0))), 2000.0, TOP, 0.0, 14.0) is None
    assert unseen_hold_s(trail_of(along((1100.0, 800.0), (1500.0, 800.0))), 9000.0, TOP, 0.0, 14.0) is None
