"""A climb that is too fast for brittle glass, on views made by hand."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.watches.heating_too_fast import KIND, HeatingTooFastWatch, heating_too_fast

STAIRS = """title = "Stairs"
unit = "C"
step = [{ rate = 100, to = 300 }, { rate = 200, to = 500 }, { rate = "free", to = 800, hold_min = 10 },
        { rate = "free", to = 516, hold_min = 60 }, { rate = 80, to = 400 }]"""
"""Parts: 0 climbs at 100 °C/h, 1 at 200 °C/h, 2 freely to the top, 3."""
HOUR_S = 3600.0


@pytest.fixture
def climbing(view_of, leg_of):
    """Return a function: the view after minutes of a climb at ``rate`` [°C/h] that ends at ``to_c``."""
    def view(rate, to_c, *, part=0, minutes=40.0, after_min=0.0, **fields):
        readings = leg_of(to_c - rate * minutes / 60, to_c, minutes, from_s=HOUR_S)
        return view_of(readings, **{"plan": STAIRS, "found": [(part, HOUR_S + 60 * after_min)],
                                    "resumed_s": 0.0, **fields})
    return view


def test_it_says_how_fast_and_what_was_planned(climbing):
    found = heating_too_fast(climbing(160.0, 250.0))
    assert (found.kind, found.rank, found.step) == (KIND, Rank.WAKE, 1)  # whether it wakes, the consequence says
    assert found.facts.rate_c_per_h == pytest.approx(160.0, abs=3.0)
    assert (found.facts.planned_c_per_h, found.facts.brittle_below_c) == (100.0, 540.0)
    assert found.facts.temp_c == found.severity_c == pytest.approx(250.0, abs=0.3)
    assert HOUR_S + 1200.0 <= found.since_s <= HOUR_S + 2400.0 - 100.0


@pytest.mark.parametrize(("rate", "is_raised"), [(100.0, False), (129.0, False), (150.0, True)])
def test_it_takes_a_rate_surely_above_thirteen_tenths_of_the_plan(climbing, rate, is_raised):
    # Over 20 min the slope's error is 2.4 °C/h: 1.4 for a wander of 0.3 K, 2.0 for slow air. Sure is 3.7 times that.
    assert (heating_too_fast(climbing(rate, 250.0)) is not None) is is_raised


@pytest.mark.parametrize(("rate", "to_c", "part", "is_raised"), [
    (160.0, 119.0, 0, False),  # a cold kiln lurches
    (160.0, 121.5, 0, True),
    (400.0, 480.0, 1, True),
    (400.0, 541.0, 1, False),  # glass of family 90 is no longer brittle
])
def test_it_is_asked_of_brittle_glass_in_a_kiln_that_follows_its_controller(climbing, rate, to_c, part, is_raised):
    assert (heating_too_fast(climbing(rate, to_c, part=part)) is not None) is is_raised


def test_the_glass_says_where_it_is_brittle(climbing):
    plan = 'title = "One"\nunit = "C"\nstep = [{ rate = 100, to = 800 }, { rate = 80, to = 400 }]'
    assert heating_too_fast(climbing(300.0, 560.0, plan=plan)) is None
    found = heating_too_fast(climbing(300.0, 560.0, plan=plan, glass="33"))
    assert found.facts.brittle_below_c == 585.0


def test_a_free_climb_a_hold_and_a_fall_have_no_rate_to_pass(climbing):
    assert heating_too_fast(climbing(900.0, 530.0, part=2)) is None
    assert heating_too_fast(climbing(300.0, 500.0, part=3)) is None
    assert heating_too_fast(climbing(300.0, 500.0, part=6)) is None
    assert heating_too_fast(climbing(300.0, 250.0, found=[])) is None


@pytest.mark.parametrize(("minutes", "is_raised"), [(21.0, False), (26.0, True)])
def test_the_first_twenty_minutes_lurch(climbing, minutes, is_raised):
    assert (heating_too_fast(climbing(300.0, 250.0, minutes=minutes)) is not None) is is_raised


@pytest.mark.parametrize(("after_min", "is_raised"), [(33.0, True), (34.5, True), (37.0, False)])
def test_after_a_change_of_step_two_minutes_are_left_out(climbing, after_min, is_raised):
    assert (heating_too_fast(climbing(500.0, 420.0, part=1, after_min=after_min)) is not None) is is_raised


@pytest.mark.parametrize("part", [0, 1])
def test_no_slope_reaches_across_a_gap(climbing, part):
    assert heating_too_fast(climbing(500.0, 290.0, part=part, resumed_s=HOUR_S + 39 * 60)) is None
    assert heating_too_fast(climbing(500.0, 290.0, part=part, resumed_s=HOUR_S + 33 * 60)) is not None


@pytest.mark.parametrize(("to_c", "offset_k", "planned"), [
    (290.0, 0.0, 100.0),
    (294.0, 0.0, None),  # within 8 K of its end the next step's 200 °C/h may have begun
    (303.0, 12.0, 100.0),
    (281.0, -12.0, None),
])
def test_near_the_end_of_a_step_the_next_ones_rate_is_as_good(climbing, to_c, offset_k, planned):
    found = heating_too_fast(climbing(200.0, to_c, offset_k=offset_k))
    assert (found.facts.planned_c_per_h if found else None) == planned


def test_near_the_end_of_a_step_a_free_climb_may_have_begun(climbing):
    assert heating_too_fast(climbing(600.0, 485.0, part=1)).facts.planned_c_per_h == 200.0
    assert heating_too_fast(climbing(600.0, 496.0, part=1)) is None


def test_near_the_end_of_a_step_a_slower_one_takes_nothing_away(climbing):
    plan = 'title = "Slower"\nunit = "C"\nstep = [{ rate = 200, to = 300 }, { rate = 50, to = 500 }]'
    assert heating_too_fast(climbing(220.0, 296.0, plan=plan)) is None


def test_before_a_hold_nothing_faster_is_due(climbing):
    plan = 'title = "Hold"\nunit = "C"\nstep = [{ rate = 100, to = 300, hold_min = 30 }, { rate = 400, to = 500 }]'
    assert heating_too_fast(climbing(160.0, 296.0, plan=plan)).facts.planned_c_per_h == 100.0


@pytest.mark.parametrize(("to_c", "offset_k", "planned"), [
    (270.0, 0.0, 100.0), (280.0, 0.0, None), (282.0, 12.0, 100.0), (268.0, -12.0, None),
])
def test_far_below_a_step_the_rate_of_the_one_that_belongs_there_counts(climbing, to_c, offset_k, planned):
    # At 200 °C/h in the step of 200 °C/h, which begins at 300 °C; 25 K below that the kiln cannot be in it.
    found = heating_too_fast(climbing(200.0, to_c, part=1, offset_k=offset_k))
    assert (found.facts.planned_c_per_h if found else None) == planned


def test_where_a_step_has_just_begun_its_own_rate_counts(climbing):
    # At 390 °C/h at 310 °C, as if in the third step; 100 °C/h are planned up to 300 °C and 200 from there.
    plan = ('title = "Steep"\nunit = "C"\nstep = [{ rate = 100, to = 300 }, { rate = 200, to = 500 }, '
            '{ rate = 400, to = 800 }]')
    assert heating_too_fast(climbing(390.0, 310.0, part=2, plan=plan)).facts.planned_c_per_h == 200.0


def test_where_a_free_climb_belongs_no_rate_counts(climbing):
    plan = 'title = "Free"\nunit = "C"\nstep = [{ rate = "free", to = 300 }, { rate = 200, to = 500 }]'
    assert heating_too_fast(climbing(200.0, 250.0, part=1, plan=plan)) is None
    assert heating_too_fast(climbing(300.0, 250.0, part=1, plan=plan)).facts.planned_c_per_h == 200.0


# --- a climb that no step of the plan explains -------------------------------------------------------

WELDED = """title = "Welded"
unit = "C"
step = [{ rate = 200, to = 620 }, { rate = 50, to = 670, hold_min = 30 }, { rate = 250, to = 800, hold_min = 10 },
        { rate = "free", to = 516, hold_min = 60 }, { rate = 80, to = 400 }]"""


def welds(view_of, leg_of, minutes, rate, before_min=60.0, fell_k=0.0):
    """Return the view after a climb as planned, a fall of ``fell_k`` at once, then minutes at ``rate`` [°C/h]."""
    weld_c, end_s = 20.0 + 200 * before_min / 60, 60 * before_min
    readings = leg_of(20.0, weld_c, before_min)[:-1] + leg_of(
        weld_c - fell_k, weld_c - fell_k + rate * minutes / 60, minutes, from_s=end_s)
    return view_of(readings, plan=WELDED, found=[(0, 0.0)], resumed_s=end_s if fell_k else 0.0)


@pytest.mark.parametrize(("minutes", "rate", "is_told"), [
    (10.0, 700.0, False), (14.0, 700.0, True),  # each third of a quarter of an hour must climb so
    (15.0, 390.0, False), (20.0, 440.0, True),  # twice the planned rate, surely
])
def test_a_climb_far_too_fast_for_a_quarter_of_an_hour_may_not_stop(view_of, leg_of, minutes, rate, is_told):
    found = HeatingTooFastWatch().see(welds(view_of, leg_of, minutes, rate))
    assert (found is not None and found.facts.may_not_stop) is is_told
    if is_told:
        assert (found.rank, found.facts.planned_c_per_h) == (Rank.WAKE, 200.0)


@pytest.mark.parametrize(("fell_k", "is_told"), [(0.0, True), (90.0, True), (110.0, False)])
def test_a_controller_that_catches_up_comes_back_to_its_line_and_no_further(view_of, leg_of, fell_k, is_told):
    # In 15 min at 700 °C/h the kiln gains 125 K on its line of 200 °C/h; 25 K are asked.
    found = HeatingTooFastWatch().see(welds(view_of, leg_of, 15.0, 700.0, fell_k=fell_k))
    assert (found is not None and found.facts.may_not_stop) is is_told


def test_a_climb_still_to_come_that_is_as_fast_or_free_explains_it(view_of, leg_of):
    for rate in ("600", '"free"'):
        view = welds(view_of, leg_of, 20.0, 700.0)
        other = welds_by(view_of, leg_of, WELDED.replace("rate = 250", f"rate = {rate}"))
        assert HeatingTooFastWatch().see(view).facts.may_not_stop
        found = HeatingTooFastWatch().see(other)
        assert found is None or not found.facts.may_not_stop


def welds_by(view_of, leg_of, plan):
    readings = leg_of(20.0, 220.0, 60.0)[:-1] + leg_of(220.0, 220.0 + 700 / 3, 20.0, from_s=3600.0)
    return view_of(readings, plan=plan, found=[(0, 0.0)])


def test_it_is_told_while_full_power_slows_until_the_kiln_stands_or_has_passed_its_hold(view_of, leg_of):
    def later(*legs):
        readings, t_s, temp_c = leg_of(20.0, 220.0, 60.0)[:-1], 3600.0, 220.0
        for rate, minutes in legs:
            to_c = temp_c + rate * minutes / 60
            readings = [*readings[:-1], *leg_of(temp_c, to_c, minutes, from_s=t_s)]
            t_s, temp_c = t_s + 60 * minutes, to_c
        return view_of(readings, plan=WELDED, found=[(0, 0.0)])

    watch = HeatingTooFastWatch()
    assert watch.see(later((700.0, 20.0))).facts.may_not_stop
    slower = watch.see(later((700.0, 20.0), (250.0, 30.0)))  # 578 °C, where glass is no longer brittle
    assert slower.facts.may_not_stop
    assert slower.facts.rate_c_per_h == pytest.approx(250.0, abs=10.0)
    assert watch.see(later((700.0, 20.0), (250.0, 60.0))) is None  # 703 °C, past the hold at 670
    assert watch.see(later((700.0, 20.0), (0.0, 20.0))) is None
    watch.see(later((700.0, 20.0)))
    assert watch.see(later((700.0, 20.0), (0.0, 20.0))) is None
