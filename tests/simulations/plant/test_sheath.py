"""The sheathed thermocouple against lumped cooling."""

from __future__ import annotations

from math import exp

import pytest

from simulations.plant.builds import PRESETS
from simulations.plant.kiln import STEFAN_BOLTZMANN, Kiln
from simulations.plant.placement import Placement
from simulations.plant.sheath import Sheath


@pytest.mark.parametrize(("diameter_mm", "at_c"), [(3.0, 520.0), (6.0, 520.0), (3.0, 800.0)])
def test_a_sheath_lags_by_its_time_constant(diameter_mm, at_c):
    # Lumped capacitance (Incropera ch. 5): tau = 1.5 rho c (d/4) / (h + 4 eps sigma T³), steel 7900 kg/m³ and
    # 500 J/kgK, h 20 W/m²K; a small step, so that radiation is linear.
    kiln = Kiln(PRESETS["top-loader"], start_c=at_c)
    probe = Sheath(Placement(diameter_mm), start_c=at_c - 1.0)
    per_m2 = 1.5 * 7900 * 500 * diameter_mm / 4000
    tau_s = per_m2 / (20.0 + 4 * 0.8 * STEFAN_BOLTZMANN * (at_c + 273.15) ** 3)
    for _ in range(100):
        probe.follow(tau_s / 100, kiln)
    assert at_c - probe.temp_c == pytest.approx(exp(-1.0), rel=0.02)


def test_the_difference_of_two_sensors_changes_its_sign_with_the_regime():
    # A thin wire that sees elements, against a thick sensor that sees the shelf: higher in a climb, lower in an
    # unpowered fall, and between the two in a hold.
    build = PRESETS["top-loader"]
    wire = Sheath(Placement(1.0, (0.08, 0.82, 0.10, 0.0), 45.0))
    thick = Sheath(Placement(9.0, (0.02, 0.48, 0.20, 0.30), 9.0))
    kiln = Kiln(build)

    def run(duration_s: float, power_share: float) -> float:
        for _ in range(round(duration_s / 5)):
            kiln.step(5.0, power_share * build.power_w)
            wire.follow(5.0, kiln)
            thick.follow(5.0, kiln)
        return wire.temp_c - thick.temp_c

    climbing_k, holding_k, falling_k = run(5400, 0.9), run(5400, 0.36), run(900, 0.0)
    assert climbing_k > holding_k + 5.0
    assert falling_k < holding_k - 5.0
    assert falling_k < -3.0


def test_a_stem_draws_a_probe_towards_the_wall_most_where_it_is_cold():
    # Both at their balance: T = (h_r T_r + h_f T_air + h_s T_wall) / (h_r + h_f + h_s), with h_r = 4 eps sigma T³.
    pulled = {}
    for at_c in (120.0, 800.0):
        kiln = Kiln(PRESETS["top-loader"], start_c=at_c)
        kiln.wall_c[2] = at_c - 100.0
        probe = Sheath(Placement(1.5, stem_w_m2k=10.0, stem_lump=2), start_c=at_c)
        for _ in range(400):
            probe.follow(5.0, kiln)
        radiant = 4 * 0.8 * STEFAN_BOLTZMANN * ((at_c + probe.temp_c) / 2 + 273.15) ** 3
        assert at_c - probe.temp_c == pytest.approx(10.0 * 100.0 / (radiant + 20.0 + 10.0), rel=0.01)
        pulled[at_c] = at_c - probe.temp_c
    assert pulled[120.0] > 3 * pulled[800.0]


def test_the_air_of_an_open_vent_cools_a_probe_that_stands_in_it():
    kiln = Kiln(PRESETS["top-loader"], start_c=600.0)
    beside, within = Sheath(Placement(1.0), 600.0), Sheath(Placement(1.0, draught_share=1.0), 600.0)
    for _ in range(24):
        for probe in (beside, within):
            probe.follow(5.0, kiln, 9.0)
    assert beside.temp_c == pytest.approx(600.0, abs=0.01)
    assert within.temp_c < 560.0
