"""A path keeps what was really run: no part merely passed through, no excursion that came back."""

from __future__ import annotations

import pytest

from daemon.firing.tracking.path import LONGEST_EXCURSION_S, SHORTEST_HOLD_S, Visit, path_to, without_excursions

PARTS = 5


def path(*visits: tuple[int, float]) -> list[Visit]:
    """Return the path of (state, start [s])."""
    last = None
    for state, start_s in visits:
        last = Visit(state, start_s, last)
    return path_to(last)


def kept(*visits: tuple[int, float], now_s: float = 20_000.0) -> list[tuple[int, float]]:
    """Return (state, start [s]) of what is left of a path."""
    return [(v.state, v.start_s) for v in without_excursions(path(*visits), PARTS, now_s)]


def test_a_path_is_told_oldest_first():
    assert [v.state for v in path((0, 0.0), (1, 60.0), (2, 900.0))] == [0, 1, 2]
    assert path_to(None) == []


def test_a_plan_run_in_order_is_left_as_it_is():
    way = ((0, 0.0), (1, 60.0), (2, 900.0), (3, 2000.0), (6, 9000.0))
    assert kept(*way) == list(way)


@pytest.mark.parametrize(("stay_s", "counts"), [(SHORTEST_HOLD_S - 1.0, False), (SHORTEST_HOLD_S, True)])
def test_a_part_that_was_only_passed_through_is_none(stay_s, counts):
    found = kept((1, 0.0), (2, 3000.0), (3, 3000.0 + stay_s))
    assert ((2, 3000.0) in found) is counts
    assert found[-1] == (3, 3000.0 + stay_s)


def test_the_part_the_kiln_is_in_counts_however_short():
    assert kept((1, 0.0), (2, 3000.0), now_s=3001.0) == [(1, 0.0), (2, 3000.0)]


def test_the_states_before_and_after_the_plan_are_never_passed_through():
    assert kept((0, 0.0), (1, 20.0), (6, 5000.0), (5, 5020.0))[0] == (0, 0.0)
    assert (6, 5000.0) in kept((0, 0.0), (1, 20.0), (6, 5000.0), (5, 5020.0))


@pytest.mark.parametrize(("longer_s", "is_excursion"), [(0.0, True), (1.0, False)])
def test_a_jump_ahead_that_comes_back_within_an_hour_never_left(longer_s, is_excursion):
    away_s = LONGEST_EXCURSION_S + longer_s
    found = kept((1, 0.0), (3, 3000.0), (1, 3000.0 + away_s))
    assert found == ([(1, 0.0)] if is_excursion else [(1, 0.0), (3, 3000.0), (1, 3000.0 + away_s)])


def test_a_plan_begun_again_after_its_next_part_is_begun_again():
    # From part 2 back to part 1: no jump ahead, so part 2 was really run.
    assert kept((1, 0.0), (2, 3000.0), (1, 4000.0)) == [(1, 0.0), (2, 3000.0), (1, 4000.0)]


@pytest.mark.parametrize(("later_s", "is_dip"), [(0.0, True), (1.0, False)])
def test_a_part_that_was_passed_over_and_then_come_to_began_where_it_was_passed_over(later_s, is_dip):
    # A free fall (2) goes past the anneal hold (3) to the fall after it, climbs back, and stands.
    back_s = 6000.0 + LONGEST_EXCURSION_S + later_s
    found = kept((1, 0.0), (2, 5000.0), (4, 6000.0), (1, 6400.0), (3, back_s), (4, back_s + 4000.0))
    began_s = 6000.0 if is_dip else back_s
    assert found[-2:] == [(3, began_s), (4, back_s + 4000.0)]
    assert found[:2] == [(1, 0.0), (2, 5000.0)]


def test_a_part_run_before_is_not_passed_over():
    # A plan begun again: part 3 was run, then 4, and now 3 once more.
    way = ((1, 0.0), (3, 2000.0), (4, 9000.0), (5, 9500.0), (2, 10_000.0), (3, 11_000.0))
    assert (3, 11_000.0) in kept(*way)
