"""The simple reckoning for labels, against worked examples."""

from __future__ import annotations

import pytest

from daemon.glass.materials import FAMILIES
from simulations.second_plant.glass import STRUCTURAL, reckon, relaxed, relaxing_s


def cooled(rate_c_per_h: float, from_c: float = 535.0, to_c: float = 300.0) -> tuple[list[float], list[float]]:
    """Return a steady cooling and an hour's rest after it, a row every 20 s."""
    times, temps = [0.0], [from_c]
    while temps[-1] > to_c:
        times.append(times[-1] + 20)
        temps.append(temps[-1] - rate_c_per_h / 180)
    return times + [times[-1] + 20 * n for n in range(1, 180)], temps + [temps[-1]] * 179


def test_stress_relaxes_at_the_annealing_point_in_about_a_minute():
    # eta/G * 3 (1 - nu)/(1 + nu) with eta 1e12 Pa s, E 70 GPa, nu 0.22: 6 * 0.78 * 1e12/70e9 = 66.9 s.
    assert relaxing_s("90", 515.0) == pytest.approx(66.9, abs=0.1)
    assert relaxed("90", [0.0, 66.9, 133.8], [515.0, 515.0, 515.0]) == pytest.approx(2.0, rel=0.01)


def test_at_the_strain_point_it_takes_thirty_times_as_long():
    # Viscosity at the strain point is 10^1.5 times that at the annealing point (ASTM C336, summary pages).
    longer = relaxing_s("90", FAMILIES["90"].strain_point_c) / relaxing_s("90", 515.0)
    assert longer == pytest.approx(10**1.5, rel=0.01)


@pytest.mark.parametrize("glass", ["33", "float", "90", "96", "104"])
def test_cold_glass_relaxes_nothing_however_cold(glass):
    year_s = 3.2e7
    assert relaxing_s(glass, FAMILIES[glass].strain_point_c - 150.0) > 1000 * year_s
    assert relaxing_s(glass, -20.0) == relaxing_s(glass, FAMILIES[glass].strain_point_c - 150.0)


@pytest.mark.parametrize(("thickness_mm", "rate", "core_mpa"), [(12, 60, 0.718), (6, 60, 0.718 / 4), (12, 30, 0.359)])
def test_the_tension_left_is_that_of_the_closed_form(thickness_mm, rate, core_mpa):
    # One cooled face: (1/3) E alpha/(1-nu) R d²/(2 kappa), Adams & Williamson's rule; 12 mm at 60 K/h leaves
    # 0.718 MPa with E 70 GPa, nu 0.22, alpha 9e-6, kappa 4.5e-7.
    assert reckon("90", thickness_mm, *cooled(rate)).core_mpa == pytest.approx(STRUCTURAL * core_mpa, rel=0.06)


def test_a_fall_below_the_band_only_passes_through_its_tension():
    slow, fast = cooled(60.0, to_c=400.0), cooled(900.0, from_c=400.0, to_c=300.0)
    times = slow[0] + [slow[0][-1] + t for t in fast[0][1:]]
    passed = reckon("90", 12, times, slow[1] + fast[1][1:])
    left = reckon("90", 12, *cooled(60.0))
    assert passed.core_mpa == pytest.approx(left.core_mpa, rel=0.02)
    # 2/3 E alpha/(1-nu) R d²/(2 kappa) = 2 * 0.718 * 900/60 MPa once built up; 400 s are three of its slowest times.
    assert passed.face_mpa == pytest.approx(2 * 0.718 * 15 - 2 * 0.718, rel=0.1)
