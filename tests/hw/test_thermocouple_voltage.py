"""Microvolts a kelvin, held against the reference functions of ITS-90."""

import pytest

from hw.thermocouple_voltage import uv_per_k
from simulations.plant.thermocouple import emf_mv


@pytest.mark.parametrize("kind", ["K", "N", "R", "S"])
@pytest.mark.parametrize("temp_c", [0, 25, 98, 250, 516, 800, 1150])
def test_the_slope_is_that_of_the_reference_function_within_some_per_cent(kind, temp_c):
    # NIST Monograph 175, as the bench has it from its coefficients.
    slope = 1000 * (emf_mv(kind, temp_c + 0.5) - emf_mv(kind, temp_c - 0.5))
    assert uv_per_k(kind, temp_c) == pytest.approx(slope, rel=0.06 if temp_c < 50 else 0.02)


@pytest.mark.parametrize(("kind", "temp_c", "uv"), [
    # NIST's reference functions (its90.nist.gov, RefFunctions): the linear coefficient is the slope at 0 °C.
    ("E", 0, 58.7), ("J", 0, 50.4), ("T", 0, 38.7),
    # The slope of type B at 1000 °C (from memory: NIST Monograph 175).
    ("B", 1000, 9.1),
])
def test_the_types_that_the_bench_has_not_agree_with_published_slopes(kind, temp_c, uv):
    assert uv_per_k(kind, temp_c) == pytest.approx(uv, rel=0.06)


def test_beyond_the_table_the_slope_is_that_of_its_end():
    assert uv_per_k("T", 600) == uv_per_k("T", 400)
    assert uv_per_k("K", -30) == uv_per_k("K", 0)
