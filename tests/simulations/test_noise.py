"""Noise as large, as slow and as often as asked."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import exp
from statistics import fmean, pstdev

import pytest

from simulations.noise import Noise, stored


@dataclass
class Disturbed:
    hum_k: float = 0.0
    spikes_per_h: float = 0.0


def test_white_noise_has_its_deviation_and_the_same_seed_gives_the_same():
    noise, again = Noise(1, 0.5, 0.0), Noise(1, 0.5, 0.0)
    found = [noise.draw_k() for _ in range(20_000)]
    assert found == [again.draw_k() for _ in range(20_000)]
    assert pstdev(found) == pytest.approx(0.5, rel=0.02)
    assert fmean(found) == pytest.approx(0.0, abs=0.02)


def test_the_wander_keeps_its_deviation_and_forgets_itself_in_twenty_minutes():
    noise, found = Noise(2, 0.0, 0.4), []
    for _ in range(400_000):
        noise.advance()
        found.append(noise.draw_k())
    assert pstdev(found) == pytest.approx(0.4, rel=0.05)
    later = found[240:]  # 240 steps of 5 s are 1200 s, the correlation time
    correlated = fmean(a * b for a, b in zip(found, later, strict=False)) / pstdev(found) ** 2
    assert correlated == pytest.approx(exp(-1.0), abs=0.08)


def test_hum_swings_by_its_size_with_its_beat():
    noise = Noise(3, 0.0, 0.0)
    noise.advance(Disturbed(hum_k=2.0))
    found = [noise.draw_k() for _ in range(194)]
    assert max(found) == pytest.approx(2.0, abs=0.01)
    assert min(found) == pytest.approx(-2.0, abs=0.01)
    assert found[:97] == pytest.approx(found[97:], abs=1e-9)


def test_spikes_come_as_often_as_asked_and_are_far_outside_the_noise():
    noise = Noise(4, 0.0, 0.0)
    noise.advance(Disturbed(spikes_per_h=60.0))
    found = [noise.draw_k() for _ in range(200 * 3600)]
    begun = sum(1 for before, now in pairwise(found) if now and now != before)
    # A spike of 1 to 9 s, 5 on average, and then one a minute by chance: 200 h give 200 * 3600 / (60 + 5) of them.
    assert begun == pytest.approx(200 * 3600 / 65, rel=0.05)
    sizes = {abs(k) for k in found if k}
    assert 15.0 <= min(sizes) < 20.0
    assert 85.0 < max(sizes) <= 90.0
    assert any(k < 0 for k in found)
    assert any(k > 0 for k in found)
    noise.advance(Disturbed())
    assert [noise.draw_k() for _ in range(100)] == [0.0] * 100


def test_a_stored_reading_is_the_median_with_lowest_and_highest_in_the_chips_steps():
    found = stored(25.0, [516.31, 515.02, 517.77, 516.05, 516.6])
    assert (found.t_s, found.temp_c, found.low_c, found.high_c) == (
        25.0, round(516.31 * 128) / 128, round(515.02 * 128) / 128, round(517.77 * 128) / 128)
