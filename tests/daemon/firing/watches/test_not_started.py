"""A firing that was started here and stays cold, on views made by hand."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.watches.not_started import KIND, NotStarted, not_started

CLIMB = 0


def cold(view_of, leg_of, minutes, *, to_c=20.0, from_s=0.0, **fields):
    return view_of(leg_of(20.0, to_c, minutes, from_s=from_s, ripple_k=0.0), **fields)


@pytest.mark.parametrize(("minutes", "is_raised"), [(44.9, False), (45.0, True), (200.0, True)])
def test_a_kiln_that_stays_cold_is_told_after_three_quarters_of_an_hour(view_of, leg_of, minutes, is_raised):
    assert (not_started(cold(view_of, leg_of, minutes)) is not None) is is_raised


@pytest.mark.parametrize(("to_c", "is_raised"), [(34.0, True), (36.0, False)])
def test_fifteen_kelvins_more_than_at_the_start_are_a_start(view_of, leg_of, to_c, is_raised):
    assert (not_started(cold(view_of, leg_of, 60.0, to_c=to_c)) is not None) is is_raised


def test_a_kiln_that_was_found_in_its_first_step_has_started(view_of, leg_of):
    assert not_started(cold(view_of, leg_of, 60.0, found=[(CLIMB, 0.0)])) is None


def test_it_is_a_look_that_says_since_when_and_how_cold(view_of, leg_of):
    found = not_started(cold(view_of, leg_of, 50.0, from_s=1000.0))
    assert (found.kind, found.rank, found.since_s) == (KIND, Rank.LOOK, 1000.0)
    assert found.facts == NotStarted(temp_c=20.0, waited_s=3000.0)
