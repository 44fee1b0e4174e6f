"""The stated accuracy: limits of standard and data sheet, added as the GUM says."""

from math import sqrt

import pytest

from hw.accuracy import accuracy, tolerance_k, uniform_k


@pytest.mark.parametrize(("kind", "tolerance_class", "temp_c", "limit_k"), [
    # Tables of IEC 60584-1 as several makers print them: the larger of a fixed limit and a share.
    ("K", 1, 0, 1.5), ("K", 1, 375, 1.5), ("K", 1, 500, 2.0), ("K", 2, 333, 2.5), ("K", 2, 500, 3.75),
    ("K", 2, 800, 6.0), ("N", 2, 545, 4.0875), ("S", 1, 1100, 1.0), ("S", 1, 1300, 1.6), ("R", 2, 800, 2.0),
    ("S", 2, 600, 1.5), ("J", 2, 700, 5.25), ("T", 1, 100, 0.5), ("E", 2, 900, 6.75), ("B", 2, 800, 2.0),
])
def test_the_tolerance_is_that_of_the_class(kind, tolerance_class, temp_c, limit_k):
    assert tolerance_k(kind, tolerance_class, temp_c) == pytest.approx(limit_k, abs=0.01)


@pytest.mark.parametrize(("kind", "tolerance_class", "temp_c"), [
    ("K", 1, 1001), ("J", 2, 751), ("T", 2, 516), ("B", 2, 20), ("B", 1, 800), ("K", 2, -41)])
def test_where_the_class_states_nothing_nothing_is_stated(kind, tolerance_class, temp_c):
    assert tolerance_k(kind, tolerance_class, temp_c) is None
    assert accuracy(kind, tolerance_class, temp_c) is None


def test_a_limit_becomes_a_standard_uncertainty_as_in_the_worked_example_of_the_gum():
    # JCGM 100:2008, 4.3.7, example 1: an error that should not exceed 0.40 has the standard uncertainty 0.23.
    assert uniform_k(0.40) == pytest.approx(0.23, abs=0.002)


def test_the_parts_of_a_reading_in_an_anneal_hold_are_those_of_standard_and_data_sheet():
    # At 545 °C: class 2 ±4.1 °C; 0.15 % of 78.125 mV are 117 µV, by 42.7 µV/K 2.75 °C, the offset of 11.7 µV besides.
    warm = accuracy("K", 2, 545, 45)
    assert warm.thermocouple_k == pytest.approx(4.09, abs=0.01)
    assert warm.converter_k == pytest.approx(sqrt(2.75**2 + 0.27**2), abs=0.03)
    assert warm.cold_end_k == pytest.approx(0.7 * 41 / 42.7, abs=0.01)
    assert warm.plus_minus_k == pytest.approx(2 / sqrt(3) * sqrt(4.09**2 + 2.76**2 + 0.67**2), abs=0.05)


def test_a_converter_at_25_degrees_is_a_third_as_far_off_and_an_unknown_one_counts_as_warm():
    cool, warm, unknown = (accuracy("K", 2, 516, cold_c) for cold_c in (27, 45, None))
    assert cool.converter_k == pytest.approx(0.94, abs=0.02)  # 0.05 % of full scale, the offset of 7.8 µV besides
    assert warm.converter_k == pytest.approx(2.8, abs=0.05)
    assert unknown.converter_k == warm.converter_k


def test_platinum_is_read_with_the_larger_gain_and_its_smaller_full_scale():
    # 0.15 % of 19.531 mV are 29 µV, by 10.1 µV/K at 545 °C 2.9 °C.
    assert accuracy("S", 2, 545, 45).converter_k == pytest.approx(2.9, abs=0.1)


def test_class_1_is_nearer_and_hotter_is_farther():
    assert accuracy("K", 1, 516, 25).plus_minus_k < accuracy("K", 2, 516, 25).plus_minus_k
    assert accuracy("K", 2, 516, 25).plus_minus_k < accuracy("K", 2, 800, 25).plus_minus_k
