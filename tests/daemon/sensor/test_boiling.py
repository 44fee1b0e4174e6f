"""Where water boils, held against published tables."""

import pytest

from daemon.sensor.boiling import boiling_c, pressure_hpa


@pytest.mark.parametrize(("mpa", "kelvin"), [
    # The check values of IAPWS-IF97, table 36 (from memory).
    (0.1, 372.755919), (1.0, 453.035632), (10.0, 584.149488),
])
def test_the_saturation_line_gives_the_check_values_of_its_standard(mpa, kelvin):
    assert boiling_c(mpa * 1e4) + 273.15 == pytest.approx(kelvin, abs=1e-6)


def test_at_the_standard_atmosphere_water_boils_at_almost_100_degrees():
    # 99.974 °C on ITS-90 (from memory: IAPWS, boiling point at 101.325 kPa).
    assert boiling_c(1013.25) == pytest.approx(99.974, abs=0.002)


@pytest.mark.parametrize(("altitude_m", "hpa"), [
    # The standard atmosphere of ISO 2533 by geopotential altitude (from memory).
    (0, 1013.25), (1000, 898.746), (2000, 794.952), (3000, 701.085), (5000, 540.199),
])
def test_the_pressure_is_that_of_the_standard_atmosphere(altitude_m, hpa):
    assert pressure_hpa(altitude_m) == pytest.approx(hpa, abs=0.02)
