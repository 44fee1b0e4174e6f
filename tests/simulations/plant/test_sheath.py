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
