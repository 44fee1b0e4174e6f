"""What a hold was worth, how fast it climbed while brittle, and what a fused piece bears."""

from __future__ import annotations

from math import exp

import pytest
from scipy.integrate import quad

from daemon.glass.advice import PRACTICE, TENSION, TRANSIENT_MPA, evening_min, heating_limit
from daemon.glass.fastest_climb import Climb
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


def test_a_temperature_on_the_edge_still_counts_for_its_range() -> None:
    for edge_c, reached in ((300.0, (600.0, 600.0)), (540.0, (None, 600.0))):
        climb = Climb()
        for k in range(21):  # 100 K in ten minutes, the last reading on the edge itself
            climb.advance(30.0 * k, edge_c - 100.0 + 5.0 * k)
        assert (climb.cold_c_per_h, climb.brittle_c_per_h) == tuple(
            None if rate is None else pytest.approx(rate) for rate in reached)


def test_the_highest_rate_over_ten_minutes_is_kept_by_range() -> None:
    climb, temp_c = Climb(), 20.0
    for k in range(4000):
        climb.advance(5.0 * k, temp_c)
        temp_c += (120.0 if temp_c < 350.0 else 400.0) * 5 / 3600
    assert climb.cold_c_per_h == pytest.approx(120.0, rel=1e-6)
    assert climb.brittle_c_per_h == pytest.approx(400.0, rel=1e-6)


def test_what_climbs_fast_only_above_its_range_does_not_count() -> None:
    climb, temp_c = Climb(), 20.0
    for k in range(3000):  # 100 °C/h up to 310 °C, 200 up to 545, then 900
        climb.advance(5.0 * k, temp_c)
        temp_c += (100.0 if temp_c < 310.0 else 200.0 if temp_c < 545.0 else 900.0) * 5 / 3600
    assert climb.cold_c_per_h == pytest.approx(100.0, rel=1e-6)
    assert climb.brittle_c_per_h == pytest.approx(200.0, rel=1e-6)


def test_after_it_was_hot_a_climb_is_measured_anew() -> None:
    climb = Climb()
    for k in range(21):
        climb.advance(30.0 * k, 545.0)
    for k in range(21, 40):  # from 400 °C, nine and a half minutes
        climb.advance(30.0 * k, 400.0 + 10.0 * (k - 21))
    assert climb.brittle_c_per_h is None


def test_the_window_is_the_shortest_that_spans_ten_minutes() -> None:
    # Readings every 50 s, the lurch of 60 K in one of them; twelve span 600 s, and more would dilute it.
    climb = Climb()
    for k in range(60):
        climb.advance(50.0 * k, 100.0 + (60.0 if k > 30 else 0.0))
    assert climb.cold_c_per_h == pytest.approx(60.0 * 6)


def test_a_lurch_of_a_minute_is_no_rate() -> None:
    climb = Climb()
    for k in range(400):
        climb.advance(5.0 * k, 100.0 + (5.0 if k > 200 else 0.0))
    assert climb.cold_c_per_h is not None
    assert climb.cold_c_per_h <= 31.0  # 5 K in ten minutes, though they came at once


def test_what_a_fused_piece_bears_is_practice_and_never_more_than_its_core() -> None:
    # 150 °C/h at 6 mm, 80 at 12: common practice.
    assert heating_limit(GLASS, 6.0, 1) == (pytest.approx(150.0), PRACTICE)
    assert heating_limit(GLASS, 12.0, 1) == (pytest.approx(80.0), PRACTICE)
    assert heating_limit(GLASS, 6.0, 1, loose=True)[0] == pytest.approx(250.0)
    rate, rule = heating_limit(GLASS, 80.0, 1)
    assert rule == TENSION
    # The core of a plate that heats is in tension by a third of Eα/(1−ν) times R L²/(2κ); 9.4 °C/h is keyed in as 9.
    def core_mpa(rate_c_per_h: float) -> float:
        return rate_c_per_h / 3600 * 0.08**2 / (2 * GLASS.diffusivity_m2_s) * GLASS.mpa_per_k / 3

    assert core_mpa(rate) <= TRANSIENT_MPA < core_mpa(rate + 1.0)
    assert rate == 9.0


def test_evening_out_takes_three_slowest_time_constants() -> None:
    # τ₁ = 4L²/(π²κ): 129.7 s at 12 mm, one face (Carslaw & Jaeger, ch. III).
    assert evening_min(GLASS, 12.0, 1) * 60 == pytest.approx(3 * 129.7, rel=1e-3)
    assert evening_min(GLASS, 12.0, 2) * 60 == pytest.approx(3 * 32.4, rel=2e-3)
