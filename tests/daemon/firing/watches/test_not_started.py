"""A firing that was started here and stays cold, on views made by hand."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.watches.not_started import KIND, NotStarted, NotStartedWatch

CLIMB = 0


def cold(view_of, leg_of, minutes, *, to_c=20.0, from_s=0.0, **fields):
    return view_of(leg_of(20.0, to_c, minutes, from_s=from_s, ripple_k=0.0), **fields)


@pytest.mark.parametrize(("minutes", "is_raised"), [(44.9, False), (45.0, True), (200.0, True)])
def test_a_kiln_that_stays_cold_is_told_after_three_quarters_of_an_hour(view_of, leg_of, minutes, is_raised):
    assert (NotStartedWatch().see(cold(view_of, leg_of, minutes)) is not None) is is_raised


@pytest.mark.parametrize(("to_c", "is_raised"), [(34.0, True), (36.0, False)])
def test_fifteen_kelvins_more_than_at_the_start_are_a_start(view_of, leg_of, to_c, is_raised):
    assert (NotStartedWatch().see(cold(view_of, leg_of, 60.0, to_c=to_c)) is not None) is is_raised


def test_a_kiln_that_was_found_in_its_first_step_has_started(view_of, leg_of):
    assert NotStartedWatch().see(cold(view_of, leg_of, 60.0, found=[(CLIMB, 0.0)])) is None


def test_it_is_a_look_that_says_since_when_and_how_cold(view_of, leg_of):
    found = NotStartedWatch().see(cold(view_of, leg_of, 50.0, from_s=1000.0))
    assert (found.kind, found.rank, found.since_s) == (KIND, Rank.LOOK, 1000.0)
    assert found.facts == NotStarted(temp_c=20.0, waited_s=3000.0)


def test_once_told_it_ends_when_the_kiln_is_warm_and_not_when_the_room_warms_it(view_of, leg_of):
    watch = NotStartedWatch()
    assert watch.see(cold(view_of, leg_of, 60.0)) is not None
    in_first_step = [(CLIMB, 3600.0)]
    assert watch.see(cold(view_of, leg_of, 70.0, to_c=26.0, found=in_first_step)) is not None
    assert watch.see(cold(view_of, leg_of, 80.0, to_c=36.0, found=in_first_step)) is None
    assert watch.see(cold(view_of, leg_of, 90.0, to_c=26.0, found=in_first_step)) is None
