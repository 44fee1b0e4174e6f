"""Scores summed up, row by row."""

from __future__ import annotations

from simulations.studies.summary import spread


def test_the_spread_is_the_nearest_rank_of_what_is_known():
    assert spread([None]).median is None
    found = spread([None, *range(101)])
    assert (found.least, found.median, found.p95) == (0, 50, 95)
