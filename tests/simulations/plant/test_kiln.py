"""The kiln as physics: closed forms, the ledger of heat, and what a studio knows of its kilns."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

import pytest

from simulations.plant.builds import PRESETS, Build, Lining
from simulations.plant.kiln import STEFAN_BOLTZMANN, STEP_S, Kiln
from simulations.plant.sheath import Sheath

TOP = PRESETS["top-loader"]


@pytest.fixture(params=list(PRESETS))
def build(request) -> Build:
    return PRESETS[request.param]


def climb_to(kiln: Kiln, temp_c: float, dt_s: float = STEP_S) -> float:
    """Return how long full power takes to bring the glass there [s]; at most 24 h."""
    t_s = 0.0
    while kiln.glass_c < temp_c and t_s < 86_400:
        kiln.step(dt_s, kiln.build.power_w)
        t_s += dt_s
    return t_s


def soaked(build: Build, temp_c: float, hold_s: float = 1200.0) -> Kiln:
    """Return a kiln brought there at some 250 °C/h and held a while, as a firing's top is."""
    kiln, t_s = Kiln(build), 0.0
    while t_s < (temp_c / 250 * 3600) + hold_s:
        wanted_c = min(temp_c, 20 + 250 * t_s / 3600)
        kiln.step(STEP_S, build.power_w if kiln.glass_c < wanted_c else 0.0)
        t_s += STEP_S
    return kiln


def test_the_ledger_of_heat_closes(build):
    kiln = Kiln(build)
    before_j = kiln.stored_j
    for n in range(20_000):
        lid, vent = (1.0 if n in range(9000, 9020) else 0.0), (5.0 if n > 12_000 else 0.0)
        kiln.step(STEP_S, build.power_w if n < 2500 else 0.0, lid, vent)
    gained_j = kiln.stored_j - before_j
    assert kiln.in_j == pytest.approx(2500 * STEP_S * build.power_w)
    assert kiln.in_j - kiln.out_j == pytest.approx(gained_j, abs=1e-6 * kiln.in_j)


def test_a_kiln_at_room_temperature_stays_there(build):
    kiln = Kiln(build, room_c=18.0)
    for _ in range(1000):
        kiln.step(STEP_S, 0.0)
    assert kiln.glass_c == pytest.approx(18.0, abs=1e-9)
    assert kiln.out_j == pytest.approx(0.0, abs=1e-3)


def test_a_kiln_without_resistance_inside_cools_as_one_lump():
    # Lumped capacitance, Incropera et al., Fundamentals of Heat and Mass Transfer, ch. 5:
    # T = Tr + (T0 - Tr) exp(-t/tau), tau = C/(UA). A wall of 20 W/mK has a Biot number of
    # 11 W/m²K * 0.065 m / 20 W/mK = 0.036; glass, shelf and elements are made too light to matter.
    light = replace(
        TOP, lining=Lining("metal", 20.0, 0.0, 520.0, 1050.0), glass_kg=0.02, shelf_kg=0.02, element_kg=0.05,
        leak_w_per_k=0.0,
    )
    kiln = Kiln(light, room_c=20.0, start_c=60.0)
    capacity = sum(kiln.wall_j_k) + kiln.glass_j_k + kiln.shelf_j_k + kiln.element_j_k
    shell_w_k = light.outside_m2 * 11.0
    tau_s = capacity / shell_w_k
    for _ in range(round(tau_s / 0.2)):
        kiln.step(0.2, 0.0)
    assert (kiln.wall_c[4] - 20.0) / 40.0 == pytest.approx(exp(-1.0), rel=0.03)
    assert (kiln.wall_c[0] - 20.0) / 40.0 == pytest.approx(exp(-1.0), rel=0.06)


def test_the_steady_wall_conducts_what_the_closed_form_says(build):
    # One-dimensional steady conduction with A(x) and k(T), Incropera ch. 3 ("alternative conduction
    # analysis"): q * integral(dx/A) = integral(k dT); here A and k are linear.
    kiln = Kiln(build, start_c=300.0)
    power_w = build.power_w * 0.4
    for _ in range(60_000):
        kiln.step(STEP_S, power_w)
    hot_c, cold_c = kiln.wall_c[0], kiln.wall_c[4]
    lining, grown = build.lining, build.outside_m2 - build.inside_m2
    x0, x4 = 0.04, 0.84  # the middles of the first and the last lump, as shares of the wall
    area0, area4 = build.inside_m2 + grown * x0, build.inside_m2 + grown * x4
    conducted = lining.k0 * (hot_c - cold_c) + lining.k1 / 2 * (hot_c**2 - cold_c**2)
    expected_w = conducted / (build.wall_m / grown * log(area4 / area0))
    leak_w = build.leak_w_per_k * (kiln.air_c - 20.0)
    assert power_w - leak_w == pytest.approx(expected_w, rel=0.01)


def test_glass_alone_in_a_hot_kiln_takes_up_what_radiation_brings():
    # Small body and large enclosure: q = eps sigma A (Tw⁴ - Tg⁴), Incropera ch. 13; first seconds only.
    kiln = Kiln(TOP, start_c=600.0)
    kiln.glass_c = kiln.shelf_c = kiln.element_c = 400.0
    kiln.step(0.01, 0.0)
    gained_w = (kiln.glass_c - 400.0) * kiln.glass_j_k / 0.01
    radiant_w = 0.8 * STEFAN_BOLTZMANN * 0.65 * TOP.shelf_m2 * (873.15**4 - 673.15**4)
    convected_w = 9.0 * 0.7 * TOP.shelf_m2 * 200.0  # at most, from air as hot as the wall
    assert radiant_w < gained_w < radiant_w + convected_w


def test_halving_the_step_changes_nothing_that_matters(build):
    results = []
    for dt_s in (STEP_S, STEP_S / 2):
        kiln, probe = Kiln(build), Sheath()
        for n in range(round(12_000 / dt_s)):
            kiln.step(dt_s, build.power_w * 0.8 if n * dt_s < 9000 else 0.0)
            probe.follow(dt_s, kiln)
        results.append((kiln.glass_c, kiln.wall_c[2], kiln.element_c, probe.temp_c))
    assert results[0] == pytest.approx(results[1], abs=0.7)


def test_the_step_stands_well_inside_its_stability_limit(build):
    # The elements are the quickest lump: explicit steps stay smooth below tau = C / (4 eps sigma A T³).
    hot_k = 1150.0 + 273.15
    element_m2 = build.power_w / 15_000.0
    tau_s = build.element_kg * 620.0 / (4 * 0.8 * STEFAN_BOLTZMANN * element_m2 * hot_k**3)
    assert tau_s / 2 > STEP_S / 2


def test_full_power_climbs_as_a_studio_kiln_does(build):
    # Common practice: a small studio kiln is at 800 °C in one to three and a half hours with all it has,
    # a tabletop one somewhat sooner.
    assert 0.7 * 3600 < climb_to(Kiln(build), 800.0) < 3.5 * 3600


def test_the_climb_fades_towards_the_top(build):
    kiln = Kiln(build)
    low_s = climb_to(kiln, 300.0)
    middle_s = climb_to(kiln, 700.0)
    assert climb_to(kiln, 800.0) / 100 > middle_s / 400 > low_s / 280 * 1.2


def test_every_kiln_gets_hotter_than_glass_needs_and_no_hotter_than_elements_bear(build):
    kiln = Kiln(build, start_c=900.0)
    for _ in range(40_000):
        kiln.step(STEP_S, build.power_w)
    assert 950.0 < kiln.glass_c < 1350.0


def test_a_closed_kiln_falls_as_a_studio_kiln_does(build):
    # Common practice: 800 to 520 °C in very roughly 0.7 to 1.5 h closed (fibre is quicker, a tabletop one
    # quicker still), and 8 to 14 h from there to 40 °C (a big brick kiln takes longer).
    kiln = soaked(build, 800.0)
    probe = Sheath(start_c=kiln.glass_c)
    fell, t_s = {}, 0.0
    while probe.temp_c > 40.0 and t_s < 30 * 3600:
        kiln.step(STEP_S, 0.0)
        probe.follow(STEP_S, kiln)
        t_s += STEP_S
        for mark in (780, 520, 40.1):
            if probe.temp_c <= mark:
                fell.setdefault(mark, t_s)
    assert 0.45 * 3600 < fell[520] < 1.5 * 3600
    assert 6.5 * 3600 < fell[40.1] < 18 * 3600


def test_an_opened_lid_drops_the_probe_and_it_comes_back_a_good_part_of_the_way(build):
    kiln = soaked(build, 800.0)
    probe = Sheath(start_c=kiln.glass_c)
    for _ in range(60):
        kiln.step(STEP_S, build.power_w * 0.25)
        probe.follow(STEP_S, kiln)
    before_c = probe.temp_c
    for _ in range(6):
        kiln.step(STEP_S, 0.0, 1.0)
        probe.follow(STEP_S, kiln)
    opened_c = probe.temp_c
    for _ in range(36):
        kiln.step(STEP_S, build.power_w * 0.25)
        probe.follow(STEP_S, kiln)
    assert before_c - opened_c > 30.0
    assert probe.temp_c - opened_c > 0.4 * (before_c - opened_c)


def test_an_opened_kiln_draws_in_air_by_the_area_of_its_opening(build):
    # Air without mass: its temperature is the mean of what it passes and of the room, weighted by films and draught.
    kiln = Kiln(build, room_c=20.0, start_c=60.0)
    kiln.step(0.01, 0.0, open_share=1.0)
    draught_w_k = build.leak_w_per_k + 35.0 * build.opening_m2 * (1.0 if build.opening == "top" else 1.3)
    films_w_k = sum(kiln._film_w_k)
    expected_c = (films_w_k * 60.0 + draught_w_k * 20.0) / (films_w_k + draught_w_k)
    assert kiln.air_c == pytest.approx(expected_c, abs=0.01)


def test_elements_run_hotter_than_glass_when_full_on(build):
    kiln = Kiln(build)
    climb_to(kiln, 700.0)
    assert 30.0 < kiln.element_c - kiln.glass_c < 350.0


@pytest.mark.parametrize("load_w_m2", [15_000.0, 30_000.0])
def test_elements_are_as_hot_as_their_surface_must_be_to_give_their_power(load_w_m2):
    # In balance with what they see, P = ε σ A (Te⁴ − Ts⁴) (Incropera et al., ch. 13), A = full power / surface load;
    # the air, a sixth of the transfer at most, is added as a film of 9 W/m²K.
    build = replace(PRESETS["top-loader"], element_load_w_m2=load_w_m2)
    kiln, power_w = Kiln(build, start_c=520.0), 0.4 * build.power_w
    for _ in range(240):
        kiln.step(STEP_S, power_w)
    area_m2 = build.power_w / load_w_m2
    radiant = 0.8 * STEFAN_BOLTZMANN * area_m2
    sees_k4 = sum(share * (temp_c + 273.15) ** 4 for share, temp_c in (
        (0.88, kiln.wall_c[0]), (0.07, kiln.glass_c), (0.05, kiln.shelf_c)))
    gives_w = radiant * ((kiln.element_c + 273.15) ** 4 - sees_k4) + 9.0 * area_m2 * (kiln.element_c - kiln.air_c)
    assert gives_w == pytest.approx(power_w, rel=0.02)
    assert kiln.element_c - kiln.wall_c[0] > (40.0 if load_w_m2 < 20_000 else 75.0)
