"""What is compared with, and how surely it is known."""

from math import sqrt

import pytest

from daemon.sensor.boiling import boiling_c, pressure_hpa
from daemon.sensor.reference import WEATHER_K, Method, boiling_at, boiling_under, ice, other_in_hold


def test_ice_is_at_0_degrees_to_a_tenth():
    assert ice().temp_c == 0.0
    assert ice().standard_k == pytest.approx(0.2 / sqrt(3))


def test_a_barometer_tells_the_boiling_point_more_surely_than_an_altitude():
    there, measured = boiling_at(450.0), boiling_under(960.0)
    assert there.temp_c == pytest.approx(boiling_c(pressure_hpa(450.0)))
    assert there.standard_k > 2 * measured.standard_k


def test_what_the_weather_may_do_is_35_hpa_to_either_side():
    assert boiling_c(1013.25 + 35) - boiling_c(1013.25) == pytest.approx(WEATHER_K, abs=0.05)


def test_another_instrument_is_worth_its_own_tolerance_and_the_distance_of_the_tips():
    # At 516 °C: class 2 of type K 3.87, instrument 1.1, half a degree of display; tips 10 or 2 °C apart.
    apart, beside = (other_in_hold(516.0, beside=beside) for beside in (False, True))
    assert apart.standard_k == pytest.approx(sqrt(3.87**2 + 1.1**2 + 0.5**2 + 10**2) / sqrt(3), abs=0.01)
    assert beside.standard_k == pytest.approx(sqrt(3.87**2 + 1.1**2 + 0.5**2 + 2**2) / sqrt(3), abs=0.01)
    assert other_in_hold(516.0, beside=True, other_limit_k=1.0).standard_k < beside.standard_k


@pytest.mark.parametrize("other_c", [51.0, 1400.0])
def test_a_hold_that_no_kiln_has_is_none(other_c):
    assert other_in_hold(other_c, beside=True) is None


@pytest.mark.parametrize(("reference", "reading_c", "plausible"), [
    (ice(), 20.0, False), (ice(), 5.0, True), (ice(), -4.0, True), (boiling_at(0.0), 60.0, False),
    (boiling_at(0.0), 97.0, True), (other_in_hold(516.0, beside=False), 480.0, True),
    (other_in_hold(516.0, beside=False), 269.0, False),
])
def test_a_reading_that_cannot_be_of_it_is_known(reference, reading_c, plausible):
    assert reference.is_plausible(reading_c) is plausible


def test_each_method_has_its_limit():
    assert {one.method for one in (ice(), boiling_at(0.0), other_in_hold(500.0, beside=True))} == set(Method)
