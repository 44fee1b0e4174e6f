"""A hold that goes on, on views made by hand; the pattern for a watch of beats."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.speaker import ELECTRIC
from daemon.firing.watches.hold_overrun import KIND, HoldOverrun, hold_overrun

SQUEEZE, TOP, ANNEAL, LAST = 2, 4, 6, 8
HOUR_S = 3600.0


@pytest.fixture
def held(view_of, leg_of):
    """Return a function that makes the view of a kiln that has held ``part`` for some minutes."""
    def view(part, minutes, *, at_c, **fields):
        readings = leg_of(at_c, at_c, minutes, from_s=HOUR_S)
        return view_of(readings, found=[(part, HOUR_S)], **fields)
    return view


@pytest.mark.parametrize(("part", "at_c", "minutes", "rank"), [
    (SQUEEZE, 670.0, 44.0, None),  # 30 min, and no quarter of an hour over
    (SQUEEZE, 670.0, 46.0, Rank.LOOK),
    (TOP, 800.0, 24.0, None),  # 10 min
    (TOP, 800.0, 26.0, Rank.WAKE),
    (ANNEAL, 516.0, 89.0, None),  # 60 min, and not half as long again
    (ANNEAL, 516.0, 91.0, Rank.LOG),
])
def test_a_hold_is_over_its_time_by_a_quarter_of_an_hour_or_half_as_long_again(held, part, at_c, minutes, rank):
    found = hold_overrun(held(part, minutes, at_c=at_c))
    assert (found.rank if found else None) is rank
    if found:
        assert found.kind is KIND
        assert found.facts.over_s == pytest.approx(minutes * 60.0 - found.facts.asked_s)
        assert (found.facts.hold_c, found.facts.temp_c) == (at_c, pytest.approx(at_c, abs=0.3))
        assert found.since_s == HOUR_S + found.facts.asked_s


@pytest.mark.parametrize(("squeeze_min", "minutes", "rank"), [
    (30.0, 26.0, Rank.WAKE),  # as planned: 10 min and 15 are enough
    (36.0, 30.0, None), (36.0, 32.0, Rank.WAKE),  # 6 min late there, so 6 more here
    (90.0, 54.0, None), (90.0, 56.0, Rank.WAKE),  # an hour is no waiting: half an hour at most
])
def test_a_controller_that_made_an_earlier_hold_longer_may_do_so_again(view_of, leg_of, squeeze_min, minutes, rank):
    found = [(SQUEEZE, 0.0, squeeze_min * 60.0), (TOP, 3 * HOUR_S)]
    view = view_of(leg_of(800.0, 800.0, minutes, from_s=3 * HOUR_S), found=found)
    over = hold_overrun(view)
    assert (over.rank if over else None) is rank


@pytest.mark.parametrize(("part", "at_c", "away_min", "rank"), [
    (TOP, 800.0, 10.0, Rank.WAKE),  # 6, 10 and 10 min for 10
    (TOP, 800.0, 8.0, None),  # 14 min over
    (TOP, 800.0, 31.0, None),  # that was another stay
    (SQUEEZE, 670.0, 28.0, None), (SQUEEZE, 670.0, 29.5, Rank.LOOK),
])
def test_a_hold_that_is_taken_up_again_counts_from_its_first_time(view_of, leg_of, part, at_c, away_min, rank):
    left_s = HOUR_S - 60.0 * away_min
    found = [(part, left_s - 360.0, left_s), (part - 1, left_s, HOUR_S), (part, HOUR_S)]
    over = hold_overrun(view_of(leg_of(at_c, at_c, 10.0, from_s=HOUR_S), found=found))
    assert (over.rank if over else None) is rank


@pytest.mark.parametrize(("lowest_c", "rank"), [(765.0, Rank.WAKE), (755.0, None)])
def test_a_hold_that_was_left_for_colder_is_another_stay(view_of, leg_of, lowest_c, rank):
    """After twenty minutes without power the glass has not been at its top meanwhile."""
    away_s = 1200.0
    readings = [*leg_of(lowest_c, lowest_c, 20.0, from_s=HOUR_S - away_s), *leg_of(800.0, 800.0, 10.0, from_s=HOUR_S)]
    found = [(TOP, HOUR_S - away_s - 360.0, HOUR_S - away_s), (TOP - 1, HOUR_S - away_s, HOUR_S), (TOP, HOUR_S)]
    over = hold_overrun(view_of(readings, found=found))
    assert (over.rank if over else None) is rank


@pytest.mark.parametrize(("at_c", "elsewhere_k", "rank"), [
    (791.0, None, Rank.LOOK), (793.0, None, Rank.WAKE),  # 8 K is as well as a known probe is known
    (791.0, -9.0, Rank.WAKE),
])
def test_a_top_that_may_not_be_reached_yet_is_a_look(held, at_c, elsewhere_k, rank):
    view = held(TOP, 26.0, at_c=at_c, offset_k=at_c - 800.0, offset_elsewhere_k=elsewhere_k)  # as this hold shows it
    assert hold_overrun(view).rank is rank


def test_a_kiln_far_from_its_hold_holds_nothing(held):
    assert hold_overrun(held(TOP, 60.0, at_c=755.0)) is None
    assert hold_overrun(held(TOP, 60.0, at_c=765.0, peak_c=800.0)) is None  # below it, and climbed to: on its way
    assert hold_overrun(held(TOP, 60.0, at_c=835.0)) is not None


def test_a_weak_kiln_that_creeps_up_to_its_top_has_not_begun_to_hold(view_of, leg_of):
    creeping = leg_of(790.0, 797.0, 60.0)  # 7 °C/h, 3 K short
    assert hold_overrun(view_of(creeping, found=[(TOP, 0.0)])) is None
    still = leg_of(797.0, 797.0, 60.0)
    assert hold_overrun(view_of(still, found=[(TOP, 0.0)])).rank is Rank.WAKE


def test_so_it_is_where_the_hold_comes_after_the_very_first_climb(view_of, leg_of):
    plan = 'title = "Slump"\nunit = "C"\nstep = [{ rate = 220, to = 800, hold_min = 10 }, { rate = 80, to = 400 }]'
    assert hold_overrun(view_of(leg_of(790.0, 797.0, 60.0), plan=plan, found=[(1, 0.0)])) is None
    assert hold_overrun(view_of(leg_of(797.0, 797.0, 60.0), plan=plan, found=[(1, 0.0)])).rank is Rank.WAKE


def test_a_probe_that_reads_high_is_as_far_from_its_hold_as_its_kiln(held, view_of, leg_of):
    assert hold_overrun(held(TOP, 60.0, at_c=805.0, offset_k=50.0)) is None  # 755 °C: on its way
    assert hold_overrun(held(TOP, 60.0, at_c=870.0, offset_k=50.0)).facts.temp_c == pytest.approx(870.0, abs=0.3)
    creeping = leg_of(840.0, 847.0, 60.0)
    assert hold_overrun(view_of(creeping, found=[(TOP, 0.0)], offset_k=50.0)) is None


@pytest.mark.parametrize(("at_c", "is_told"), [(791.0, False), (793.0, True)])
def test_a_kiln_that_stands_below_its_hold_as_far_as_can_be_told_is_on_its_way(held, at_c, is_told):
    assert (hold_overrun(held(TOP, 60.0, at_c=at_c)) is not None) is is_told


@pytest.mark.parametrize(("climb_c_per_h", "to_c", "is_told"), [
    (3.0, 797.0, True), (5.0, 797.0, False), (5.0, 798.5, True), (-5.0, 797.0, True)])
def test_it_creeps_by_4_degrees_an_hour_and_more_than_2_kelvins_short(view_of, leg_of, climb_c_per_h, to_c, is_told):
    creeping = leg_of(to_c - climb_c_per_h, to_c, 60.0, ripple_k=0.1)
    view = view_of(creeping, found=[(TOP, 0.0)], wander_k=0.1)
    assert (hold_overrun(view) is not None) is is_told


@pytest.mark.parametrize(("part", "minutes", "is_told"), [
    (TOP, 30.0, False), (TOP, 36.0, True),  # ten minutes on the way to its level, ten of the hold and 15 late
    (ANNEAL, 92.0, True),  # it was fallen to: no climb is waited for
])
def test_a_hold_counts_from_when_the_climb_has_come_to_its_level(view_of, leg_of, part, minutes, is_told):
    level_c = 808.0 if part == TOP else 516.0
    readings = [*leg_of(level_c - 5.0, level_c - 0.9, 10.0, from_s=HOUR_S),
                *leg_of(level_c, level_c, minutes - 10.0, from_s=HOUR_S + 605.0)]
    view = view_of(readings, found=[(part, HOUR_S)], offset_k=level_c - 800.0 if part == TOP else 0.0)
    assert (hold_overrun(view) is not None) is is_told


def test_a_kiln_that_crept_and_has_stood_for_an_hour_holds(view_of, leg_of):
    readings = [*leg_of(785.0, 797.0, 60.0), *leg_of(797.0, 797.0, 61.0, from_s=3605.0)]
    assert hold_overrun(view_of(readings, found=[(TOP, 0.0)])).rank is Rank.WAKE


@pytest.mark.parametrize(("errors", "is_told"), [(2.5, False), (1.6, True)])
def test_a_creep_counts_from_twice_its_error_on(view_of, leg_of, errors, is_told):
    def creeping(c_per_h):
        readings = leg_of(797.0 - c_per_h, 797.0, 60.0, ripple_k=0.1)
        return view_of(readings, found=[(TOP, 0.0)], wander_k=4.0)

    error_c_per_h = creeping(5.0).error_c_per_h(creeping(5.0).line(3600.0))
    assert 1.6 * error_c_per_h > 4.0
    assert (hold_overrun(creeping(errors * error_c_per_h)) is not None) is is_told


def test_a_creep_within_twice_its_error_is_none(view_of, leg_of):
    creeping = leg_of(792.0, 797.0, 60.0, ripple_k=0.1)
    assert hold_overrun(view_of(creeping, found=[(TOP, 0.0)], wander_k=10.0)) is not None


def test_only_a_hold_that_was_climbed_to_can_be_on_its_way(held, view_of, leg_of):
    assert hold_overrun(held(ANNEAL, 120.0, at_c=500.0)).rank is Rank.LOG  # it fell to it
    assert hold_overrun(held(TOP, 60.0, at_c=785.0, resumed_s=2 * HOUR_S - 5.0)) is not None  # no line yet


def test_the_last_part_of_a_plan_may_hold_for_as_long_as_it_likes(view_of, leg_of):
    plan = 'title = "Bake"\nunit = "C"\nstep = [{ rate = 100, to = 200, hold_min = 10 }]'
    assert hold_overrun(view_of(leg_of(200.0, 200.0, 60.0), plan=plan, found=[(1, 0.0)])) is None


def test_the_follower_may_not_have_dated_the_hold_yet(view_of, leg_of):
    still = leg_of(800.0, 800.0, 60.0)
    assert hold_overrun(view_of(still, found=[(TOP, 0.0)])) is not None
    assert hold_overrun(view_of(still, found=[(TOP - 1, 0.0)], state=TOP + 1)) is None
    assert hold_overrun(view_of(still, state=TOP + 1)) is None


def test_the_words_say_by_how_much_it_is_over():
    facts = HoldOverrun(1200.0, 600.0, 800.0, 801.0)
    text = KIND.words(Finding(KIND, Rank.WAKE, 0.0, facts), example_firing.speaker())
    assert text.what == "Hold at 800 °C goes on, 20 min over its 10. The kiln is at 801 °C."
    assert text.do.endswith(ELECTRIC)


def test_a_ramp_overruns_nothing(view_of, leg_of):
    assert hold_overrun(view_of(leg_of(600.0, 610.0, 120.0), found=[(1, 0.0)])) is None
    assert hold_overrun(view_of(leg_of(20.0, 20.0, 120.0))) is None
