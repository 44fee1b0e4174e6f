"""What a moment of the plan makes of a fall or of blindness."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.situation import phase

CLIMB, SQUEEZE, CLIMB_ON, TOP, FALL, ANNEAL, COOLING, OFF = range(8)
"""Parts of the plan of the fixture ``view_of``: holds of 30, 10 and 60 min at 600, 800 and 516 °C."""
NO, POSSIBLE, CERTAIN = phase.FreeFall.NO, phase.FreeFall.POSSIBLE, phase.FreeFall.CERTAIN


@pytest.mark.parametrize(("state", "temp_c", "dangerous"), [
    (0, 700.0, False), (CLIMB + 1, 539.0, False), (CLIMB + 1, 541.0, True),
    (SQUEEZE + 1, 530.0, False), (SQUEEZE + 1, 600.0, True), (TOP + 1, 800.0, True),
    (FALL + 1, 300.0, True), (ANNEAL + 1, 300.0, True), (COOLING + 1, 600.0, False), (9, 600.0, False),
])
def test_blindness_is_dangerous_climbing_hot_and_from_the_top_to_the_end_of_the_anneal(
        view_of, state, temp_c, dangerous):
    assert phase.is_blindness_dangerous(view_of([(0.0, temp_c)], state)) is dangerous


@pytest.mark.parametrize(("is_whole", "temp_c", "dangerous"), [
    (False, 510.0, True),  # the dip after a free fall is taken for the cooling
    (False, 475.0, False), (False, 560.0, False),  # 41 K below it the kiln has left it; 44 K above it, nobody knows
    (True, 510.0, False),  # it was held
])
def test_blindness_is_dangerous_where_the_anneal_may_not_be_over(view_of, is_whole, temp_c, dangerous):
    view = view_of([(1000.0, temp_c), (1200.0, temp_c)], COOLING + 1, progress=SimpleNamespace(is_whole=is_whole))
    assert phase.is_blindness_dangerous(view) is dangerous


def test_without_an_anneal_all_after_the_last_climb_is_dangerous(view_of):
    assert phase.is_blindness_dangerous(view_of([(0.0, 300.0)], COOLING + 1, anneal=None))


@pytest.mark.parametrize(("state", "peak_c", "before"), [
    (0, 700.0, False), (CLIMB + 1, 500.0, True), (SQUEEZE + 1, 600.0, True), (CLIMB_ON + 1, 755.0, True),
    (CLIMB_ON + 1, 765.0, False),  # the follower may see the climb for as long as the top
    (TOP + 1, 755.0, False), (COOLING + 1, 500.0, False),
])
def test_before_the_top_is_a_climb_that_has_not_come_near_it(view_of, state, peak_c, before):
    assert phase.is_before_top(view_of([(0.0, peak_c - 100.0)], state, peak_c=peak_c)) is before


def falls(view_of, state, readings=((1000.0, 700.0),), *, since_s=0.0, plan=None, **more):
    part = None if state in (0, 9) else Part(state - 1, 1, "hold", since_s)
    plan_given = {} if plan is None else {"plan": plan}
    found = () if part is None else (part,)
    return phase.planned_free_fall(view_of(readings, state, found=found, **plan_given, **more))


@pytest.mark.parametrize(("state", "found"), [
    (0, NO), (9, CERTAIN),  # before and after the plan
    (CLIMB + 1, NO), (SQUEEZE + 1, NO),  # a climb comes next
    (COOLING + 1, NO),  # a planned rate
    (OFF + 1, CERTAIN),
])
def test_a_plan_falls_freely_where_it_says_so(view_of, state, found):
    assert falls(view_of, state, [(1000.0, 350.0)]) is found


@pytest.mark.parametrize(("temp_c", "known", "offset", "found"), [
    (700.0, True, 0.0, CERTAIN),
    (533.0, True, 0.0, CERTAIN), (531.0, True, 0.0, NO),  # twice 8 K above 516 °C: the anneal begins
    (545.0, False, 0.0, CERTAIN), (543.0, False, 0.0, NO),  # twice 14 K
    (543.0, True, 10.0, CERTAIN), (541.0, True, 10.0, NO),
])
def test_a_free_fall_to_the_anneal_ends_where_its_target_may_be_near(view_of, temp_c, known, offset, found):
    assert falls(view_of, FALL + 1, [(1000.0, temp_c)], offset_known=known, offset_k=offset) is found


def test_below_the_band_a_free_fall_goes_on(view_of):
    low_c = view_of([(0.0, 20.0)], 0).glass.band_low_c
    assert falls(view_of, OFF + 1, [(1000.0, low_c - 1.0)]) is CERTAIN
    assert falls(view_of, OFF + 1, [(1000.0, low_c + 1.0)]) is NO  # in the band it is no free fall that is meant
    # A free fall that ends inside the band: above twice its nearness it is meant, if its end is above the band.
    into = Plan("into the band", "C", (Step(300.0, 800.0, 600.0), Step(None, low_c - 5.0)))
    assert falls(view_of, 3, [(1000.0, 700.0)], plan=into) is NO


@pytest.mark.parametrize(("held_s", "found"), [(440.0, NO), (460.0, POSSIBLE), (1000.0, POSSIBLE)])
def test_a_short_top_may_be_over_a_quarter_of_its_time_early(view_of, along, held_s, found):
    # 600 s less the greater of 120 s and a quarter, 150 s: from 450 s on, by the follower. The readings climb to the
    # end and say nothing of a hold.
    assert falls(view_of, TOP + 1, along((0.0, 300.0), (2000.0, 700.0)), since_s=2000.0 - held_s) is found


@pytest.mark.parametrize(("held_s", "found"), [(110.0, NO), (130.0, POSSIBLE)])
def test_a_hold_of_a_few_minutes_may_be_over_two_minutes_early(view_of, along, held_s, found):
    brief = Plan("brief", "C", (Step(300.0, 800.0, 240.0), Step(None, 516.0, 3600.0)))
    assert falls(view_of, 2, along((0.0, 300.0), (2000.0, 700.0)), since_s=2000.0 - held_s, plan=brief) is found


@pytest.mark.parametrize(("stood_s", "found"), [(410.0, NO), (430.0, POSSIBLE)])
def test_a_top_that_the_follower_came_to_late_may_be_over_by_what_the_readings_stood_there(
        view_of, along, stood_s, found):
    readings = along((0.0, 700.0), (1200.0, 800.0), (1200.0 + stood_s, 800.0))
    assert falls(view_of, TOP + 1, readings, since_s=1200.0 + stood_s - 60.0) is found


def test_a_long_hold_may_be_over_after_three_quarters(view_of, along):
    # 3600 s, left freely below the band: from 2700 s on.
    freely = Plan("off", "C", (Step(300.0, 450.0, 3600.0), Step(None, 50.0)))
    for held_s, found in ((2690.0, NO), (2710.0, POSSIBLE)):
        readings = along((0.0, 20.0), (9000.0, 300.0))
        assert falls(view_of, 2, readings, since_s=9000.0 - held_s, plan=freely) is found


def short_top(minutes):
    return Plan("short top", "C", (Step(300.0, 800.0, 60.0 * minutes), Step(None, 516.0, 3600.0)))


@pytest.mark.parametrize(("held_s", "top_c", "ago_s", "found"), [
    (330.0, 793.0, 100.0, POSSIBLE),  # more than half of ten minutes, within 8 K of the top a moment ago
    (330.0, 791.0, 100.0, NO),
    (270.0, 793.0, 100.0, NO),  # less than half: nobody ends it so early
    (330.0, 793.0, 890.0, POSSIBLE), (330.0, 793.0, 910.0, NO),  # within the last quarter of an hour
])
def test_while_the_climb_is_still_seen_more_than_half_of_a_top_may_be_all(
        view_of, along, held_s, top_c, ago_s, found):
    """The last 25 K of the climb, at 300 °C/h, take five minutes and do not count."""
    began_s = 4000.0 - ago_s - held_s
    readings = along((0.0, 400.0), (began_s, top_c), (4000.0 - ago_s, top_c), (4000.0 - ago_s + 20, 700.0),
                     (4000.0, 700.0))
    assert falls(view_of, 1, readings, plan=short_top(10.0)) is found


def test_a_longer_top_may_be_over_once_half_of_it_has_been_held(view_of, along):
    for held_s, found in ((470.0, NO), (490.0, POSSIBLE)):  # of 960 s
        readings = along((0.0, 700.0), (1200.0, 800.0), (1200.0 + held_s, 800.0))
        assert falls(view_of, 1, readings, plan=short_top(16.0)) is found


@pytest.mark.parametrize(("stood_at_c", "stood_s", "found"), [
    (775.0, 690.0, POSSIBLE),  # the probe reads the top of 800 °C by 25 K too low, and 0.7 · 960 s are 672 s
    (775.0, 640.0, NO),
    (755.0, 690.0, NO),  # no probe is off by so much
])
def test_a_top_that_the_probe_reads_too_low_may_be_over_too(view_of, along, stood_at_c, stood_s, found):
    readings = along((0.0, stood_at_c - 100.0), (1200.0, stood_at_c), (1200.0 + stood_s, stood_at_c))
    assert falls(view_of, 1, readings, plan=short_top(16.0), peak_c=stood_at_c) is found


def test_a_climb_without_a_hold_may_be_over_at_its_target(view_of, along):
    touched = Plan("touched", "C", (Step(300.0, 800.0), Step(None, 516.0, 3600.0)))
    assert falls(view_of, 1, along((0.0, 700.0), (1140.0, 795.0)), plan=touched) is POSSIBLE
    assert falls(view_of, 1, along((0.0, 690.0), (1140.0, 785.0)), plan=touched) is NO
