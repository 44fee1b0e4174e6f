"""The wander of the readings: learnt in settled holds only, bounded, and no less than a logger's rounding."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from daemon.firing.events import Part
from daemon.firing.tracking.wander import Wander

PRIOR = 0.5**2
HOLD = Part(index=3, step=2, part="hold", start_s=0.0)


def swinging(by_k, from_s=0.0, to_s=4000.0):
    """Return readings that swing by so much [K] about 516 °C, a period of 120 s, every ten seconds."""
    return [(t, 516.0 + by_k * np.sin(2 * np.pi * t / 120.0)) for t in np.arange(from_s, to_s, 10.0).tolist()]


def about_a_line(readings, from_s, to_s):
    """Return the variance of the readings of a window about their straight line [K²], by numpy."""
    window = np.array([r for r in readings if from_s <= r[0] < to_s])
    slope, level = np.polyfit(window[:, 0] - window[0, 0], window[:, 1], 1)
    left = window[:, 1] - slope * (window[:, 0] - window[0, 0]) - level
    return float((left**2).sum() / (len(window) - 2))


def test_before_any_hold_it_is_half_a_kelvin(trail_of):
    trail = trail_of([])
    trail.grain_k = 0.0
    assert Wander(trail).sd_k == 0.5


def test_a_beat_takes_six_hundredths_of_the_ten_minutes_that_ended_six_minutes_ago(trail_of):
    readings = swinging(3.0, to_s=2000.0) + swinging(0.5, from_s=2000.0)
    trail = trail_of(readings, noise=0.4)
    trail.grain_k = 0.0
    wander = Wander(trail)
    wander.learn(HOLD, 2600.0, 0.0)
    # From 1640 to 2240 s; of the white noise 0.45 is left by the median of three.
    seen = about_a_line(readings, 1640.0, 2240.0) - 0.45 * 0.4**2
    assert wander.sd_k == pytest.approx(sqrt(PRIOR + 0.06 * (seen - PRIOR)), rel=1e-6)


@pytest.mark.parametrize(("now_s", "hold_s", "resumed_s", "from_s"), [
    (1300.0, 0.0, 0.0, 340.0),  # ten minutes
    (1300.0, 350.0, 0.0, 590.0),  # four minutes after the hold began
    (1300.0, 0.0, 620.0, 620.0),  # since the readings came back
])
def test_it_looks_back_to_the_settled_hold_and_to_the_last_gap_at_most(trail_of, now_s, hold_s, resumed_s, from_s):
    readings = [(t, c + (8.0 if t < from_s else 0.0)) for t, c in swinging(2.0)]
    trail = trail_of(readings, noise=0.0)
    trail.grain_k = 0.0
    wander = Wander(trail)
    wander.learn(Part(3, 2, "hold", hold_s), now_s, resumed_s)
    seen = about_a_line(readings, from_s, now_s - 360.0)
    assert wander.sd_k == pytest.approx(sqrt(PRIOR + 0.06 * (seen - PRIOR)), rel=1e-6)


@pytest.mark.parametrize(("hold", "now_s", "resumed_s"), [
    (None, 1300.0, 0.0),  # a ramp
    (HOLD, 890.0, 0.0),  # from 240 to 530 s: less than five minutes
    (HOLD, 1300.0, 650.0),  # from 650 to 940 s
    (HOLD, 9000.0, 0.0),  # no readings there
])
def test_a_ramp_and_less_than_five_minutes_teach_nothing(trail_of, hold, now_s, resumed_s):
    trail = trail_of(swinging(4.0))
    trail.grain_k = 0.0
    wander = Wander(trail)
    wander.learn(hold, now_s, resumed_s)
    assert wander.sd_k == 0.5


def test_five_minutes_are_enough(trail_of):
    trail = trail_of(swinging(4.0))
    trail.grain_k = 0.0
    wander = Wander(trail)
    wander.learn(HOLD, 915.0, 0.0)
    assert wander.sd_k > 0.6


def test_five_minutes_of_which_readings_fill_too_little_teach_nothing(trail_of):
    trail = trail_of([r for r in swinging(4.0) if r[0] < 700.0])
    trail.grain_k = 0.0
    wander = Wander(trail)
    wander.learn(HOLD, 1360.0, 0.0)  # wanted 400 to 1000 s; there are readings to 690 s: 290 s
    assert wander.sd_k == 0.5


@pytest.mark.parametrize(("by_k", "wander_k"), [(0.0, 0.2), (40.0, 8.0)])
def test_it_is_a_fifth_of_a_kelvin_at_least_and_eight_at_most(trail_of, by_k, wander_k):
    trail = trail_of(swinging(by_k), noise=0.0)
    trail.grain_k = 0.0
    wander = Wander(trail)
    for _ in range(100):
        wander.learn(HOLD, 2600.0, 0.0)
    assert wander.sd_k == wander_k


@pytest.mark.parametrize(("grain_k", "wander_k"), [
    (1.0, 0.5), (4.0, 4.0 / sqrt(12)), (10.0, 10.0 / sqrt(12)), (11.0, 0.5),
])
def test_a_logger_that_rounds_wanders_by_its_rounding_unless_that_is_absurd(trail_of, grain_k, wander_k):
    # Standard deviation of a uniform error of one grain: grain / √12 (textbook).
    trail = trail_of([])
    wander = Wander(trail)
    assert wander.sd_k == 0.5  # no step seen yet
    trail.grain_k = grain_k
    assert wander.sd_k == pytest.approx(wander_k)
