"""How fast glass was heated again from below its annealing range: rates set in the test, read back."""

from __future__ import annotations

from itertools import pairwise

import pytest

from daemon.glass.materials import FAMILIES
from daemon.glass.second_climb import Reheated, SecondClimb

GLASS = FAMILIES["90"]


def after(*corners: tuple[float, float], apart_s: float = 20.0) -> Reheated | None:
    """Return what is found along straight lines between (hour, °C)."""
    climb = SecondClimb(GLASS)
    for (h0, c0), (h1, c1) in pairwise(corners):
        steps = round((h1 - h0) * 3600 / apart_s)
        for k in range(1, steps + 1):
            climb.advance(3600 * (h0 + (h1 - h0) * k / steps), c0 + (c1 - c0) * k / steps)
    return climb.fastest


def test_a_reheat_after_a_cut_is_measured_from_the_lowest_temperature() -> None:
    # 800 °C, cut, 391 °C two hours later, then 692 °C/h to 516: 125 K take 650 s.
    found = after((0, 20), (4, 800), (6, 391), (6 + 125 / 692, 516), (8, 516), (12, 100))
    assert found is not None
    assert found.rate_c_per_h == pytest.approx(692, rel=0.03)
    assert found.from_c == pytest.approx(391, abs=2)
    assert found.highest_c == pytest.approx(800, abs=2)


def test_the_first_climb_is_none_whatever_its_rate() -> None:
    assert after((0, 20), (1, 800), (2, 516), (3, 516), (8, 50)) is None


def test_a_cut_on_the_first_climb_below_the_range_makes_no_second_one() -> None:
    assert after((0, 20), (2, 450), (3, 300), (3.5, 800), (5, 516), (10, 50)) is None


def test_air_that_warms_again_after_a_look_under_the_lid_is_no_climb() -> None:
    # 470 °C, ten minutes open down to 330, and back to what it had within ten minutes.
    looked = (0, 20), (4, 800), (6, 472), (6.2, 470), (6.37, 330), (6.54, 472), (7, 468), (9, 300)
    assert after(*looked) is None


def test_a_lid_closed_for_good_below_the_range_is_no_climb() -> None:
    assert after((0, 20), (4, 800), (7, 250), (9, 120), (9.5, 200), (12, 60)) is None


def test_a_hole_of_an_hour_before_the_reheat_does_not_hide_it() -> None:
    climb = SecondClimb(GLASS)
    for t_s, temp_c in ((0.0, 20.0), (3600.0, 800.0), (7200.0, 516.0), (12_600.0, 391.0)):
        climb.advance(t_s, temp_c)
    for k in range(1, 40):
        climb.advance(12_600.0 + 30 * k, 391.0 + 300 * 30 * k / 3600)
    assert climb.fastest is not None
    assert climb.fastest.rate_c_per_h == pytest.approx(300.0, rel=1e-6)


def test_a_twin_goes_on_by_itself() -> None:
    climb = SecondClimb(GLASS)
    for k in range(400):
        climb.advance(30.0 * k, 800.0 - k if k < 395 else 405.0)
    other = climb.twin()
    for k in range(400, 500):
        other.advance(30.0 * k, 405.0 + 2.5 * (k - 400))
    assert other.fastest is not None
    assert climb.fastest is None
