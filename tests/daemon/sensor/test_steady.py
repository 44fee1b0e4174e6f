"""Whether readings stand still."""

import random
from math import exp

import pytest

from daemon.sensor.reference import Method
from daemon.sensor.steady import LEAST_READINGS, latest


def of(temps, every_s=1.0):
    return latest([(every_s * n, temp_c) for n, temp_c in enumerate(temps)])


def test_less_than_a_minute_or_too_few_readings_tell_nothing():
    assert of([0.0] * 60) is None
    assert of([0.0] * (LEAST_READINGS - 1), every_s=60.0) is None


def test_the_mean_of_the_last_minute_is_told_with_its_scatter():
    draw = random.Random(3)
    found = of([90.0] * 100 + [0.5 + draw.gauss(0.0, 0.2) for _ in range(61)])
    assert found.mean_c == pytest.approx(0.5, abs=0.1)
    assert found.scatter_k == pytest.approx(0.2, rel=0.3)
    assert (found.number, found.span_s) == (61, 60.0)
    assert found.stands_still(Method.ICE)


def test_a_tip_that_still_cools_does_not_stand_still_and_stands_once_it_has():
    # A sheath of 20 s from 20 °C into ice: 20·e^(−t/20).
    cooling = [20 * exp(-t / 20) for t in range(400)]
    assert not of(cooling[:90]).stands_still(Method.ICE)
    still = next(n for n in range(62, 400) if of(cooling[:n]).stands_still(Method.ICE))
    # What is left then is small against what is stated of ice.
    assert of(cooling[:still]).mean_c < 0.15


def test_noise_is_not_taken_for_movement():
    draw = random.Random(8)
    still = sum(of([draw.gauss(0.0, 0.5) for _ in range(61)]).stands_still(Method.ICE) for _ in range(200))
    assert still > 180


def test_a_kiln_may_swing_and_a_climb_may_not_pass():
    swing = [516 + 2 * (1 if n // 15 % 2 else -1) for n in range(61)]
    assert of(swing).stands_still(Method.HOLD)
    assert not of([400 + n * 300 / 3600 for n in range(61)]).stands_still(Method.HOLD)


def test_of_slow_readings_the_window_grows():
    found = of([100.0] * 20, every_s=150.0)
    assert (found.number, found.span_s) == (LEAST_READINGS, (LEAST_READINGS - 1) * 150.0)
