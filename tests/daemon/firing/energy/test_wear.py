"""Hours above 600 °C, against triangles."""

from __future__ import annotations

import pytest

from daemon.firing.energy.wear import hot_s


def test_a_straight_climb_and_fall_is_hot_for_its_share_above_600():
    # Up from 500 to 800 °C in an hour and down again: 200 of 300 K are above, so two thirds of two hours.
    trace = [(60.0 * n, 500.0 + 5.0 * min(n, 120 - n)) for n in range(121)]
    assert hot_s(trace) == pytest.approx(4800.0)


def test_a_gap_counts_for_nothing_and_600_itself_is_hot():
    assert hot_s([(0.0, 600.0), (60.0, 600.0)]) == 60.0
    assert hot_s([(0.0, 800.0), (60.0, 800.0), (3600.0, 800.0), (3660.0, 800.0)]) == 120.0
    assert hot_s([(0.0, 599.0), (60.0, 20.0)]) == 0.0
    assert hot_s([]) == 0.0
