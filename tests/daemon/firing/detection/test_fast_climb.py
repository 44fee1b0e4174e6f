"""A climb at several times its planned rate, remembered until it stops, on views made by hand.

FUSE of tests/daemon/firing/conftest.py climbs at 300 °C/h to a hold at 600 °C: several times is 600 °C/h and more.
"""

from __future__ import annotations

import pytest

from daemon.firing.detection.fast_climb import FastClimb, fast_climb, planned_here_c_per_h, stands
from daemon.firing.events import Rank
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.report import judge
from simulations.generator import clean_case

MIN_S = 60.0
STAIRS = Plan("Stairs", "C", (Step(100.0, 300.0), Step(50.0, 600.0), Step(None, 800.0, 600.0), Step(60.0, 400.0)))


@pytest.fixture
def climbing(view_of, along):
    """Return a function: the view at the end of a climb at ``rate`` [°C/h] to ``to_c``, begun half an hour before."""
    def view(rate, to_c, **fields):
        return view_of(along((0.0, to_c - rate / 2), (30 * MIN_S, to_c)), **{"state": 1, **fields})
    return view


@pytest.mark.parametrize(("rate", "is_fast"), [(300.0, False), (590.0, False), (650.0, True)])
def test_twice_the_planned_rate_is_several_times_too_fast(climbing, rate, is_fast):
    found = fast_climb(climbing(rate, 500.0))
    assert (found is not None) is is_fast
    if found:
        assert (found.rate_c_per_h, found.planned_c_per_h) == (pytest.approx(rate, abs=1.0), 300.0)


def test_a_cold_kiln_lurches_for_twenty_minutes_and_below_120_degrees(climbing, view_of, along):
    assert fast_climb(climbing(900.0, 118.0)) is None
    assert fast_climb(view_of(along((0.0, 100.0), (19 * MIN_S, 400.0)), 1)) is None
    assert fast_climb(view_of(along((0.0, 100.0), (25 * MIN_S, 500.0)), 1)) is not None


@pytest.mark.parametrize(("temp_c", "known", "planned"), [
    (200.0, True, 100.0), (312.0, True, 100.0), (316.0, True, 50.0),  # a known probe is off by no more than 15 K
    (322.0, False, 100.0), (326.0, False, 50.0),
    (580.0, True, 50.0), (590.0, True, None),  # where the next step may have begun freely, nothing is too fast
    (900.0, True, None),
])
def test_the_rate_that_is_asked_is_that_of_the_temperature(climbing, temp_c, known, planned):
    assert planned_here_c_per_h(climbing(100.0, temp_c, plan=STAIRS, offset_known=known)) == planned


def test_the_usual_difference_is_taken_off(climbing):
    assert planned_here_c_per_h(climbing(100.0, 322.0, plan=STAIRS, offset_k=10.0)) == 100.0


def test_it_is_remembered_while_full_power_slows_and_forgotten_once_the_kiln_stands(climbing):
    watch = FastClimb()
    assert watch.see(climbing(200.0, 500.0)) is None
    fast = watch.see(climbing(900.0, 500.0))
    assert fast is not None
    assert watch.see(climbing(700.0, 520.0)) == fast  # the fastest is told
    assert watch.see(climbing(200.0, 590.0)) == fast
    assert watch.see(climbing(10.0, 600.0)) is None
    assert watch.see(climbing(200.0, 590.0)) is None


def test_what_it_did_in_a_hole_of_the_readings_is_not_known(climbing):
    watch = FastClimb()
    assert watch.see(climbing(900.0, 500.0)) is not None
    after = climbing(200.0, 590.0)
    after.trail.unbroken_from_s = 1.0
    assert watch.see(climbing(200.0, 590.0)) is not None
    after.trail.unbroken_from_s = after.t_s
    assert watch.see(after) is None


@pytest.mark.parametrize(("rate", "has_stopped"), [(24.0, True), (26.0, False), (0.0, True), (-300.0, True)])
def test_below_25_degrees_an_hour_it_has_stopped(climbing, rate, has_stopped):
    view = climbing(rate, 600.0)
    assert stands(view, 0.0) is has_stopped
    assert not stands(view, view.t_s - 200.0)  # too short to tell


@pytest.mark.slow
def test_air_that_comes_back_when_a_vent_is_shut_in_the_climb_is_no_welded_contact():
    case = clean_case(1051000040)  # a vent open through two hours of the first climb
    report = judge(case.setup, case.entries(case.fire()))
    assert [alert.kind for alert in report.alerts if alert.rank is Rank.WAKE] == []
