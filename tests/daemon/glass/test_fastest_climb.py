"""How fast it climbed while brittle, as means over ten minutes."""

from __future__ import annotations

import pytest

from daemon.glass.fastest_climb import Climb


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


@pytest.mark.parametrize(("apart_s", "rate"), [(25.0, None), (30.0, 36.0)])
def test_a_reading_counts_from_half_a_minute_after_the_one_before(apart_s: float, rate: float | None) -> None:
    climb = Climb()
    for k in range(21):
        climb.advance(30.0 * k, 100.0)
    climb.advance(600.0 + apart_s, 106.0)  # 6 K in ten minutes
    assert climb.cold_c_per_h == rate


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
