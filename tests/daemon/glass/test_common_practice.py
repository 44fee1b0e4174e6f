"""Rules of common practice: the workshop's own figures, the brittle temperature's two parts, the steady parabola."""

from __future__ import annotations

import pytest

from daemon.glass.advice import TRANSIENT_MPA, anneal, heating_limit, waking_cooling_c_per_h
from daemon.glass.common_practice import (
    AS_GOOD_TIMES,
    HOT_C,
    brittle_below_c,
    climb_c_per_h,
    cooling_c_per_h,
    counted_mm,
    two_kelvin_c_per_h,
)
from daemon.glass.materials import FAMILIES
from daemon.glass.relaxation import relaxation_time_s

GLASS = FAMILIES["90"]
THICKNESSES_MM = (3.0, 6.0, 9.0, 12.0, 19.0, 25.0, 38.0, 60.0, 80.0)


@pytest.mark.parametrize(("name", "brittle_c"), [("33", 585.0), ("float", 570.0), ("90", 540.0), ("96", 535.0),
                                                 ("104", 520.0)])
def test_each_family_is_brittle_below_its_own_temperature(name: str, brittle_c: float) -> None:
    # 540 °C for glass annealed at about 515: common practice. The others: annealing point (GLASS families: 560, 546,
    # 515, 510, 495 °C) + 25 K, in fives.
    assert brittle_below_c(FAMILIES[name]) == brittle_c


@pytest.mark.parametrize("name", FAMILIES)
def test_above_the_brittle_temperature_a_stress_relaxes_within_half_a_minute_even_in_the_core(name: str) -> None:
    # τ = 6(1−ν)η/E; at the annealing point (10^12 Pa·s) about a minute, at the strain point 10^1.5 times as long.
    glass = FAMILIES[name]
    brittle_c = brittle_below_c(glass)
    assert relaxation_time_s(glass, brittle_c) < 15.0
    assert relaxation_time_s(glass, glass.strain_point_c) > 1500.0
    for mm in THICKNESSES_MM:
        for faces in (1, 2):
            # The core's lag on a steady climb, R L²/(2κ): Carslaw & Jaeger, ch. III.
            rate, _ = heating_limit(glass, mm, faces)
            depth_m = mm / 1000 / faces
            lag_k = rate / 3600 * depth_m**2 / (2 * glass.diffusivity_m2_s)
            assert relaxation_time_s(glass, brittle_c - lag_k) < 75.0


def test_the_core_never_lags_by_more_than_the_margin_leaves_for_it() -> None:
    # 3 · 5 MPa / (Eα/(1−ν)) = 15 / 0.8077 = 18.6 K in family 90; a type K probe of class 2 may read 0.0075 · 545 °C
    # = 4.1 K high (IEC 60584-2).
    assert 3 * TRANSIENT_MPA / GLASS.mpa_per_k == pytest.approx(18.57, abs=0.01)
    assert brittle_below_c(GLASS) - GLASS.annealing_point_c >= 18.57 + 0.0075 * 545


@pytest.mark.parametrize(("thickness_mm", "fused", "loose"), [(3.0, 150.0, 250.0), (6.0, 150.0, 250.0),
                                                              (12.0, 80.0, 80.0)])
def test_it_climbs_as_the_workshop_says(thickness_mm: float, fused: float, loose: float) -> None:
    # Fused plates of 6 and 12 mm at up to 150 and 80 °C/h, loose layers of 6 mm at up to 250: common practice.
    assert climb_c_per_h(thickness_mm, 1) == pytest.approx(fused)
    assert climb_c_per_h(thickness_mm, 1, loose=True) == pytest.approx(loose)
    assert climb_c_per_h(2 * thickness_mm, 2) == pytest.approx(fused)
    # A power law: twice as thick again, 80 · 80/150.
    assert climb_c_per_h(24.0, 1) == pytest.approx(80.0 * 80.0 / 150.0)


def test_loose_layers_just_below_12_mm_bear_little_more_than_a_plate() -> None:
    # Power laws from 250 and 150 °C/h at 6 mm that meet at 80 at 12 mm; log2(9/6) = 0.58496 of the way at 9 mm.
    assert climb_c_per_h(9.0, 1, loose=True) == pytest.approx(250.0 * (80.0 / 250.0) ** 0.58496, rel=1e-4)
    assert climb_c_per_h(9.0, 1) == pytest.approx(150.0 * (80.0 / 150.0) ** 0.58496, rel=1e-4)


@pytest.mark.parametrize(("stage", "thin", "thick"), [(0, 80.0, 25.0), (1, 150.0, 45.0), (2, 300.0, 150.0)])
def test_it_cools_as_the_workshop_says(stage: int, thin: float, thick: float) -> None:
    # 6 mm: 80, 150, 300 °C/h; 12 mm: 25, 45, 150: common practice. No slower beyond, no faster below.
    for mm, rate in ((3.0, thin), (6.0, thin), (12.0, thick), (38.0, thick)):
        assert cooling_c_per_h(stage, mm, 1) == pytest.approx(rate)
        assert cooling_c_per_h(stage, 2 * mm, 2) == pytest.approx(rate)
    # 6·√2 mm lies half way between in logarithm.
    assert cooling_c_per_h(stage, 6.0 * 2**0.5, 1) == pytest.approx((thin * thick) ** 0.5)


def test_hot_is_where_family_90_is_no_longer_brittle() -> None:
    assert brittle_below_c(GLASS) == HOT_C


def test_a_fall_an_eighth_faster_than_planned_is_as_good() -> None:
    assert 1.1 < AS_GOOD_TIMES < 1.125


def test_two_cooled_faces_count_as_half_the_thickness() -> None:
    assert (counted_mm(12.0, 1), counted_mm(12.0, 2)) == (12.0, 6.0)


@pytest.mark.parametrize(("name", "diffusivity"), [("90", 4.5e-7), ("33", 6.0e-7)])
def test_two_kelvin_between_core_and_face_is_the_steady_parabola(name: str, diffusivity: float) -> None:
    # ΔT = R L²/(2κ) (Carslaw & Jaeger, ch. III) at 2 K: 180, 45 and 18 °C/h at 6, 12 and 19 mm of soda-lime glass.
    for mm in (6.0, 12.0, 19.0):
        one = 2.0 * 2 * diffusivity / (mm / 1000) ** 2 * 3600
        assert two_kelvin_c_per_h(FAMILIES[name], mm, 1) == pytest.approx(one)
        assert two_kelvin_c_per_h(FAMILIES[name], mm, 2) == pytest.approx(4 * one)
    assert two_kelvin_c_per_h(GLASS, 12.0, 1) == pytest.approx(45.0)


@pytest.mark.parametrize("name", FAMILIES)
def test_nobody_is_woken_for_a_fall_that_is_no_faster_than_advised(name: str) -> None:
    for mm in THICKNESSES_MM:
        for faces in (1, 2):
            advised = anneal(FAMILIES[name], mm, faces).bears_c_per_h
            waking = waking_cooling_c_per_h(FAMILIES[name], mm, faces)
            assert waking == max(advised, two_kelvin_c_per_h(FAMILIES[name], mm, faces))
            assert waking >= advised
