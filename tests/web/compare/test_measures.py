"""Figures of a trace against the closed forms of its straight lines."""

from __future__ import annotations

from itertools import pairwise

import pytest

from web.compare.measures import crossing_s, falling_s, measures, process_c

# Up 240 K/h from 20 to 800, ten minutes there, down 480 K/h to 516, an hour there, down 60 K/h to 396.
CORNERS = [(0.0, 20.0), (11_700.0, 800.0), (12_300.0, 800.0), (14_430.0, 516.0), (18_030.0, 516.0), (25_230.0, 396.0)]


def trace(corners=CORNERS, step=60.0):
    found, at = [], 0.0
    while at <= corners[-1][0]:
        (t0, c0), (t1, c1) = next((a, b) for a, b in pairwise(corners) if a[0] <= at <= b[0])
        found.append((at, c0 + (c1 - c0) * (at - t0) / (t1 - t0)))
        at += step
    return found


def test_figures_of_straight_lines_are_those_of_their_closed_forms():
    found = measures(trace(), 516.0)
    assert found.peak_c == pytest.approx(800.0)
    assert found.at_top_s == pytest.approx(5 / 240 * 3600 + 600 + 5 / 480 * 3600, abs=1)
    assert found.above_s[760.0] == pytest.approx(40 / 240 * 3600 + 600 + 40 / 480 * 3600, abs=1)
    assert found.haze_rising_s == pytest.approx(60 / 240 * 3600, abs=1)
    assert found.haze_falling_s == pytest.approx(60 / 480 * 3600, abs=1)
    assert found.climb_c_per_h == pytest.approx(240.0)
    assert found.first_fall_c_per_h == pytest.approx(60.0, rel=0.01)
    assert found.next_fall_c_per_h == pytest.approx(60.0, rel=0.01)


def test_over_a_hole_nothing_is_counted():
    holed = [p for p in trace() if not 11_000 < p[0] < 13_000]
    assert measures(holed, 516.0).above_s[760.0] < measures(trace(), 516.0).above_s[760.0]


def test_firings_cross_into_their_process_shortly_before_the_lowest_top():
    level_c = process_c([804.0, 797.0])
    assert level_c == 750.0
    assert crossing_s(trace(), level_c) == pytest.approx((750 - 20) / 240 * 3600)
    assert falling_s(trace(), 516.0 + 1e-6) == pytest.approx(14_430.0, abs=60)
    assert crossing_s(trace(), 900.0) is None
