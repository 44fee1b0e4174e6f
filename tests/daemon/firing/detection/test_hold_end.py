"""How long the hold before a ramp was held, and whether it was left, on readings made by hand in conftest's plan."""

from __future__ import annotations

import pytest

from daemon.firing.detection.hold_end import enough_s, hold_before, leaves, only_settles, swings
from daemon.firing.events import Part

FALL, ANNEAL, COOLING = 4, 5, 6
LEFT_S = 3000.0


@pytest.fixture
def after_anneal(view_of, along):
    """Return a function: the view after an anneal that was reached at 600 s and left at LEFT_S, by more corners."""
    def view(*corners):
        found = (Part(3, 3, "hold", -600.0, 0.0), Part(FALL, 4, "ramp", 0.0, 600.0),
                 Part(ANNEAL, 4, "hold", 600.0, LEFT_S, mean_c=516.0), Part(COOLING, 5, "ramp", LEFT_S))
        return view_of(along((0.0, 800.0), (600.0, 516.0), (LEFT_S, 516.0), *corners), COOLING + 1, found=found)
    return view


def test_a_hold_may_lack_three_minutes_or_fifteen_percent(after_anneal):
    parts = after_anneal((LEFT_S + 600.0, 506.0)).parts
    assert enough_s(parts[ANNEAL]) == 3600.0 * 0.85
    assert enough_s(parts[3]) == 600.0 - 180.0


def test_it_was_held_from_when_the_kiln_came_to_its_level(after_anneal):
    ended = hold_before(after_anneal((LEFT_S + 600.0, 506.0)))
    assert (ended.hold.index, ended.left_s) == (ANNEAL, LEFT_S)
    assert ended.held_s == pytest.approx(LEFT_S - 600.0, abs=20.0)  # within 4 K of it some seconds before


@pytest.mark.parametrize(("corners", "is_left", "settles", "has_swung"), [
    ([(LEFT_S + 600.0, 506.0)], True, False, False),  # 60 °C/h, as planned
    ([(LEFT_S + 600.0, 515.0)], False, True, False),  # 6 °C/h
    ([(LEFT_S + 300.0, 506.0), (LEFT_S + 600.0, 514.0)], False, True, True),
])
def test_it_is_left_where_the_kiln_goes_on_and_not_where_it_rests_or_swings(
        after_anneal, corners, is_left, settles, has_swung):
    view = after_anneal(*corners)
    ramp = view.parts[COOLING]
    assert leaves(view, ramp, LEFT_S) is is_left
    assert only_settles(view, ramp, LEFT_S) is settles
    assert swings(view, LEFT_S) is has_swung


def test_the_time_under_an_open_lid_is_not_held(view_of, along):
    readings = along((0.0, 800.0), (600.0, 516.0), (LEFT_S + 600.0, 516.0), (LEFT_S + 1200.0, 506.0))
    found = (Part(3, 3, "hold", -600.0, 0.0), Part(FALL, 4, "ramp", 0.0, 600.0),
             Part(ANNEAL, 4, "hold", 600.0, LEFT_S + 600.0, mean_c=516.0), Part(COOLING, 5, "ramp", LEFT_S + 600.0))
    ended = hold_before(view_of(readings, COOLING + 1, found=found, stood=((900.0, 2700.0),)))
    assert ended.held_s == pytest.approx(LEFT_S - 1800.0, abs=20.0)  # 50 min, of which the lid stood open for 30
    assert hold_before(view_of(readings, COOLING + 1, found=found)).held_s == pytest.approx(LEFT_S, abs=20.0)


@pytest.mark.parametrize(("corners", "left_s"), [
    ([(LEFT_S, 524.0), (LEFT_S + 900.0, 506.0)], LEFT_S + 400.0),  # it climbs on: until it is back at 516 °C
    ([(LEFT_S, 516.0), (LEFT_S + 500.0, 506.0)], LEFT_S),  # it stands
    ([(LEFT_S, 486.0)], 1500.0),  # somebody skips to the ramp
])
def test_a_kiln_that_stands_or_climbs_has_not_left_its_hold_for_a_fall(view_of, along, corners, left_s):
    """The follower dates the ramp from where a reading that has crept up for a quarter of an hour is at 516 °C."""
    readings = along((0.0, 800.0), (600.0, 512.0), (1500.0, 516.0), *corners)
    found = (Part(3, 3, "hold", -600.0, 0.0), Part(FALL, 4, "ramp", 0.0, 600.0),
             Part(ANNEAL, 4, "hold", 600.0, 1500.0, mean_c=514.0), Part(COOLING, 5, "ramp", 1500.0))
    ended = hold_before(view_of(readings, COOLING + 1, found=found))
    assert ended.left_s == pytest.approx(left_s, abs=60.0)
    assert ended.held_s == pytest.approx(left_s - 600.0, abs=60.0)
