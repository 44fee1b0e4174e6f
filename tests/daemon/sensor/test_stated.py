"""What is stated of a reading, in words."""

from datetime import UTC, datetime
from math import sqrt

import pytest

from daemon.sensor import stated
from daemon.sensor.reference import Method
from daemon.sensor.stated import Thermocouple
from daemon.store.wear.calibrations import Calibration


def compared(number, reading_c, reference_c, plus_minus_k=3.0, method="hold"):
    return Calibration(number, 1, None, "K", 2, method, "", reference_c, reading_c, 25.0, 60, plus_minus_k,
                       plus_minus_k / 2, 0.0, 0.0, 0.0, datetime(2026, 11, 20, 12, 0, tzinfo=UTC), False)


def test_a_reading_is_stated_with_what_it_is_made_of():
    found = Thermocouple("K", 2)
    assert stated.limits(found.accuracy(516.0, 25.0), "C") == (
        "± 4.7 °C (thermocouple 3.9, converter 0.9, cold end 0.7 at most; together 1.15 times the root of the sum of "
        "their squares)")
    # By the rule in the sentence: uniform distributions and k = 2 make it 2/√3 (JCGM 100:2008, 4.3.7 and 6.3.3).
    assert 1.15 * sqrt(3.9**2 + 0.9**2 + 0.7**2) == pytest.approx(4.7, abs=0.06)
    assert 2 / sqrt(3) == pytest.approx(1.15, abs=0.005)
    assert stated.short(found.accuracy(516.0, 25.0), "C") == "± 5 °C"
    assert stated.short(found.accuracy(516.0, 25.0), "F") == "± 8 °F"


def test_a_class_that_nobody_set_is_taken_as_the_wider_one_and_said():
    assert Thermocouple("K").accuracy(516.0) == Thermocouple("K", 2).accuracy(516.0)
    assert stated.class_words(Thermocouple("K")) == "type K, taken as class 2"
    assert stated.class_words(Thermocouple("N", 1)) == "type N, class 1"


def test_a_comparison_tells_of_readings_near_it_and_of_no_others():
    found = Thermocouple("K", 2, [compared(1, 0.4, 0.0, 0.3, "ice"), compared(2, 518.0, 516.0)])
    assert found.known(800.0) is None
    assert found.known(20.0).calibration.calibration_id == 1
    near = found.known(538.0)
    assert near.off_k == 2.0
    # 20 K away its error may differ by 0.75 % of that, uniformly: 2 · 0.15/√3 beside the comparison's own 3.0.
    assert near.plus_minus_k == pytest.approx(sqrt(3.0**2 + (2 * 0.15 / sqrt(3)) ** 2))


def test_of_two_comparisons_near_a_reading_the_nearer_one_counts():
    found = Thermocouple("K", 2, [compared(1, 0.6, 0.0, 0.3, "ice"), compared(2, 99.0, 98.4, 1.0, "boiling")])
    assert found.known(30.0).calibration.method == "ice"
    assert found.known(70.0).calibration.method == "boiling"


def test_of_two_like_comparisons_the_latest_counts():
    found = Thermocouple("K", 2, [compared(1, 517.0, 516.0), compared(2, 520.0, 516.0)])
    assert found.known(516.0).off_k == 4.0


def test_the_latest_counts_with_its_own_uncertainty_though_an_earlier_one_was_surer():
    earlier, latest = compared(1, 517.0, 516.0, 5.2), compared(2, 520.0, 516.0, 10.0)
    found = Thermocouple("K", 2, [earlier, latest]).known(520.0)
    assert (found.off_k, found.plus_minus_k, found.calibration) == (4.0, 10.0, latest)
    assert Thermocouple("K", 2, [earlier]).known(516.0).off_k == 1.0  # the latest taken out of use


@pytest.mark.parametrize(("off_k", "words"), [
    (1.84, "1.8 °C too high, ± 3.1 °C"), (-0.5, "0.5 °C too low, ± 3.1 °C"), (0.01, "right, ± 3.1 °C")])
def test_a_difference_in_words(off_k, words):
    assert stated.off_words(off_k, 3.1, "C") == words


def test_degrees_are_the_owner_s():
    assert stated.off_words(1.0, 2.0, "F") == "1.8 °F too high, ± 3.6 °F"
    row = stated.table_row(compared(1, 518.0, 516.0), "F", UTC)
    assert (row["read"], row["should"]) == ("964.4 °F", "960.8 °F")


def test_two_cool_points_are_said_to_prove_nothing_hot():
    words = stated.proof(Method.ICE, Thermocouple("K", 2), "C")
    assert "do not prove 516 °C or 800 °C" in words
    # IEC 60584-1, class 2: 0.75 % of 516 and of 800 °C.
    assert "± 3.9 °C at 516 °C and ± 6.0 °C at 800 °C" in words


def test_ageing_is_said_beside_what_is_stated_as_new():
    assert "up to 9 °C more at 516 °C" in stated.ageing("K", "C")  # 1.7 % of 516, ORNL-TM-4862
    assert stated.ageing("N", "C") == "Ageing comes on top."
