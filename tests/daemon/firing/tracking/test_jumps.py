"""A jump of the readings is where two lines need not meet: found to the reading, told from bend, lid and teeth."""

from __future__ import annotations

import pytest

from daemon.firing.tracking.jumps import jump_s

LEAVES = (0.0, 400.0), (3000.0, 650.0), (3030.0, 640.0), (4800.0, 650.0)
"""A climb of 300 °C/h to 650 °C; the power breaks off, 10 K are gone in half a minute, and half an hour brings
them back."""


@pytest.mark.parametrize("about_s", [2700.0, 3000.0, 3300.0])
def test_a_jump_is_found_from_either_side(along, trail_of, about_s):
    assert jump_s(trail_of(along(*LEAVES)), about_s, 0.0, 4800.0) == pytest.approx(2955.0, abs=45.0)


def test_it_is_sought_no_further_than_six_minutes_away(along, trail_of):
    trail = trail_of(along(*LEAVES))
    assert jump_s(trail, 2600.0, 0.0, 4800.0) is None
    assert jump_s(trail, 3600.0, 0.0, 4800.0) is None


def test_it_lies_between_the_two_times(along, trail_of):
    assert jump_s(trail_of(along(*LEAVES)), 3000.0, 3060.0, 4800.0) is None


@pytest.mark.parametrize("high_k", [2.0, 60.0])
def test_less_is_the_controllers_swing_and_more_is_a_lid(along, trail_of, high_k):
    drop = (0.0, 400.0), (3000.0, 650.0), (3010.0, 650.0 - high_k), (4800.0, 650.0 - high_k)
    assert jump_s(trail_of(along(*drop)), 3000.0, 0.0, 4800.0) is None


@pytest.mark.parametrize("then_c", [650.0, 800.0, 450.0])
def test_a_bend_is_no_jump(along, trail_of, then_c):
    bend = (0.0, 400.0), (3000.0, 650.0), (4800.0, then_c)
    assert jump_s(trail_of(along(*bend)), 3000.0, 0.0, 4800.0) is None


def test_within_the_noise_there_is_no_jump(along, trail_of):
    assert jump_s(trail_of(along(*LEAVES), noise=4.0), 3000.0, 0.0, 4800.0) is None


def test_one_reading_a_minute_shows_it(along, trail_of):
    slow = [reading for reading in along(*LEAVES) if reading[0] % 60 == 0]
    assert jump_s(trail_of(slow, step_s=60.0), 3000.0, 0.0, 4800.0) == pytest.approx(3000.0, abs=60.0)


def test_no_tooth_of_a_controller_that_switches_is_a_jump(along, trail_of):
    teeth = [(300.0 * i, 520.0 + (6.0 if i % 2 else -6.0)) for i in range(20)]
    trail = trail_of(along(*teeth, (5730.0, 505.0), (7500.0, 515.0)))
    assert trail.swings_k > 0.0
    assert jump_s(trail, 5700.0, 0.0, 7500.0) is None


def test_no_jump_lies_across_a_gap(along, trail_of):
    trail = trail_of(along(*LEAVES))
    trail.unbroken_from_s = 3040.0
    assert jump_s(trail, 3100.0, 0.0, 4800.0) is None


def test_too_few_readings_show_none(along, trail_of):
    assert jump_s(trail_of([(0.0, 500.0), (10.0, 501.0)]), 5.0, 0.0, 20.0) is None
    assert jump_s(trail_of(along((2980.0, 648.0), (3000.0, 650.0), (3030.0, 640.0))), 3000.0, 0.0, 4800.0) is None
