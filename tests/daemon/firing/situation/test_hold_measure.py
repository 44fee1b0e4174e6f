"""How long a hold was held, from hand-made readings."""

from __future__ import annotations

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.hold_measure import HoldMeasure, at_level_s, last_at_or_above

FUSE = planned_parts(Plan("Fuse", "C", (
    Step(300.0, 600.0, 1800.0), Step(300.0, 800.0, 600.0), Step(None, 516.0, 3600.0), Step(60.0, 400.0))))
SQUEEZE, TOP, ANNEAL = FUSE[1], FUSE[3], FUSE[5]
PASSING_S = 6.0 / 300.0 * 3600.0
"""What a climb of 300 °C/h takes through the 6 K below the level the readings stood at in the end: 72 s."""


@pytest.fixture
def measure(along, trail_of):
    """Return a function: what measures holds along corners (s, °C), read every ten seconds."""

    def build(*corners, offset_k=0.0, near_k=8.0):
        return HoldMeasure(trail_of(along(*corners)), FUSE, offset_k, near_k)

    return build


def test_a_hold_is_as_long_as_the_readings_stood_at_its_target(measure):
    stood = measure((0.0, 600.0), (2500.0, 600.0))  # from the first reading on; a climb had led there
    assert stood.dwell_s(SQUEEZE, 2500.0) == pytest.approx(2500.0 - PASSING_S)
    climbed = measure((0.0, 600.0 - 1000.0 / 12), (1000.0, 600.0), (2500.0, 600.0))
    assert climbed.dwell_s(SQUEEZE, 2500.0) == pytest.approx(1500.0, abs=10.0)


def test_a_hold_that_a_ramp_passes_by_is_none(measure):
    passed = measure((0.0, 500.0), (2400.0, 700.0))
    # Its last minute has its mean half a minute back: no more than that may be counted.
    assert passed.dwell_s(SQUEEZE, 1200.0) <= 30.0


@pytest.mark.parametrize(("low_k", "held_s"), [(15.0, 1500.0), (17.0, 0.0)])
def test_an_unknown_offset_of_twice_the_nearness_still_lets_a_hold_be_one(measure, low_k, held_s):
    level_c = 600.0 - low_k
    held = measure((0.0, level_c - 1000.0 / 12), (1000.0, level_c), (2500.0, level_c))
    assert held.dwell_s(SQUEEZE, 2500.0) == pytest.approx(held_s, abs=30.0)


def test_a_known_offset_moves_the_target(measure):
    held = measure((0.0, 570.0 - 1000.0 / 12), (1000.0, 570.0), (2500.0, 570.0), offset_k=-30.0)
    assert held.dwell_s(SQUEEZE, 2500.0) == pytest.approx(1500.0, abs=10.0)


def test_a_top_lasts_from_first_to_last_near_its_maximum_whatever_came_between(measure):
    # A lid is opened at 1300 s: 60 K down for two minutes. The top began at 1000 s and ended at 1600 s.
    top = measure((0.0, 800.0 - 1000.0 / 12), (1000.0, 800.0), (1300.0, 800.0), (1310.0, 740.0), (1430.0, 740.0),
                  (1440.0, 800.0), (1600.0, 800.0), (2000.0, 600.0))
    # The fall takes 24 s through the 12 K below the maximum; the planned climb through them is taken off.
    assert top.dwell_s(TOP, 1600.0) == pytest.approx(600.0 + 24.0, abs=10.0)


@pytest.mark.parametrize("shines_k", [20.0, 35.0])
@pytest.mark.parametrize(("shines_s", "is_held"), [(60.0, True), (150.0, True), (300.0, False)])
def test_elements_that_shine_on_the_probe_after_a_look_are_no_maximum(measure, shines_s, shines_k, is_held):
    """A lid is shut again at 1430 s, and too much is read for a while; the top began at 1000 s.

    What is read for more than three minutes is the maximum. Then what came before it was far below it.
    """
    over_s = 1430.0 + shines_s
    top = measure((0.0, 800.0 - 1000.0 / 12), (1000.0, 800.0), (1300.0, 800.0), (1310.0, 740.0), (1420.0, 740.0),
                  (1430.0, 800.0 + shines_k), (over_s, 800.0 + shines_k), (over_s + 10.0, 800.0), (1800.0, 800.0),
                  (2200.0, 600.0))
    held_s = 800.0 if is_held else shines_s - 144.0  # the planned climb takes 144 s through 12 K
    assert top.dwell_s(TOP, 1800.0) == pytest.approx(held_s, abs=70.0)


def test_a_top_left_a_minute_after_a_climb_as_fast_as_a_lid_is_shut_was_held_for_no_longer(measure):
    top = measure((0.0, 600.0), (900.0, 640.0), (1700.0, 800.0), (1760.0, 800.0), (2160.0, 600.0))
    assert top.dwell_s(TOP, 1760.0) < 120.0


def test_a_hold_before_a_climb_has_no_maximum_to_be_near(measure):
    lid = measure((0.0, 600.0 - 1000.0 / 12), (1000.0, 600.0), (1300.0, 600.0), (1310.0, 540.0), (1430.0, 540.0),
                  (1440.0, 600.0), (2500.0, 600.0))
    assert lid.dwell_s(SQUEEZE, 2500.0) == pytest.approx(2500.0 - 1440.0 - PASSING_S, abs=10.0)


def test_the_last_time_at_a_level_is_sought_back_to_a_bound(along, trail_of):
    trail = trail_of(along((0.0, 800.0), (1000.0, 700.0)))  # 0.1 K/s
    assert last_at_or_above(trail, 750.0) == 500.0
    assert last_at_or_above(trail, 750.0, 500.0) == 500.0
    assert last_at_or_above(trail, 750.0, 501.0) is None
    assert last_at_or_above(trail, 900.0) is None


@pytest.mark.parametrize(("corners", "at_s"), [
    (((0.0, 800.0), (3000.0, 800.0)), 0.0),
    (((0.0, 796.0), (600.0, 800.0), (3000.0, 800.0)), 450.0),  # a kelvin short of it
    (((0.0, 796.0), (3000.0, 806.0)), 900.0),  # it rises all the time: a controller waits no longer
    (((0.0, 660.0), (1200.0, 660.0), (2000.0, 800.0), (3000.0, 800.0)), 1940.0),  # dated before the climb
    (((0.0, 804.0), (600.0, 800.0), (3000.0, 800.0)), 0.0),  # it shot over
    (((-600.0, 760.0), (0.0, 800.0), (300.0, 790.0), (1500.0, 800.0), (3000.0, 800.0)), 0.0),  # it sagged
])
def test_a_climb_has_come_to_its_hold_where_it_has_come_to_its_level(along, trail_of, corners, at_s):
    assert at_level_s(trail_of(along(*corners)), 0.0, 3000.0) == pytest.approx(at_s, abs=60.0)


def test_a_slow_logger_shows_the_level_as_well(along, trail_of):
    by_the_minute = along((-600.0, 750.0), (0.0, 750.0), (600.0, 800.0), (3000.0, 800.0))[::6]
    assert at_level_s(trail_of(by_the_minute, step_s=60.0), 0.0, 3000.0) == pytest.approx(600.0, abs=120.0)


def test_a_hold_that_has_only_just_begun_is_where_it_is(along, trail_of):
    trail = trail_of(along((0.0, 790.0), (300.0, 800.0)))
    assert at_level_s(trail, 300.0, 300.0) == 300.0
    assert at_level_s(trail, 900.0, 900.0) == 900.0
