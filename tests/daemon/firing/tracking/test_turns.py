"""A climb ended before its readings sagged, a free fall where they first turned up, and a lid is not the kiln."""

from __future__ import annotations

import pytest

from daemon.firing.tracking.turns import air_is_back_s, before_sag_s, came_to_hold_s, first_turn_s, temp_at


def test_a_temperature_is_that_of_the_line_beside_it_and_none_in_a_gap(along, trail_of):
    trail = trail_of([(t, c) for t, c in along((0.0, 500.0), (4000.0, 100.0)) if not 1000.0 < t < 2000.0])
    assert temp_at(trail, 500.0) == pytest.approx(450.0)
    assert temp_at(trail, 1500.0) is None


@pytest.mark.parametrize(("change_s", "ended_s"), [
    (1500.0, 3300.0), (3200.0, 3300.0),  # as the lid was opened, and while the air came back: it held on
    (3400.0, 3400.0), (4500.0, 4500.0),  # later than its highest, and a quarter of an hour after the lid was shut
])
def test_a_part_does_not_end_before_the_air_is_back_under_its_lid(along, trail_of, change_s, ended_s):
    trail = trail_of(along((0.0, 516.0), (1000.0, 516.0), (1100.0, 400.0), (3000.0, 350.0), (3300.0, 512.0),
                           (4600.0, 490.0)))
    assert air_is_back_s(trail, change_s, 3000.0, 3600.0 if change_s < 3600.0 else 4600.0) == ended_s


LOOK = (2100.0, 2400.0)
"""From when to when the readings were those of air, and settled again [s]."""


def looked(level_c):
    """Return the corners of a climb of 360 °C/h that has come to 800 °C at 2000 s, and of a look inside at 2100 s."""
    return ((0.0, 600.0), (2000.0, 800.0), (2100.0, 800.0), (2130.0, 650.0), (2400.0, level_c), (3400.0, level_c))


@pytest.mark.parametrize(("level_c", "came_s"), [
    (800.0, 2000.0),  # a minute or two before the lid was opened
    (820.0, 2200.0),  # under the open lid
    (845.0, None),  # it climbed on after that: a look on the way up
    (770.0, None),  # it fell: no hold after this climb
])
def test_a_climb_drawn_on_comes_to_the_hold_under_the_open_lid(along, trail_of, level_c, came_s):
    corners = list(looked(level_c))
    if level_c > 800.0:  # the climb went on until the lid was opened
        corners[1:3] = [(2100.0, 810.0)]
    found_s = came_to_hold_s(trail_of(along(*corners)), 0.0, 2500.0, 3400.0, (LOOK,))
    assert found_s == (None if came_s is None else pytest.approx(came_s, abs=30.0))


def test_a_look_long_before_says_nothing_of_the_hold(along, trail_of):
    trail = trail_of(along(*looked(800.0)))
    assert came_to_hold_s(trail, 0.0, 3340.0, 3400.0, (LOOK,)) is None
    assert came_to_hold_s(trail, 2110.0, 2500.0, 3400.0, (LOOK,)) is None  # nor one before the climb


def sagging(sag_k, level_c=516.0, high_c=516.0):
    """Return the corners of a climb to ``high_c``, after which the readings sag and creep to ``level_c``."""
    return (0.0, 300.0), (2000.0, high_c), (2400.0, high_c - sag_k), (5000.0, level_c), (9000.0, level_c)


@pytest.mark.parametrize(("sag_k", "ended_s"), [(12.0, 2000.0), (6.5, 2000.0), (2.5, 5000.0)])
def test_a_climb_ended_before_the_readings_sagged(along, trail_of, sag_k, ended_s):
    assert before_sag_s(trail_of(along(*sagging(sag_k))), 0.0, 5000.0) == ended_s


def test_a_climb_that_broke_off_well_below_its_hold_did_not_end_there(along, trail_of):
    # Power came back after a cut: 12 K lower, then on to 11 K above where it had been.
    assert before_sag_s(trail_of(along(*sagging(12.0, high_c=505.0))), 0.0, 5000.0) == 5000.0
    assert before_sag_s(trail_of(along(*sagging(12.0, high_c=507.0))), 0.0, 5000.0) == 2000.0


def test_a_sag_is_seen_in_one_reading_a_minute(along, trail_of):
    slow = [reading for reading in along(*sagging(12.0)) if reading[0] % 60 == 0]
    assert before_sag_s(trail_of(slow), 0.0, 5000.0) == pytest.approx(2000.0, abs=60.0)


def test_the_teeth_of_a_controller_that_switches_are_no_sag(along, trail_of):
    # 8 K up and down every 8 min while the kiln climbs 90 °C/h: each tooth is passed by the next.
    teeth = [(240.0 * i, 400.0 + 6.0 * i + (4.0 if i % 2 else -4.0)) for i in range(20)]
    level_c = teeth[-1][1] - 4.0
    trail = trail_of(along(*teeth, (5000.0, level_c), (9000.0, level_c)))
    assert before_sag_s(trail, 0.0, 5000.0) == pytest.approx(4560.0, abs=1.0)
    assert before_sag_s(trail, 0.0, 4400.0) == 4400.0


def creeping(low_c, later_c=516.0):
    """Return the corners of a free fall to ``low_c`` at 3000 s, after which the readings creep back to the hold."""
    return (0.0, 800.0), (3000.0, low_c), (5000.0, later_c), (9000.0, 516.0)


@pytest.mark.parametrize(("low_c", "ended_s"), [(500.0, 3000.0), (509.0, 3000.0), (514.0, 5000.0), (480.0, 5000.0)])
def test_a_free_fall_ended_where_the_readings_first_turned_up(along, trail_of, low_c, ended_s):
    assert first_turn_s(trail_of(along(*creeping(low_c))), 0.0, 5000.0) == ended_s


def test_a_turn_that_the_kiln_falls_below_again_was_no_end(along, trail_of):
    vented = (0.0, 800.0), (2000.0, 510.0), (2200.0, 560.0), (4000.0, 500.0), (5000.0, 516.0), (9000.0, 516.0)
    assert first_turn_s(trail_of(along(*vented)), 0.0, 5000.0) == 4000.0


@pytest.mark.parametrize(("back_c", "ended_s"), [(640.0, 4000.0), (530.0, 2000.0)])
def test_a_turn_after_which_the_air_is_far_above_the_hold_was_no_end(along, trail_of, back_c, ended_s):
    vented = (0.0, 800.0), (2000.0, 505.0), (2200.0, back_c), (4000.0, 504.0), (5000.0, 516.0), (9000.0, 516.0)
    assert first_turn_s(trail_of(along(*vented)), 0.0, 5000.0) == ended_s


def test_the_first_tooth_ends_a_free_fall(along, trail_of):
    teeth = [(3000.0 + 300.0 * i, 522.0 if i % 2 else 506.0 - (i == 4)) for i in range(12)]
    trail = trail_of(along((0.0, 800.0), *teeth, (9000.0, 514.0)))
    assert first_turn_s(trail, 0.0, 6200.0) == 3000.0


def test_without_readings_a_free_fall_ends_where_it_was_seen(along, trail_of):
    assert first_turn_s(trail_of(along(*creeping(500.0))), 0.0, 20_000.0) == 20_000.0
