"""What follows if nobody gets up decides the rank: the edges, for two thicknesses and each moment of a firing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.consequence import weigh
from daemon.firing.events import Part, Rank
from daemon.firing.kind import Finding
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.recovery.recovery import Mender
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.speaker import Speaker, Undone
from daemon.firing.watches import (
    cooling_too_fast,
    firing_stopped,
    heating_too_fast,
    hold_cut_short,
    hold_off_target,
)
from daemon.firing.watches.firing_stopped import FiringStopped
from daemon.firing.watches.heating_too_fast import HeatingTooFast
from daemon.firing.watches.hold_cut_short import HoldCutShort
from daemon.firing.watches.hold_off_target import HoldOffTarget
from simulations.studies.scoring import score
from simulations.studies.study import case_named
from tests.daemon.firing.consequence.weighing import ANNEAL, COOLS, GLASS, HELD_MIN, TOP, plan_for, weighed


@pytest.mark.parametrize(("mm", "rate", "rank"), [
    # The core of a fused plate comes to 5 MPa at some 1670 °C/h in 6 mm and 420 in 12: a quarter for twice as thick.
    (6.0, 1500.0, Rank.LOOK), (6.0, 2200.0, Rank.WAKE), (12.0, 650.0, Rank.WAKE),
    (12.0, 590.0, Rank.LOOK),  # less than twice as fast as planned: who plans it knows her load
    (3.0, 2200.0, Rank.LOOK),
])
def test_a_climb_far_too_fast_wakes_where_this_thickness_does_not_bear_it(view_of, mm, rate, rank):
    view = view_of([(10.0 * i, 100.0 + rate * i / 360) for i in range(121)], 1, thickness_mm=mm)
    facts = HeatingTooFast(rate, 300.0, view.temp_c, 540.0)
    (found,) = weigh([Finding(heating_too_fast.KIND, Rank.WAKE, 0.0, facts, 1)], view)
    assert (found.rank, found.facts.is_borne) == (rank, rank is Rank.LOOK)


def moves(view_of, rates_c_per_h, from_c):
    """Return the view after two minutes at each rate, in a row, from a temperature [°C]."""
    readings, temp_c = [(0.0, from_c)], from_c
    for rate in rates_c_per_h:
        for _ in range(12):
            temp_c += rate / 360
            readings.append((readings[-1][0] + 10.0, temp_c))
    return view_of(readings, 1, thickness_mm=25.0)


@pytest.mark.parametrize(("rates", "rank"), [
    ([800.0] * 6, Rank.WAKE), ([800.0] * 4 + [500.0] * 2, Rank.WAKE),
    ([800.0] * 4 + [100.0] * 2, Rank.LOG),  # a controller has caught it
])
def test_a_climb_that_comes_back_to_its_plan_is_not_worth_a_wake(view_of, rates, rank):
    view = moves(view_of, rates, 300.0)
    facts = HeatingTooFast(700.0, 200.0, view.temp_c, 540.0)
    (found,) = weigh([Finding(heating_too_fast.KIND, Rank.WAKE, 0.0, facts, 1)], view)
    assert (found.rank, found.facts.is_borne) == (rank, False)


@pytest.mark.parametrize(("rates", "rank"), [
    ([-400.0, -300.0], Rank.WAKE),  # without power: the elements have cooled, the walls have not
    ([-400.0, -180.0, -160.0], Rank.WAKE),
    ([-400.0, -180.0, -20.0], Rank.LOOK), ([-500.0, -120.0], Rank.LOOK),
    ([-60.0, -30.0, -20.0, 10.0, -20.0, -20.0], Rank.LOOK),  # it stands: no kiln without power does
])
def test_a_fall_in_the_climb_that_dies_out_is_not_worth_a_wake(view_of, rates, rank):
    """At a change of step a controller may begin its integral at nothing: 20 K in three minutes, and back again."""
    view = moves(view_of, rates, 625.0)
    facts = FiringStopped(625.0, view.temp_c, 250.0, 510.0, True, Undone(0, 0.0, view.temp_c))
    (found,) = weigh([Finding(firing_stopped.KIND, Rank.WAKE, 0.0, facts, 1)], view)
    assert found.rank is rank


@pytest.mark.parametrize(("rates", "rank"), [
    ([-300.0] * 6, Rank.WAKE), ([-300.0] * 4 + [-220.0] * 2, Rank.WAKE),
    ([-300.0] * 4 + [-130.0] * 2, Rank.LOOK),  # it comes to its planned 90 °C/h
])
def test_a_fall_that_comes_back_to_its_plan_is_not_worth_a_wake(view_of, rates, rank):
    view = moves(view_of, rates, 560.0)
    facts = replace(COOLS, fall_c_per_h=250.0, planned_c_per_h=90.0, temp_c=view.temp_c)
    (found,) = weigh([Finding(cooling_too_fast.KIND, Rank.WAKE, 0.0, facts, 1)], view)
    assert found.rank is rank


def test_a_fast_climb_that_has_only_begun_has_not_reached_the_core(view_of):
    view = view_of([(10.0 * i, 300.0) for i in range(121)], 1, thickness_mm=12.0)
    facts = HeatingTooFast(650.0, 300.0, 300.0, 540.0)
    (found,) = weigh([Finding(heating_too_fast.KIND, Rank.WAKE, view.t_s - 60.0, facts, 1)], view)
    assert found.rank is Rank.LOG


@pytest.fixture
def low(view_of):
    """Return a function: the rank of an anneal that stands so low, seen at 40 minutes, by a probe that is known."""
    def rank(mm, low_k, **fields):
        view = view_of([(10.0 * i, 510.0 - low_k) for i in range(241)], ANNEAL + 1, plan_for(mm), thickness_mm=mm,
                       **fields)
        view.progress = AnnealProgress(GLASS, view.anneal)
        for t_s, temp_c in zip(view.trail.times, view.trail.temps, strict=True):
            view.progress.see(t_s, temp_c + 3.0)  # with the benefit of what a known probe may be off
        facts = HoldOffTarget(-low_k, 510.0, True)
        return weighed(Finding(hold_off_target.KIND, Rank.WAKE, 0.0, facts, 3), view)
    return rank


@pytest.mark.parametrize(("mm", "low_k", "rank"), [
    (6.0, 5.0, Rank.LOOK), (6.0, 12.0, Rank.LOOK), (6.0, 25.0, Rank.WAKE),
    (19.0, 5.0, Rank.LOOK), (19.0, 12.0, Rank.LOOK), (19.0, 25.0, Rank.WAKE),
])
def test_an_anneal_too_cool_wakes_only_where_this_thickness_will_not_relax_in_its_time(low, mm, low_k, rank):
    assert low(mm, low_k) is rank


def test_a_hold_planned_cold_leaves_no_room_for_twelve_kelvins(view_of):
    # 25 K below the annealing point a stress takes ten times as long to relax.
    plan = Plan("Fuse", "C", (Step(300.0, 800.0, 600.0), Step(None, 490.0, 3600.0), Step(60.0, 400.0)))
    view = view_of([(10.0 * i, 478.0) for i in range(121)], 4, plan)
    view.progress = AnnealProgress(GLASS, view.anneal)
    for t_s, temp_c in zip(view.trail.times, view.trail.temps, strict=True):
        view.progress.see(t_s, temp_c + 3.0)
    assert weighed(Finding(hold_off_target.KIND, Rank.WAKE, 0.0, HoldOffTarget(-12.0, 490.0, True), 2),
                   view) is Rank.WAKE


@pytest.mark.parametrize(("mm", "held_min", "rank"), [
    (6.0, 0.0, Rank.WAKE), (6.0, 26.0, Rank.WAKE), (6.0, 40.0, Rank.LOOK),
    (12.0, 40.0, Rank.WAKE), (12.0, 80.0, Rank.LOOK),
    (19.0, 80.0, Rank.WAKE), (19.0, 130.0, Rank.LOOK),
])
def test_an_anneal_cut_short_wakes_where_what_was_held_does_not_do(view_of, mm, held_min, rank):
    view = view_of([(10.0 * i, 505.0) for i in range(61)], ANNEAL + 2, plan_for(mm), thickness_mm=mm)
    view.progress = AnnealProgress(GLASS, view.anneal)
    view.progress.worth_min = held_min + 5.0  # the fall to it and from it are worth something too
    facts = HoldCutShort(60.0 * held_min, 60.0 * HELD_MIN[mm], 510.0, 505.0, Undone(ANNEAL, 60.0 * held_min, 505.0))
    assert weighed(Finding(hold_cut_short.KIND, Rank.WAKE, 0.0, facts, 3), view) is rank


@pytest.mark.parametrize(("worth_min", "rank"), [(26.0, Rank.WAKE), (40.0, Rank.LOOK)])
def test_where_the_follower_saw_no_hold_the_readings_tell_what_was_held(view_of, worth_min, rank):
    view = view_of([(10.0 * i, 485.0) for i in range(61)], ANNEAL + 1, plan_for(6.0))
    view.progress = AnnealProgress(GLASS, view.anneal)
    view.progress.worth_min = worth_min
    facts = HoldCutShort(0.0, 3600.0, 510.0, 485.0, Undone(ANNEAL, 0.0, 485.0))
    assert weighed(Finding(hold_cut_short.KIND, Rank.WAKE, 0.0, facts, 3), view) is rank


@pytest.mark.parametrize(("level_c", "rank"), [(509.0, Rank.WAKE), (511.0, Rank.LOOK)])
def test_a_hold_seen_at_its_level_is_worth_its_minutes_however_doubtful_the_probe(view_of, level_c, rank):
    """Held for 50 of 60 min; by a probe that may be off by much, the kiln counted as above its range all the time."""
    hold = Part(ANNEAL, 3, "hold", 0.0, 3000.0, mean_c=level_c)
    view = view_of([(10.0 * i, 500.0) for i in range(301, 361)], ANNEAL + 2, plan_for(6.0),
                   found=(hold, Part(ANNEAL + 1, 4, "ramp", 3000.0)))
    view.progress = AnnealProgress(GLASS, view.anneal)
    facts = HoldCutShort(3000.0, 3600.0, 510.0, 500.0, Undone(ANNEAL, 3000.0, 500.0))
    assert weighed(Finding(hold_cut_short.KIND, Rank.WAKE, 3000.0, facts, 3), view) is rank


@pytest.mark.parametrize(("doubt_k", "rank"), [(3.0, Rank.LOOK), (10.0, Rank.WAKE)])
def test_a_fall_that_passed_the_hold_slowly_did_not_hold_it(view_of, doubt_k, rank):
    """Worth 40 min. At 60 °C/h a fall through 3 or 10 K of doubt takes 3 or 10 min of them; 36 are enough."""
    view = view_of([(10.0 * i, 485.0) for i in range(61)], ANNEAL + 1, plan_for(6.0))
    view.progress = AnnealProgress(GLASS, view.anneal)
    view.progress.worth_min, view.progress.doubt_k = 40.0, doubt_k
    facts = HoldCutShort(0.0, 3600.0, 510.0, 485.0, Undone(ANNEAL, 0.0, 485.0))
    assert weighed(Finding(hold_cut_short.KIND, Rank.WAKE, 0.0, facts, 3), view) is rank


@pytest.mark.parametrize(("held_min", "fall", "rank"), [
    (7.0, None, Rank.LOOK),   # three of ten minutes are missing: nothing that is done now gives them back
    (3.0, None, Rank.WAKE),   # seven are, and the first three minutes of the fall are near the top, too
    (1.0, None, Rank.WAKE),   # nine are
    (7.0, 60.0, Rank.WAKE),   # no plan falls so: the power is gone
    (1.0, 60.0, Rank.WAKE),
])
def test_a_top_left_late_before_a_free_fall_is_a_look(view_of, along, held_min, fall, rank):
    left_s = 3600.0 + 60.0 * held_min
    readings = along((0.0, 500.0), (3600.0, 800.0), (left_s, 800.0), (left_s + 300.0, 760.0))
    view = view_of(readings, TOP + 2, plan_for(6.0, fall))
    facts = FiringStopped(800.0, 760.0, 480.0, 510.0, False, Undone(TOP, 60.0 * held_min, 760.0))
    assert weighed(Finding(firing_stopped.KIND, Rank.WAKE, left_s, facts, 2), view) is rank


@pytest.mark.parametrize(("stood_at_c", "held_min", "rank"), [
    (775.0, 9.0, Rank.LOOK),   # the probe reads 25 K below the top of 800 °C, and there the kiln stood
    (775.0, 3.0, Rank.WAKE),   # it stood there only just
    (755.0, 9.0, Rank.WAKE),   # no probe is off by so much: the kiln was never at its top
])
def test_a_top_that_the_probe_reads_too_low_was_held_where_the_readings_stood(view_of, along, stood_at_c, held_min,
                                                                              rank):
    left_s = 3600.0 + 60.0 * held_min
    readings = along((0.0, 500.0), (3600.0, stood_at_c), (left_s, stood_at_c), (left_s + 300.0, stood_at_c - 40.0))
    view = view_of(readings, TOP, plan_for(6.0))  # the follower is still on the climb
    facts = FiringStopped(stood_at_c, stood_at_c - 40.0, 480.0, 510.0, True, Undone(TOP - 1, 0.0, stood_at_c - 40.0))
    assert weighed(Finding(firing_stopped.KIND, Rank.WAKE, left_s, facts, 2), view) is rank


@pytest.mark.parametrize(("top_min", "held_min", "fall", "rank"), [
    (16.0, 8.5, None, Rank.LOOK), (16.0, 7.5, None, Rank.WAKE),  # from half of it on a maker may have gone on
    (24.0, 14.5, None, Rank.LOOK), (24.0, 13.5, None, Rank.WAKE),  # more than ten minutes missing are a loss
    (16.0, 8.5, 60.0, Rank.WAKE),  # no plan falls so: the power is gone
])
def test_a_top_more_than_half_held_may_be_ended_by_hand(view_of, along, top_min, held_min, fall, rank):
    left_s = 3600.0 + 60.0 * held_min
    readings = along((0.0, 500.0), (3600.0, 800.0), (left_s, 800.0), (left_s + 300.0, 720.0))
    plan = Plan("Fuse", "C", (Step(300.0, 600.0, 1800.0), Step(300.0, 800.0, 60.0 * top_min),
                              Step(fall, 510.0, 3600.0), Step(60.0, 400.0)))
    view = view_of(readings, TOP + 2, plan)
    facts = FiringStopped(800.0, 720.0, 960.0, 510.0, False, Undone(TOP, 60.0 * held_min, 720.0))
    assert weighed(Finding(firing_stopped.KIND, Rank.WAKE, left_s, facts, 2), view) is rank


def test_an_anneal_that_was_fallen_past_wakes_after_any_top(view_of, along):
    view = view_of(along((0.0, 800.0), (600.0, 800.0), (4000.0, 480.0)), TOP + 2, plan_for(6.0))
    facts = FiringStopped(510.0, 480.0, 340.0, 510.0, False, Undone(ANNEAL, 0.0, 480.0))
    assert weighed(Finding(firing_stopped.KIND, Rank.WAKE, 3700.0, facts, 3), view) is Rank.WAKE


def test_what_is_enough_is_told_as_such_and_what_is_not_is_not(low, view_of):
    speaker = Speaker("C", 6.0, Mender(planned_parts(plan_for(6.0)), None, GLASS, 6.0, 1))
    for enough, words in ((True, "still does its work"), (False, "the anneal does little")):
        facts = HoldOffTarget(-12.0, 510.0, True, is_enough=enough)
        found = Finding(hold_off_target.KIND, Rank.LOOK, 0.0, facts)
        assert words in hold_off_target.KIND.words(found, speaker).meaning


def test_a_hold_the_follower_does_not_see_is_not_given_its_whole_time_again(view_of):
    # 30 K below 510 °C an hour does nothing; seen for 50 minutes of 60, however it is dated.
    view = view_of([(10.0 * i, 488.0) for i in range(301)], ANNEAL, plan_for(6.0))
    view.progress, view.fell_until_s = AnnealProgress(GLASS, view.anneal), 0.0
    found = Finding(hold_off_target.KIND, Rank.WAKE, 1800.0, HoldOffTarget(-22.0, 510.0, True), 3)
    (told,) = weigh([found], view)
    assert (told.rank, told.facts.may_be_enough) == (Rank.WAKE, False)
    view.fell_until_s = view.t_s  # it has only just come
    (told,) = weigh([replace(found, since_s=view.t_s)], view)
    assert (told.rank, told.facts.may_be_enough) == (Rank.LOOK, True)


@pytest.mark.parametrize(("off_k", "is_enough"), [(-9.0, True), (-15.0, False)])
def test_that_a_low_hold_does_its_work_is_said_without_the_benefit_of_the_doubt(view_of, off_k, is_enough):
    """15 K below 510 °C stress relaxes seven times as slowly, ten minutes for an hour's: too little for 9 mm."""
    view = view_of([(10.0 * i, 510.0 + off_k) for i in range(31)], ANNEAL + 1, plan_for(6.0), thickness_mm=9.0)
    view.progress, view.fell_until_s = AnnealProgress(GLASS, view.anneal), 0.0
    found = Finding(hold_off_target.KIND, Rank.WAKE, 0.0, HoldOffTarget(off_k, 510.0, True), 3)
    (told,) = weigh([found], view)
    assert (told.rank, told.facts.is_enough, told.facts.may_be_enough) == (Rank.LOOK, is_enough, not is_enough)


@pytest.mark.parametrize(("off_k", "minute", "rank"), [
    (-27.0, 15.0, Rank.LOOK),  # it may be the probe, just after a free fall
    (-27.0, 29.0, Rank.LOOK),
    (-27.0, 31.0, Rank.WAKE),  # half of the hour is over: time to lengthen the hold
    (-12.0, 31.0, Rank.LOOK),  # it does its work
])
def test_a_level_that_does_not_come_back_after_a_free_fall_wakes_at_half_of_the_hold(view_of, off_k, minute, rank):
    view = view_of([(10.0 * i, 510.0 + off_k) for i in range(int(6 * minute) + 1)], ANNEAL, plan_for(6.0))
    view.progress, view.fell_until_s = AnnealProgress(GLASS, view.anneal), 0.0
    for t_s, temp_c in zip(view.trail.times, view.trail.temps, strict=True):
        view.progress.see(t_s, temp_c, max(3.0, 25.0 - t_s / 100.0))  # by as much as such a probe may be off
    found = Finding(hold_off_target.KIND, Rank.WAKE, 600.0, HoldOffTarget(off_k, 510.0, True), 3)
    assert weighed(found, view) is rank


def test_a_hold_that_sank_late_counts_what_it_was_before(view_of):
    """Forty minutes at 510 °C have relaxed 6 mm, however cold the rest of the hour is."""
    view = view_of([(10.0 * i, 510.0 if i < 240 else 480.0) for i in range(281)], ANNEAL, plan_for(6.0))
    found = Finding(hold_off_target.KIND, Rank.WAKE, 2400.0, HoldOffTarget(-30.0, 510.0, True), 3)
    for has_stood, rank in ((True, Rank.LOOK), (False, Rank.WAKE)):
        view.progress, view.fell_until_s = AnnealProgress(GLASS, view.anneal), 0.0
        for t_s, temp_c in zip(view.trail.times, view.trail.temps, strict=True):
            view.progress.see(t_s, temp_c if has_stood else 480.0)
        assert weighed(found, view) is rank


@pytest.mark.parametrize("name", ["anneal-low-1162000005", "anneal-low-1162000006"])
def test_a_hold_far_too_cold_after_a_free_fall_wakes_before_it_is_over(name, made_once):
    """30 and 27 K below their targets; they end 36 and 59 minutes after they began."""
    answer, = made_once(("scored", name), lambda: score(case_named(name))).answers
    assert (answer.rank, answer.named, answer.is_ranked_right) == ("wake", "hold-off-target", True)
    assert answer.woke_min < {"anneal-low-1162000005": 36.0, "anneal-low-1162000006": 59.0}[name]


def test_fifty_minutes_missing_of_a_long_top_are_a_loss(view_of, along):
    plan = Plan("Casting", "C", (Step(300.0, 600.0, 1800.0), Step(300.0, 800.0, 6000.0), Step(None, 510.0, 3600.0)))
    for held_min, rank in ((75.0, Rank.WAKE), (85.0, Rank.WAKE), (91.0, Rank.LOOK), (98.0, Rank.LOOK)):
        left_s = 3600.0 + 60.0 * held_min
        view = view_of(along((0.0, 500.0), (3600.0, 800.0), (left_s, 800.0), (left_s + 300.0, 760.0)), TOP + 2, plan)
        facts = FiringStopped(800.0, 760.0, 480.0, 510.0, False, Undone(TOP, 60.0 * held_min, 760.0))
        assert weighed(Finding(firing_stopped.KIND, Rank.WAKE, left_s, facts, 2), view) is rank


@pytest.mark.parametrize("rank", [Rank.LOG, Rank.LOOK])
def test_no_consequence_makes_a_finding_louder(view_of, rank):
    view = view_of([(10.0 * i, 485.0) for i in range(61)], ANNEAL + 1)
    facts = HoldOffTarget(-25.0, 510.0, True)
    assert weighed(Finding(hold_off_target.KIND, rank, 0.0, facts, 3), view) is rank
