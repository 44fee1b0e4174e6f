"""The bend of a curve that begins a part, found without noise."""

from __future__ import annotations

from bisect import bisect_left

import pytest

from simulations.marks import bend_s, is_unmarked

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


@pytest.mark.parametrize("duty", [0.0, 1.0])
def test_a_boundary_about_which_the_power_stays_off_or_full_leaves_no_mark(duty):
    steady = [duty] * len(TIMES)
    assert is_unmarked(1800.0, TIMES, steady)
    changes = bisect_left(TIMES, 1900.0)
    assert not is_unmarked(1800.0, TIMES, [*steady[:changes], 0.4, *steady[changes + 1:]])


def test_a_power_that_changes_long_before_or_after_leaves_no_mark_either():
    duties = [0.5 if t < 1300 or t > 2500 else 0.0 for t in TIMES]
    assert is_unmarked(1800.0, TIMES, duties)
