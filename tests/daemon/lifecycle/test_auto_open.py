from __future__ import annotations

import math
import random

import pytest

from daemon.firing.events import Sample
from daemon.lifecycle.auto_open import Idle


def _opens_after_s(curve, seconds, noise_k=0.6, seed=1):
    """Return when a curve (second -> °C or None) opens a firing; None where it never does."""
    chance = random.Random(seed)
    idle = Idle()
    for t_s in range(0, seconds, 5):
        temp_c = curve(t_s)
        sample = Sample(float(t_s), None, "open") if temp_c is None else Sample(
            float(t_s), temp_c + chance.gauss(0, noise_k))
        if idle.add(sample):
            return t_s
    return None


@pytest.mark.parametrize("rate_c_per_h", [55, 80, 150, 400])
def test_a_climb_from_a_cold_kiln_opens_a_firing_while_its_start_is_still_kept(rate_c_per_h):
    def climb(t_s):
        return 20 + max(0, t_s - 3600) * rate_c_per_h / 3600

    opened = _opens_after_s(climb, 3 * 3600)
    due_s = 3600 + 15 / rate_c_per_h * 3600  # from 20 to 35 °C
    assert opened is not None
    assert 3600 < opened <= due_s + 180
    assert opened - 3600 < 30 * 60


@pytest.mark.parametrize("curve", [
    lambda t: 21 + 4 * math.sin(t / 86400 * 6.28),
    lambda t: 20 + t / 3600 * 12,  # a room in the sun
    lambda t: 700 * math.exp(-t / 9000) + 20,  # a kiln falling after its firing was ended
    lambda t: 700 * math.exp(-t / 9000) + 20 - (60 if 7200 < t < 7320 else 0),  # and its lid opened briefly
    lambda t: 300 - 0.01 * t - (80 * math.exp(-(t - 5000) / 400) if t > 5000 else 0),  # or for longer
    lambda t: 22 + (400 if 3000 < t < 3030 else 0),  # a burst of wrong readings
    lambda t: None,
], ids=["room", "sun", "falling", "lid", "slow lid", "burst", "blind"])
def test_what_is_no_climb_opens_nothing(curve):
    assert _opens_after_s(curve, 4 * 3600) is None


def test_a_kiln_started_again_while_hot_opens_a_firing():
    def again(t_s):
        return 300 - t_s * 60 / 3600 if t_s < 3600 else 240 + (t_s - 3600) * 200 / 3600

    opened = _opens_after_s(again, 3 * 3600)
    assert opened is not None
    assert opened - 3600 <= 30 * 60


def test_half_an_hour_is_kept_and_no_more():
    idle = Idle()
    for t_s in range(0, 7200, 5):
        idle.add(Sample(float(t_s), 20.0))
    kept = idle.take()
    assert (kept[0].t_s, kept[-1].t_s) == (7195 - 1800, 7195)
    assert idle.take() == []


def test_single_wrong_readings_in_a_climb_do_not_hide_it():
    chance = random.Random(4)

    def climb(t_s):
        if chance.random() < 0.05:
            return chance.choice([None, 0.0, 900.0])
        return 20 + t_s * 150 / 3600

    assert _opens_after_s(climb, 3600) is not None
