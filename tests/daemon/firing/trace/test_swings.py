"""How deep the readings swing: only what fell and came back, again and again, counts."""

import math

import pytest

from daemon.firing.trace.recent import Trail
from daemon.firing.trace.swings import Swings

NOISE_K = 0.3  # a turn is one from 2 + 6 · 0.3 = 3.8 K on


def shown(temps, every_s=5.0, swings=None, from_s=0.0):
    swings = swings or Swings()
    for i, temp_c in enumerate(temps):
        swings.see(from_s + i * every_s, temp_c, NOISE_K)
    return swings


def waves(number, depth_k, *, period_s=300.0, rate_c_per_h=0.0, every_s=5.0):
    """Return readings about 500 °C that swing by ``depth_k`` from top to bottom, and drift."""
    return [500.0 + rate_c_per_h * t / 3600 + depth_k / 2 * math.sin(2 * math.pi * t / period_s)
            for t in (i * every_s for i in range(int(number * period_s / every_s)))]


def test_swings_are_as_deep_as_what_came_back():
    assert shown(waves(8, 16.0)).depth_k == pytest.approx(16.0, abs=0.1)


@pytest.mark.parametrize("rate_c_per_h", [-60.0, 60.0])
def test_in_a_ramp_only_what_came_back_counts(rate_c_per_h):
    """The turns of A sin(2πt/P) + rt lie where its cosine is −rP/2πA, symmetrically about each top and bottom."""
    slope, omega, half_k = rate_c_per_h / 3600, 2 * math.pi / 300.0, 8.0
    angle = math.acos(-slope / (omega * half_k))
    between_s = (2 * math.pi - 2 * angle) / omega  # from a top down to the next bottom
    fell_k = 2 * half_k * math.sin(angle) - slope * between_s
    back_k = fell_k + slope * 300.0  # from that bottom to the next top, a period after the first
    assert shown(waves(8, 16.0, rate_c_per_h=rate_c_per_h)).depth_k == pytest.approx(min(fell_k, back_k), abs=0.1)


@pytest.mark.parametrize(("number", "depth_k"), [(4, 0.0), (5, 16.0)])
def test_four_of_them_are_a_controllers(number, depth_k):
    """The wave begins in a climb; the first fall is known to have come back at the turn of the second top."""
    assert shown(waves(number - 0.5, 16.0)).depth_k == pytest.approx(depth_k, abs=0.1)


def test_looks_and_loose_wires_are_deeper_than_a_controller_lets_it_fall():
    look = [500.0] * 12 + [440.0] * 6 + [500.0] * 60
    assert shown(look * 6).depth_k == 0.0
    short = [500.0] * 12 + [25.0] * 12 + [500.0] * 60
    assert shown(short * 6 + waves(8, 16.0)).depth_k == pytest.approx(16.0, abs=0.1)


def test_two_looks_inside_make_the_swings_no_deeper():
    look = [500.0] * 12 + [400.0] * 6 + [500.0] * 60
    assert shown(look + look + waves(8, 16.0)).depth_k == pytest.approx(16.0, abs=0.1)


def test_noise_is_no_swing():
    assert shown([500.0 + (3.7 if i % 2 else 0.0) for i in range(500)]).depth_k == 0.0


def test_a_fall_that_has_not_come_back_is_none():
    assert shown(waves(2, 16.0) + [500.0 - i for i in range(100)]).depth_k == 0.0


def test_after_a_free_fall_of_hours_they_are_still_known_and_forgotten_later():
    swings = shown(waves(8, 16.0))
    shown([500.0] * 2100, swings=swings, from_s=2400.0)  # until 12,900 s
    assert swings.depth_k == pytest.approx(16.0, abs=0.1)
    shown([500.0] * 1400, swings=swings, from_s=12_900.0)
    assert swings.depth_k == 0.0


def test_of_cold_lurches_no_more_than_a_controllers_swing_is_remembered():
    swings = shown(waves(10, 45.0))
    shown([500.0] * 730, swings=swings, from_s=3000.0)
    assert swings.depth_k == 30.0


def test_many_swings_an_hour_are_a_controllers_however_deep_a_bare_probe_sees_them():
    assert shown(waves(10, 45.0)).depth_k == pytest.approx(45.0, abs=0.2)
    assert shown(waves(5, 45.0)).depth_k == 0.0  # four or five may be looks inside
    assert shown(waves(10, 70.0)).depth_k == 0.0  # nor does any controller let it fall so far


def test_a_gap_in_the_readings_begins_anew():
    trail = Trail()
    for i, temp_c in enumerate(waves(8, 16.0)):
        trail.offer(i * 5.0, temp_c)
    assert trail.swings_k == pytest.approx(16.0, abs=0.5)
    for i in range(5):
        trail.offer(2400.0 + 300.0 + i * 5.0, 500.0)
    assert trail.swings_k == 0.0
