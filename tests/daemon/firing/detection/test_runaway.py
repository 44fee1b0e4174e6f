"""A climb that nobody asked for, on readings made by hand.

Of its plan part 3 is the top, part 5 the anneal at 516 °C, part 6 the cooling.
"""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.detection.runaway import holds_as_planned, since, stands_after_fall, unasked_climb
from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.situation.view import Interruption

MIN_S = 60.0
ANNEAL, COOLING = 5, 6


def ran(index, part, start_s, end_s=None, **measured):
    return Part(index, index, part, start_s, end_s, **measured)


def plan_with(rate):
    """Return a plan whose second climb goes at ``rate`` [°C/h], None for a free one."""
    return Plan("Drawn", "C", (Step(300.0, 600.0, 1800.0), Step(rate, 800.0, 600.0), Step(None, 516.0, 3600.0),
                               Step(60.0, 400.0), Step(None, 50.0)))


@pytest.fixture
def climbing(view_of, along):
    """Return a function: 20 min of the anneal, then a climb for some minutes at ``rate`` [°C/h]."""
    def view(rate, minutes=10.0, from_c=516.0, fastest=300.0, **fields):
        start_s = 20 * MIN_S
        readings = along((0.0, from_c), (start_s, from_c), (start_s + minutes * MIN_S, from_c + rate * minutes / 60))
        return view_of(readings, ANNEAL + 1, plan_with(fastest), **{
            "found": (ran(4, "ramp", -3600.0, 0.0), ran(5, "hold", 0.0)), "wander_k": 0.3, **fields})
    return view


def test_a_climb_faster_than_any_of_the_plan_is_told_with_both_rates(climbing):
    found = unasked_climb(climbing(700.0, resumed_s=20 * MIN_S))
    assert found.rate.c_per_h == pytest.approx(700.0, abs=5.0)
    assert found.fastest_c_per_h == 300.0
    assert 20 * MIN_S <= found.rate.since_s <= 30 * MIN_S


@pytest.mark.parametrize(("rate", "is_found"), [(770.0, False), (850.0, True)])
def test_it_must_surely_pass_thirteen_tenths_of_the_fastest(climbing, rate, is_found):
    # 780 °C/h. For 0.3 K of wander the error is √(12 · 0.3² · 240 / 600) / 600 s, 4 °C/h; slow air adds 3.
    found = unasked_climb(climbing(rate, fastest=600.0))
    assert (found is not None) is is_found
    if found:
        assert found.fastest_c_per_h == 600.0


@pytest.mark.parametrize(("rate", "is_found"), [(500.0, False), (620.0, True)])
def test_it_must_gain_ten_kelvins_in_the_last_minute(climbing, rate, is_found):
    assert (unasked_climb(climbing(rate)) is not None) is is_found


def test_the_fall_before_the_anneal_is_enough_and_the_top_is_not(climbing):
    assert unasked_climb(climbing(700.0, found=(ran(3, "hold", 0.0),))) is None
    assert unasked_climb(climbing(700.0, found=(ran(4, "ramp", 0.0),))) is not None


def test_an_interrupted_kiln_is_on_its_way_back_until_it_is_past_where_it_goes(climbing):
    # Back to the anneal at 516 °C, which is known to 8 K, with 15 K to shoot over: 539 °C. In 10 min it climbs 117 K.
    broken = Interruption(-600.0, COOLING, 0.0, 500.0)
    assert unasked_climb(climbing(700.0, from_c=420.0, broken=broken)) is None
    assert unasked_climb(climbing(700.0, from_c=425.0, broken=broken)) is not None


@pytest.mark.parametrize(("from_c", "is_found"), [(2.0, False), (6.0, True)])
def test_a_cold_kiln_lurches(climbing, from_c, is_found):
    view = climbing(700.0, from_c=from_c, peak_c=800.0)  # 117 K up, to 119 or 123 °C
    assert (unasked_climb(view) is not None) is is_found


def test_with_a_free_climb_there_is_no_fastest_one(climbing):
    assert unasked_climb(climbing(700.0, fastest=None)) is None


@pytest.mark.parametrize(("stood_c", "is_found"), [(586.0, False), (584.0, True)])
def test_air_that_comes_back_under_a_lid_leads_no_higher_than_it_was(view_of, along, stood_c, is_found):
    # Down to 480 °C while the lid is open, back to 595 °C: ten kelvins more than it was is a climb of its own.
    readings = along((0.0, stood_c), (210.0, stood_c), (270.0, 480.0), (850.0, 595.0))
    found = (ran(4, "ramp", -3600.0, 0.0), ran(5, "hold", 0.0))
    view = view_of(readings, ANNEAL + 1, found=found, wander_k=0.3, resumed_s=270.0)
    assert (unasked_climb(view) is not None) is is_found


def test_what_was_read_before_the_last_quarter_of_an_hour_is_forgotten(view_of, along):
    readings = along((0.0, 590.0), (240.0, 480.0), (630.0, 480.0), (1200.0, 595.0))
    found = (ran(4, "ramp", -3600.0, 0.0), ran(5, "hold", 0.0))
    assert unasked_climb(view_of(readings, ANNEAL + 1, found=found, wander_k=0.3)) is not None


def test_no_slope_reaches_across_a_gap(climbing):
    assert unasked_climb(climbing(700.0, resumed_s=28.5 * MIN_S)) is None
    assert unasked_climb(climbing(700.0, resumed_s=24 * MIN_S)) is not None


@pytest.mark.parametrize(("rate", "falls", "climbs"), [
    (500.0, False, 500.0), (0.0, False, 0.0), (-10.0, False, 0.0), (-30.0, True, 0.0),
])
def test_since_it_was_found_it_climbs_stands_or_falls(view_of, along, rate, falls, climbs):
    # Over 600 s the error is √(12 · 0.3² · 240 / 600) / 600 s, 4 °C/h; to be sure of 8 °C/h takes 16.
    view = view_of(along((0.0, 600.0), (600.0, 600.0 + rate / 6)), ANNEAL + 1, wander_k=0.3)
    found = since(view, 0.0)
    assert found.falls is falls
    assert found.rate_c_per_h == pytest.approx(climbs, abs=0.5)


def test_what_it_did_before_does_not_count(view_of, along):
    view = view_of(along((0.0, 500.0), (300.0, 560.0), (600.0, 550.0)), ANNEAL + 1, wander_k=0.1)
    assert not since(view, 0.0).falls
    assert since(view, 300.0).falls
    assert since(view_of(along((0.0, 500.0), (300.0, 560.0), (600.0, 550.0)), 6, resumed_s=300.0, wander_k=0.1),
                 0.0).falls


def test_a_moment_tells_nothing(view_of, along):
    assert since(view_of(along((0.0, 600.0), (600.0, 600.0)), ANNEAL + 1), 590.0) is None


@pytest.mark.parametrize(("rate", "state", "minutes", "holds"), [
    (0.0, ANNEAL + 1, 10.0, True),
    (7.0, ANNEAL + 1, 10.0, True),
    (-7.0, ANNEAL + 1, 10.0, True),
    (9.0, ANNEAL + 1, 10.0, False),
    (-9.0, ANNEAL + 1, 10.0, False),
    (0.0, ANNEAL + 1, 3.8, False),  # four minutes must be seen
    (0.0, ANNEAL + 1, 4.2, True),
    (0.0, COOLING + 1, 10.0, False),
    (0.0, 0, 10.0, False),
])
def test_a_kiln_that_stands_still_where_its_plan_holds_has_a_program(view_of, along, rate, state, minutes, holds):
    view = view_of(along((0.0, 516.0), (60 * minutes, 516.0 + rate * minutes / 60), every_s=2.0), state,
                   found=(ran(state - 1, "hold", 0.0),))
    assert holds_as_planned(view) is holds


def test_a_hold_that_the_plan_has_done_is_none(view_of, along):
    """A controller that began again holds in the squeeze on its way to a second top."""
    readings = along((0.0, 600.0), (600.0, 600.0), every_s=2.0)
    first = (ran(0, "ramp", -9e3, -7e3), ran(1, "hold", -7e3, -5e3))
    assert holds_as_planned(view_of(readings, 2, found=(first[0], ran(1, "hold", 0.0))))
    again = (*first, ran(3, "hold", -5e3, -4e3), ran(5, "hold", -3e3, -1e3), ran(0, "ramp", -1e3, 0.0))
    assert not holds_as_planned(view_of(readings, 2, found=(*again, ran(1, "hold", 0.0)), peak_c=800.0))


def test_a_hold_is_told_from_its_own_readings(view_of, along):
    readings = along((0.0, 616.0), (600.0, 516.0), (900.0, 516.0))
    assert holds_as_planned(view_of(readings, ANNEAL + 1, found=(ran(5, "hold", 600.0),)))
    assert not holds_as_planned(view_of(readings[:-18], ANNEAL + 1, found=(ran(5, "hold", 600.0),)))


@pytest.mark.parametrize(("last", "stands"), [
    (((5400.0, 540.0), (6060.0, 540.0)), True),
    (((5400.0, 540.0), (5880.0, 540.0)), False),  # ten minutes are needed
    (((5400.0, 540.0), (6060.0, 538.0)), False),  # 11 °C/h, a fall that slackens
    (((5400.0, 760.0), (6060.0, 760.0)), False),  # not 50 K below where it was too hot
    (((5400.0, 600.0), (6060.0, 600.0)), False),  # at the squeeze, and 84 K from the hold the plan falls to
    (((5400.0, 360.0), (6060.0, 360.0)), False),  # past mending, and near the slowest kiln's last kelvins
    (((5700.0, 500.0), (6060.0, 540.0)), False),  # air that comes back
    (((5400.0, 470.0), (5730.0, 540.0), (6060.0, 470.0)), False),  # a turn
])
def test_a_kiln_that_has_fallen_and_stands_near_a_hold_is_heated(view_of, along, last, stands):
    view = view_of(along((0.0, 800.0), (3600.0, 800.0), *last), ANNEAL + 1)
    assert stands_after_fall(view, 1800.0) is stands


def test_a_kiln_that_only_fell_before_somebody_was_told_may_be_switched_off_yet(view_of, along):
    readings = along((0.0, 800.0), (1800.0, 540.0), (3600.0, 540.0))
    assert stands_after_fall(view_of(readings, ANNEAL + 1), 0.0)
    assert not stands_after_fall(view_of(readings, ANNEAL + 1), 2400.0)
    assert not stands_after_fall(view_of(readings, ANNEAL + 1), float("-inf"))


@pytest.mark.parametrize("time_h", [1.0, 2.5, 5.0])
def test_no_kiln_that_was_switched_off_stands(view_of, time_h):
    """Newton's law of cooling, from the fastest to the slowest kiln, down to where nothing can be saved."""
    for until_s in range(1200, int(time_h * 3600), 600):
        readings = [(t_s, 20.0 + 806.0 * exp(-t_s / (time_h * 3600)))
                    for t_s in (float(t_s) for t_s in range(max(0, until_s - 7200), until_s, 5))]
        assert not stands_after_fall(view_of(readings, ANNEAL + 1), 0.0)
