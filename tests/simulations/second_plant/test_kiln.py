"""The kiln of the second plant: its ledger, its step, its layers, and how kilns differ."""

from __future__ import annotations

from random import Random

import pytest

from simulations.second_plant.builds import Build, random_build
from simulations.second_plant.kiln import SIGMA_W_M2_K4, Kiln, radiative_w_m2_k

BUILD = Build("brick", 0.45, 0.25, 0.09, 0.25, 800.0, 5000.0, (0.4, 0.6, 0.0), 700.0, 0.5, 0.5, 0.02, 8.0)


def fired(build: Build = BUILD, dt_s: float = 5.0, layers: int = 5) -> tuple[Kiln, list[float]]:
    """Return a kiln after two hours of power and two without, and its air every ten minutes."""
    kiln = Kiln(build, 0.006, 0.5, 20.0, 20.0, layers)
    air = []
    for n in range(round(4 * 3600 / dt_s)):
        power_w = build.power_w * 0.8 if n * dt_s < 7200 else 0.0
        kiln.step(dt_s, [power_w * share for share in build.shares])
        if (n + 1) * dt_s % 600 == 0:
            air.append(kiln.air_c)
    return kiln, air


def test_the_ledger_of_heat_closes():
    kiln = Kiln(BUILD, 0.006, 0.5, 20.0, 20.0)
    before_j = kiln.network.stored_j()
    for n in range(1500):
        kiln.open_share = 0.4 if 900 < n < 930 else 0.0
        kiln.step(5.0, [2000.0, 2000.0, 0.0])
    assert kiln.power_j == 1500 * 5.0 * 4000.0
    assert kiln.network.stored_j() - before_j + kiln.network.lost_j == pytest.approx(kiln.power_j, rel=1e-9)


def test_half_the_step_changes_little():
    _, whole = fired()
    _, half = fired(dt_s=2.5)
    assert max(whole) > 600
    assert half == pytest.approx(whole, abs=0.5)


def test_twice_the_layers_change_little():
    _, five = fired()
    _, ten = fired(layers=10)
    assert ten == pytest.approx(five, abs=12.0)


def test_radiation_between_two_black_faces_follows_the_fourth_power():
    # Stefan and Boltzmann's law.
    hot_k, cold_k = 1073.15, 873.15
    flow = radiative_w_m2_k(800.0, 600.0) * 200.0
    assert flow == pytest.approx(SIGMA_W_M2_K4 * (hot_k**4 - cold_k**4), rel=1e-12)


def test_the_power_that_holds_a_temperature_holds_it():
    kiln = Kiln(BUILD, 0.006, 0.5, 20.0, 700.0)
    power_w = BUILD.holding_w(700.0)
    for _ in range(20_000):
        kiln.step(30.0, [power_w * share for share in BUILD.shares])
    # The estimate takes the hot face for the air, and the wall's wider outside for half of it.
    assert kiln.air_c == pytest.approx(700.0, abs=70.0)


def test_a_lid_open_cools_the_air_at_once_and_the_glass_later():
    kiln, _ = fired()
    kiln.step(5.0, [0.0] * 3)
    air_c, glass_c = kiln.air_c, kiln.glass_c
    kiln.open_share = 0.6
    for _ in range(24):
        kiln.step(5.0, [0.0] * 3)
    assert air_c - kiln.air_c > 60
    assert 3 < glass_c - kiln.glass_c < air_c - kiln.air_c


def test_elements_without_power_fall_to_what_surrounds_them():
    kiln = Kiln(BUILD, 0.006, 0.5, 20.0, 20.0)
    for _ in range(1000):
        kiln.step(5.0, [BUILD.power_w * share for share in BUILD.shares])
    element = kiln.elements[1]
    assert kiln.network.temps_c[element] > kiln.air_c + 60
    for _ in range(180):
        kiln.step(5.0, [0.0] * 3)
    assert abs(kiln.network.temps_c[element] - kiln.air_c) < 25


@pytest.mark.slow
def test_kilns_fall_from_the_top_at_rates_as_different_as_kilns_are():
    # From memory, as TRADE has it: 1.2 K/min in heavy brick to 15 K/min in fibre.
    falls = []
    for seed in (0, 2, 6, 8):
        build = random_build(Random(seed))
        kiln = Kiln(build, 0.006, 0.5, 20.0, 20.0)
        for n in range(3200):
            power_w = build.power_w if kiln.air_c < min(800.0, 20 + n / 3.6) else 0.0
            kiln.step(5.0, [power_w * share for share in build.shares])
        from_c = kiln.air_c
        for _ in range(480):
            kiln.step(5.0, [0.0] * 3)
        falls.append((from_c - kiln.air_c) / 40)
    assert max(falls) > 2 * min(falls)
    assert all(1.2 < fall < 15 for fall in falls)
