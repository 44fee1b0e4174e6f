"""A difference and its uncertainty."""

from math import sqrt

import pytest

from daemon.sensor.comparison import compare, is_within, what_points_there
from daemon.sensor.reference import boiling_at, ice, other_in_hold
from daemon.sensor.steady import Steady
from hw.accuracy import accuracy


def test_the_parts_are_added_in_quadrature_and_twice_their_sum_is_stated():
    # JCGM 100:2008: 4.2.3 (mean of n), 4.3.7 (limits), 5.1.2 (sum), 6.2.1 with k = 2.
    found = compare(ice(), Steady(mean_c=0.9, scatter_k=0.5, moved_k=0.2, number=25, span_s=60.0))
    assert found.off_k == 0.9
    assert (found.reference_k, found.noise_k) == pytest.approx((0.2 / sqrt(3), 0.1))
    assert found.steadiness_k == pytest.approx(0.2 / sqrt(3))
    assert found.step_k == pytest.approx(1 / 256 / sqrt(3))
    assert found.plus_minus_k == pytest.approx(2 * sqrt(0.2**2 / 3 + 0.1**2 + 0.2**2 / 3 + (1 / 256) ** 2 / 3))


def test_a_difference_within_what_sound_parts_may_have_is_good():
    stated = accuracy("K", 2, 0.0, 25.0)  # ± 3.2 °C
    assert is_within(3.1, 0.3, stated)
    assert is_within(-3.1, 0.3, stated)
    assert not is_within(4.0, 0.3, stated)
    assert is_within(4.0, 3.0, stated), "a doubtful comparison proves nothing"


def test_a_comparison_far_vaguer_than_the_tolerance_is_not_called_good():
    stated = accuracy("K", 2, 0.0, 25.0)  # ± 3.2 °C; half as much more is 4.8
    assert is_within(0.0, 4.7, stated) is True
    assert is_within(0.0, 5.0, stated) is None
    assert is_within(20.0, 5.0, stated) is False


@pytest.mark.parametrize(("reference", "reading_c", "cold_c", "word"), [
    (ice(), 20.4, 22.0, "tip in the water"),
    (ice(), 43.0, 22.0, "swapped"),
    (boiling_at(0.0), -55.0, 22.0, "swapped"),
    (boiling_at(0.0), 75.0, 22.0, "type"),
    (ice(), 43.0, None, "type"),
    (ice(), 516.0, 35.0, "Leave it there until that is cold"),
    (other_in_hold(960.0, beside=False), 516.0, 30.0, "unit"),
])
def test_a_reading_that_cannot_be_points_somewhere(reference, reading_c, cold_c, word):
    assert word in what_points_there(reference, reading_c, cold_c)
