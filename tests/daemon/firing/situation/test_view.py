"""What a watch sees of one moment: the phase, what comes next, how long a hold was held, whether a line goes on."""

from __future__ import annotations

from math import hypot, inf

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.near_target import near_k
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts

CLIMB, SQUEEZE, CLIMB_ON, TOP, FALL, ANNEAL, COOLING, OFF = range(8)
"""Parts of the plan of the fixture ``view_of``: holds of 30, 10 and 60 min at 600, 800 and 516 °C."""
TWO_RAMPS = Plan("two ramps down", "C", (Step(300.0, 516.0, 600.0, "anneal"), Step(60.0, 450.0), Step(120.0, 370.0)))


def at(view_of, state, temp_c=500.0, **more):
    return view_of([(1000.0, temp_c)], state, **more)


# --- where in the plan -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("state", "phase", "index"), [
    (0, "before", None), (CLIMB + 1, "climb", CLIMB), (SQUEEZE + 1, "climb", SQUEEZE),
    (CLIMB_ON + 1, "climb", CLIMB_ON), (TOP + 1, "top", TOP), (FALL + 1, "fall", FALL),
    (ANNEAL + 1, "anneal", ANNEAL), (COOLING + 1, "cooling", COOLING), (OFF + 1, "cooling", OFF), (9, "after", None),
])
def test_each_part_of_a_fuse_has_its_phase(view_of, state, phase, index):
    view = at(view_of, state)
    assert view.phase == phase
    assert (view.part and view.part.index) == index


def test_a_hold_under_way_is_the_last_part_found_if_it_is_the_one_the_follower_sees(view_of):
    hold = Part(ANNEAL, 3, "hold", 300.0)
    assert at(view_of, ANNEAL + 1, found=(hold,)).present_hold == hold
    assert at(view_of, ANNEAL + 1, found=(hold, Part(COOLING, 4, "ramp", 400.0))).present_hold is None
    assert at(view_of, ANNEAL + 1).present_hold is None
    assert at(view_of, COOLING + 1, found=(Part(COOLING, 4, "ramp", 300.0),)).present_hold is None
    assert at(view_of, 0, found=(hold,)).present_hold is None


def test_what_comes_next_and_when_the_present_part_began(view_of):
    assert [at(view_of, state).next_part.index for state in (0, 1, 7)] == [0, 1, 7]
    assert [at(view_of, state).next_part for state in (8, 9)] == [None, None]
    assert at(view_of, 1).part_start_s == 0.0
    assert at(view_of, 2, found=(Part(0, 1, "ramp", 5.0, 70.0), Part(1, 1, "hold", 70.0))).part_start_s == 70.0


def test_a_target_is_told_to_eight_kelvin_or_to_fourteen(view_of):
    assert (near_k(known=True), near_k(known=False)) == (8.0, 14.0)
    assert (at(view_of, 1).near_k, at(view_of, 1, offset_known=False).near_k) == (8.0, 14.0)


@pytest.mark.parametrize(("index", "leads"), [
    (CLIMB, False), (CLIMB_ON, True), (TOP, True), (FALL, True), (ANNEAL, False), (COOLING, False),
])
def test_which_parts_lead_to_the_anneal_without_a_climb(view_of, index, leads):
    assert at(view_of, 1).leads_to_anneal(index) is leads
    assert not at(view_of, 1, anneal=None).leads_to_anneal(index)


@pytest.mark.parametrize(("index", "fall"), [
    (CLIMB, None), (SQUEEZE, None), (CLIMB_ON, FALL), (TOP, FALL), (FALL, COOLING), (ANNEAL, COOLING), (COOLING, OFF),
    (OFF, None),
])
def test_the_next_ramp_counts_where_it_falls(view_of, index, fall):
    found = at(view_of, 1).next_fall(index)
    assert (found and found.index) == fall


@pytest.mark.parametrize(("peak_c", "first_c", "offset", "state", "never"), [
    (759.0, 20.0, 0.0, ANNEAL + 1, True), (761.0, 20.0, 0.0, ANNEAL + 1, False),  # 40 K below 800 °C
    (765.0, 20.0, 6.0, ANNEAL + 1, True), (767.0, 20.0, 6.0, ANNEAL + 1, False),
    (700.0, 399.0, 0.0, ANNEAL + 1, True), (700.0, 401.0, 0.0, ANNEAL + 1, False),  # joined hot
    (700.0, 20.0, 0.0, FALL + 1, True), (700.0, 20.0, 0.0, TOP + 1, False), (700.0, 20.0, 0.0, 9, False),
])
def test_a_top_is_unreached_once_it_is_passed_far_below_it(view_of, peak_c, first_c, offset, state, never):
    view = at(view_of, state, peak_c=peak_c, first_c=first_c, offset_k=offset)
    assert view.unreached_top == (view.top if never else None)


def test_without_a_top_none_is_unreached(view_of):
    assert at(view_of, ANNEAL + 1, peak_c=20.0, first_c=20.0, top=None).unreached_top is None
    # A firing that begins in its only hold has no way to it.
    cooling = Plan("cooling only", "C", (Step(300.0, 20.0, 600.0, "top"), Step(60.0, 10.0)))
    assert at(view_of, 2, plan=cooling, first_c=5.0, peak_c=-100.0).unreached_top is None


@pytest.mark.parametrize(("temp_c", "offset", "vents", "swings"), [
    (516.0, 0.0, True, True), (540.0, 0.0, True, True), (542.0, 0.0, True, False), (492.0, 0.0, True, True),
    (490.0, 0.0, True, False), (545.0, 10.0, True, True), (516.0, 0.0, False, False),
])
def test_a_vented_kiln_may_swing_into_its_anneal_within_twenty_five_kelvin(view_of, temp_c, offset, vents, swings):
    assert at(view_of, ANNEAL + 1, temp_c, offset_k=offset, vents=vents).swings_to_anneal is swings
    assert not at(view_of, ANNEAL + 1, temp_c, offset_k=offset, vents=vents, anneal=None).swings_to_anneal


@pytest.mark.parametrize(("state", "temp_c", "offset", "known", "rate"), [
    (2, 500.0, 0.0, True, 60.0), (2, 459.0, 0.0, True, 60.0),  # more than 8 K above 450 °C
    (2, 457.0, 0.0, True, 120.0), (2, 462.0, 0.0, False, 120.0), (2, 462.0, 5.0, True, 120.0),  # near: the faster one
    (3, 379.0, 0.0, True, 120.0), (3, 377.0, 0.0, True, inf),  # the plan is as good as done
])
def test_near_a_ramps_end_the_next_one_governs_how_fast_it_may_fall(view_of, state, temp_c, offset, known, rate):
    parts = planned_parts(TWO_RAMPS, start_c=516.0)
    assert [p.part for p in parts] == ["hold", "ramp", "ramp"]
    view = at(view_of, state, temp_c, parts=parts, offset_k=offset, offset_known=known)
    assert view.governing_fall_c_per_h(view.part) == rate


def test_a_free_fall_governs_by_no_rate_and_a_fall_before_a_climb_by_its_own(view_of):
    view = at(view_of, FALL + 1, 700.0)
    assert view.governing_fall_c_per_h(view.part) == inf
    near = at(view_of, COOLING + 1, 402.0)
    assert near.governing_fall_c_per_h(near.part) == inf  # the next one is free
    dip = Plan("dip", "C", (Step(300.0, 600.0), Step(60.0, 500.0), Step(300.0, 700.0)))
    low = at(view_of, 2, 500.0, plan=dip)
    assert low.governing_fall_c_per_h(low.part) == 60.0


# --- how long a hold was held ----------------------------------------------------------------------------


def dwell(view_of, readings, index, until_s=None, **more):
    view = view_of(readings, index + 1, **more)
    return view.dwell_s(view.parts[index], view.t_s if until_s is None else until_s)


def test_a_hold_was_held_from_where_its_target_was_near_less_what_the_climb_takes_there(view_of, along):
    # 300 °C/h: the 8 K below 600 °C take 96 s, and the climb drawn here takes as long.
    climbed = along((0.0, 500.0), (1200.0, 600.0), (2200.0, 600.0))
    assert dwell(view_of, climbed, SQUEEZE) == pytest.approx(1000.0, abs=10.0)
    assert dwell(view_of, climbed, SQUEEZE, until_s=1700.0) == pytest.approx(500.0, abs=10.0)
    # With the usual difference unknown near is 14 K, 168 s, of the climb as of the hold.
    assert dwell(view_of, climbed, SQUEEZE, offset_known=False) == pytest.approx(1000.0, abs=10.0)


def test_a_hold_counts_from_the_usual_difference(view_of, along):
    high = along((0.0, 510.0), (1200.0, 610.0), (2200.0, 610.0))
    assert dwell(view_of, high, SQUEEZE, offset_k=10.0) == pytest.approx(1000.0, abs=10.0)


def test_a_hold_that_stood_beside_its_target_counts_from_where_it_stood(view_of, along):
    # 14 K above the target is within twice 8 K: within 6 K of 614 °C since 72 s before it was reached.
    beside = along((0.0, 514.0), (1200.0, 614.0), (2200.0, 614.0))
    assert dwell(view_of, beside, SQUEEZE) == pytest.approx(1000.0, abs=10.0)
    far = along((0.0, 520.0), (1200.0, 620.0), (2200.0, 620.0))
    assert dwell(view_of, far, SQUEEZE) == pytest.approx(0.0, abs=10.0)


def test_a_hold_begins_anew_after_an_excursion_and_not_after_a_short_blink(view_of, along):
    # To 580 °C and back in 600 s: more than 12 K away for 240 s.
    dipped = along((0.0, 600.0), (1000.0, 600.0), (1300.0, 580.0), (1600.0, 600.0), (2600.0, 600.0))
    # Back within 8 K of the target at 1480 s; the climb's 96 s are taken off.
    assert dwell(view_of, dipped, SQUEEZE) == pytest.approx(2600.0 - 1480.0 - 96.0, abs=11.0)
    # To 590 °C it never was more than one and a half times 8 K away: the whole stay counts.
    shallow = along((0.0, 600.0), (1000.0, 600.0), (1300.0, 590.0), (1600.0, 600.0), (2600.0, 600.0))
    assert dwell(view_of, shallow, SQUEEZE) == pytest.approx(2600.0 - 96.0, abs=10.0)


def test_the_last_minute_may_have_left_the_hold_already(view_of, along):
    left = along((0.0, 600.0), (2000.0, 600.0), (2050.0, 570.0))
    assert dwell(view_of, left, SQUEEZE) == pytest.approx(2050.0 - 96.0, abs=10.0)
    longer = along((0.0, 600.0), (2000.0, 600.0), (2150.0, 555.0))  # beyond 12 K for 110 s
    assert dwell(view_of, longer, SQUEEZE) == pytest.approx(0.0, abs=10.0)


def test_a_top_between_a_climb_and_a_fall_counts_from_its_first_to_its_last_height(view_of, along):
    # A look: to 760 °C and back. Within 12 K of 800 °C first 144 s before 1200 s, which the climb takes.
    looked = along((0.0, 700.0), (1200.0, 800.0), (1500.0, 800.0), (1510.0, 760.0), (1700.0, 800.0), (2000.0, 800.0))
    assert dwell(view_of, looked, TOP) == pytest.approx(800.0, abs=10.0)
    # It is left at 2000 s, and told 300 s later.
    left = [*looked, *along((2010.0, 800.0), (2300.0, 700.0))]
    assert dwell(view_of, left, TOP) == pytest.approx(800.0 + 12.0 / 100.0 * 290.0, abs=20.0)


def test_a_top_is_sought_three_times_its_length_and_half_an_hour_back(view_of, along):
    # 600 s asked: 3600 s back. It was as high 4000 s ago, and low since then for a while.
    twice = along((0.0, 800.0), (100.0, 800.0), (700.0, 700.0), (3500.0, 700.0), (3900.0, 800.0), (4000.0, 800.0))
    assert dwell(view_of, twice, TOP) < 200.0
    recent = along((0.0, 700.0), (600.0, 700.0), (700.0, 800.0), (800.0, 800.0), (900.0, 700.0), (3500.0, 700.0),
                   (3900.0, 800.0), (4000.0, 800.0))
    assert dwell(view_of, recent, TOP) > 3000.0


def test_nothing_is_held_before_the_first_reading(view_of, along):
    assert dwell(view_of, along((1000.0, 800.0), (2000.0, 800.0)), TOP, until_s=900.0) == 0.0


def test_a_hold_reached_freely_has_no_planned_time_through_its_nearness(view_of, along):
    fell = along((0.0, 560.0), (880.0, 516.0), (1880.0, 516.0))
    # 8 K at 0.05 K/s are 160 s: within them since 720 s.
    assert dwell(view_of, fell, ANNEAL) == pytest.approx(1160.0, abs=10.0)


# --- the parts as they ran --------------------------------------------------------------------------------


def test_when_a_part_ended_and_how_it_ran_last(view_of):
    first, again = Part(TOP, 3, "hold", 70.0, 400.0), Part(TOP, 3, "hold", 600.0)
    fell = Part(FALL, 4, "ramp", 400.0, 600.0)
    view = at(view_of, TOP + 1, found=(first, fell, again))
    assert (view.ended_s(first), view.ended_s(again)) == (400.0, view.t_s)
    assert (view.last_run(TOP), view.last_run(FALL), view.last_run(ANNEAL)) == (again, fell, None)


# --- levels and lines ------------------------------------------------------------------------------------


def test_when_a_level_was_last_reached(view_of, along):
    view = view_of(along((0.0, 500.0), (1000.0, 600.0), (2000.0, 500.0)), 1)
    assert view.last_at_or_above(550.0) == 1500.0
    assert view.last_at_or_above(550.0, 1500.0) == 1500.0
    assert view.last_at_or_above(550.0, 1510.0) is None
    assert view.last_at_or_above(601.0) is None
    assert view.last_at_or_above(500.0) == 2000.0


def test_a_line_reaches_back_a_window_three_steps_of_a_slow_logger_or_to_where_it_may(view_of, along):
    view = view_of(along((0.0, 500.0), (2000.0, 600.0)), 1)
    reaches = ((600.0, 0.0), (600.0, 1700.0), (600.0, 1000.0))
    assert [view.line(*reach).span_s for reach in reaches] == [600.0, 300.0, 600.0]
    slow = view_of(along((0.0, 500.0), (2000.0, 600.0)), 1)
    slow.trail.step_s = 300.0
    assert slow.line(600.0).span_s == 900.0
    assert slow.line(1000.0).span_s == 1000.0


def test_a_line_asked_for_again_at_the_same_beat_is_the_one_drawn_before(view_of, along):
    view = view_of(along((0.0, 500.0), (2000.0, 600.0)), 1)
    drawn = view.line(600.0)
    assert view.line(600.0) is drawn
    assert view.line(300.0) == view.trail.line(1700.0)
    assert view.line(600.0, 1700.0) == view.trail.line(1700.0)


@pytest.mark.parametrize(("last_c", "resumed_s", "rises"), [
    (601.0, 0.0, True), (599.0, 0.0, False), (600.0, 0.0, False), (601.0, 1990.0, False),
])
def test_a_kiln_rises_where_its_last_minute_does(view_of, along, last_c, resumed_s, rises):
    view = view_of(along((0.0, 700.0), (1940.0, 600.0), (2000.0, last_c)), 1, resumed_s=resumed_s)
    assert view.rises is rises


def goes_on(view_of, along, first_k, second_k, way, **more):
    """Return whether a line of two halves of 300 s, with these rises [K], goes on."""
    readings = along((0.0, 600.0), (300.0, 600.0 + first_k), (600.0, 600.0 + first_k + second_k))
    view = view_of(readings, 1, wander_k=0.05, **more)
    return view.goes_on(view.line(600.0), way)


@pytest.mark.parametrize(("first_k", "second_k", "way", "on"), [
    (10.0, 10.0, 1, True), (10.0, 0.0, 1, False), (0.0, 10.0, 1, True), (-10.0, -10.0, -1, True),
    (-10.0, 0.0, -1, False), (0.0, -10.0, -1, True), (10.0, 0.0, -1, True),
    # Half of the whole's slope may be lost: of 10 and x K in two halves, 10 − x < (10 + x) / 4, but for its error.
    (10.0, 5.0, 1, False), (10.0, 7.0, 1, True),
])
def test_a_line_that_slackens_by_more_than_half_its_slope_does_not_go_on(view_of, along, first_k, second_k, way, on):
    assert goes_on(view_of, along, first_k, second_k, way) is on


def test_a_short_line_is_believed(view_of, along):
    for length_s, on in ((90.0, True), (120.0, False)):
        half_s = length_s / 2
        view = view_of(along((0.0, 600.0), (half_s, 620.0), (length_s, 620.0), every_s=5.0), 1, wander_k=0.0)
        assert view.goes_on(view.line(length_s), 1) is on


def test_a_line_goes_on_within_two_and_a_half_standard_errors(view_of, along):
    # A change of slope d against 2.5 standard errors of the difference, √(e₁² + e₂²), and half of the whole's slope.
    readings = along((0.0, 600.0), (300.0, 603.0), (600.0, 603.0))
    view = view_of(readings, 1)
    line = view.line(600.0)
    first, second = view.trail.line(0.0, 300.0), view.trail.line(300.0)
    change = (first.slope_c_per_s - second.slope_c_per_s) * 3600 - 0.5 * line.slope_c_per_s * 3600
    for factor, on in ((0.98, False), (1.02, True)):
        view.trail.noise_k = 1e-6
        view.wander_k = 1.0
        view.wander_k *= factor * change / (2.5 * hypot(view.error_c_per_h(first), view.error_c_per_h(second)))
        assert view.goes_on(line, 1) is on


def test_the_error_of_a_slope_is_told_per_hour(view_of, along):
    view = view_of(along((0.0, 600.0), (600.0, 700.0)), 1, wander_k=1.0)
    line = view.line(600.0)
    assert view.error_c_per_h(line) == pytest.approx(3600 * view.trail.slope_error(line, 1.0, 240.0))
