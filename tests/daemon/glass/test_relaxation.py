"""How fast a stress dies away at a temperature, and what a hold was worth."""

from __future__ import annotations

from math import exp

import pytest
from scipy.integrate import quad

from daemon.glass.materials import FAMILIES
from daemon.glass.relaxation import SHARE, Relaxed, minutes_to_relax, relaxation_time_s, slower_times

GLASS = FAMILIES["90"]


def held(temp_c: float, minutes: float) -> Relaxed:
    relaxed = Relaxed(GLASS)
    relaxed.advance(600.0, 530.0, 60.0)
    for _ in range(round(minutes * 12)):
        relaxed.advance(temp_c, temp_c, 5.0)
    return relaxed


def test_a_minute_at_the_annealing_point_is_worth_a_minute() -> None:
    relaxed = held(GLASS.annealing_point_c, 30.0)
    assert relaxed.worth_min == pytest.approx(30.0, rel=1e-6)
    tau_s = relaxation_time_s(GLASS, GLASS.annealing_point_c)
    assert relaxed.share_left == pytest.approx(exp(-1800 / tau_s), rel=1e-6)


def test_after_a_week_in_the_range_nothing_is_left() -> None:
    relaxed = Relaxed(GLASS)
    relaxed.advance(524.0, 524.0, 7 * 86_400.0)
    assert relaxed.share_left == 0.0


@pytest.mark.parametrize(("low_k", "times"), [(3.0, 1.4), (6.0, 2.1), (10.0, 3.4)])
def test_a_hold_that_is_low_is_worth_so_many_times_less(low_k: float, times: float) -> None:
    # B ln10 (1/(T − low − T0) − 1/(T − T0)) with the curve of the class: about 0.05 of a decade a kelvin, near the
    # doubling every 10 K and less of Adams & Williamson 1920 (M1 0.030, from memory).
    at_c = GLASS.annealing_point_c
    assert slower_times(GLASS, at_c, low_k) == pytest.approx(times, abs=0.1)
    assert held(at_c, 30.0).worth_min / held(at_c - low_k, 30.0).worth_min == pytest.approx(
        slower_times(GLASS, at_c, low_k), rel=1e-6)


def test_the_minutes_to_a_stated_share_leave_that_share() -> None:
    for share in (0.5, SHARE, 0.01):
        minutes = minutes_to_relax(GLASS, 505.0, share)
        assert held(505.0, minutes).share_left == pytest.approx(share, rel=0.03)


def test_only_the_last_time_in_the_range_counts() -> None:
    relaxed = held(515.0, 30.0)
    relaxed.advance(515.0, 400.0, 3600.0)
    kept = relaxed.times
    relaxed.advance(400.0, 430.0, 3600.0)  # below the range nothing relaxes
    assert relaxed.times == kept
    relaxed.advance(430.0, 540.0, 3600.0)
    assert relaxed.times == 0.0


def test_the_length_of_the_readings_steps_hardly_matters() -> None:
    fine, coarse = Relaxed(GLASS), Relaxed(GLASS)
    for k in range(800):
        fine.advance(520.0 - 0.1 * k, 520.0 - 0.1 * (k + 1), 6.0)
    coarse.advance(520.0, 440.0, 4800.0)
    assert coarse.times == pytest.approx(fine.times, rel=0.01)


@pytest.mark.parametrize(("from_c", "to_c"), [(520.0, 440.0), (505.0, 445.0), (470.0, 500.0)])
def test_a_fall_or_a_climb_is_worth_its_integral(from_c: float, to_c: float) -> None:
    # ∫ dt/τ(T) along the straight piece, by scipy's quadrature.
    step_s = 3000.0
    times, _ = quad(lambda share: step_s / relaxation_time_s(GLASS, from_c + share * (to_c - from_c)), 0.0, 1.0)
    relaxed = Relaxed(GLASS)
    relaxed.advance(from_c, to_c, step_s)
    assert relaxed.times == pytest.approx(times, rel=0.005)
