"""Scores summed up, row by row."""

from __future__ import annotations

from dataclasses import replace

from simulations.studies.scoring import Answer, Score
from simulations.studies.summary import lines, spread


def test_the_spread_is_the_nearest_rank_of_what_is_known():
    assert spread([None]).median is None
    found = spread([None, *range(101)])
    assert (found.least, found.median, found.p95) == (0, 50, 95)


def test_what_woke_in_a_firing_whose_fault_never_bit_counts_for_nothing():
    told = Answer(("sudden-drop",), "wake", 1.0, 2.0, "sudden-drop", True, True, 20.0)
    bit = Score("lid-ajar-1", "lid-ajar", (told,), True, (("not-cooling", 900.0),), (), 0, 0, 0, 0, 0, 0.0, 0.0, 1)
    never = replace(bit, name="lid-ajar-2", answers=(), is_as_meant=False, wakes=(("cooling-too-fast", 900.0),) * 2)
    [line] = lines([bit, never])
    assert (line.asked, line.unexpected_wakes) == (1, 1)
