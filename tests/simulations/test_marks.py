"""The bend of a curve that begins a part, found without noise."""

from __future__ import annotations

import pytest

from simulations.marks import bend_s

TIMES = tuple(5.0 * n for n in range(721))


def climb_then_hold(bends_at_s: float) -> tuple[float, ...]:
    return tuple(600.0 + min(0.0, (t - bends_at_s) * 250 / 3600) for t in TIMES)


@pytest.mark.parametrize("late_s", [-420.0, -60.0, 0.0, 120.0, 600.0])
def test_the_bend_is_found_however_far_the_controllers_own_time_is_from_it(late_s):
    assert bend_s(TIMES, climb_then_hold(1800.0 + late_s), 1800.0, 0.0, 3600.0) == pytest.approx(
        1800.0 + late_s, abs=25.0)


def test_a_straight_curve_has_no_bend():
    assert bend_s(TIMES, tuple(20 + t / 20 for t in TIMES), 1800.0, 0.0, 3600.0) is None


def test_where_nothing_was_read_nothing_bends():
    assert bend_s(TIMES, (None,) * len(TIMES), 1800.0, 0.0, 3600.0) is None


def test_another_part_is_not_looked_into():
    # The bend lies before the part that precedes this one began, so it belongs to neither.
    assert bend_s(TIMES, climb_then_hold(1200.0), 1800.0, 1500.0, 3600.0) is None
