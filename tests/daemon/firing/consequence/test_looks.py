"""A look is for the morning: what has cost nothing and may be over in a minute is only noted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.detection.known_climb import Beside
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.watches import (
    cooling_too_fast,
    heating_too_fast,
    hold_off_target,
    not_climbing,
)
from daemon.firing.watches.hold_off_target import HoldOffTarget
from daemon.firing.watches.not_climbing import NotClimbing
from tests.daemon.firing.consequence.weighing import ANNEAL, CLIMBS, COOLS, TOP, plan_for, weighed


def test_a_climb_is_a_look_once_it_has_lasted(view_of):
    view = view_of([(10.0 * i, 300.0) for i in range(361)], 1)
    for since_s, rank in ((view.t_s - 880.0, Rank.LOG), (view.t_s - 900.0, Rank.LOOK)):
        assert weighed(Finding(heating_too_fast.KIND, Rank.LOOK, since_s, CLIMBS, 1), view) is rank


@pytest.mark.parametrize(("fall", "planned", "rank"), [
    (72.0, 60.0, Rank.LOG), (74.0, 60.0, Rank.LOOK), (72.0, None, Rank.LOOK)])
def test_a_fall_a_fifth_too_fast_is_only_noted(view_of, fall, planned, rank):
    view = view_of([(10.0 * i, 600.0 - fall * i / 360) for i in range(361)], 1)
    facts = replace(COOLS, fall_c_per_h=fall, planned_c_per_h=planned)
    assert weighed(Finding(cooling_too_fast.KIND, Rank.LOOK, 0.0, facts, 1), view) is rank
    assert weighed(Finding(cooling_too_fast.KIND, Rank.WAKE, 0.0, facts, 1), view) is Rank.WAKE


@pytest.mark.parametrize(("fall", "temp_c", "mm", "rank"), [
    (300.0, 400.0, 6.0, Rank.LOG), (310.0, 400.0, 6.0, Rank.LOOK),  # 6 mm ordinarily bears 300 °C/h there
    (600.0, 245.0, 6.0, Rank.LOG), (600.0, 255.0, 6.0, Rank.LOOK),  # makers open the kiln there to let it cool
    (600.0, 245.0, 19.0, Rank.LOOK),  # but not over thick work
])
def test_a_fall_below_the_range_that_the_piece_bears_is_only_noted(view_of, fall, temp_c, mm, rank):
    view = view_of([(10.0 * i, temp_c) for i in range(61)], 7, thickness_mm=mm)
    facts = replace(COOLS, fall_c_per_h=fall, planned_c_per_h=150.0, bears_c_per_h=300.0, temp_c=temp_c,
                    in_band=False)
    assert weighed(Finding(cooling_too_fast.KIND, Rank.LOOK, 0.0, facts, 1), view) is rank


def test_a_fall_that_wakes_wakes_at_once_and_a_climb_that_may_not_stop_is_told_at_once(view_of):
    view = view_of([(10.0 * i, 600.0 - COOLS.fall_c_per_h * i / 360) for i in range(361)], 1)
    assert weighed(Finding(cooling_too_fast.KIND, Rank.WAKE, view.t_s - 20.0, COOLS, 1), view) is Rank.WAKE
    runs = replace(CLIMBS, may_not_stop=True)
    assert weighed(Finding(heating_too_fast.KIND, Rank.LOOK, view.t_s - 20.0, runs, 1), view) is Rank.LOOK


@pytest.mark.parametrize(("temp_c", "to_c", "flat_s", "late_s", "rank"), [
    (300.0, 600.0, 880.0, None, Rank.LOG),  # cold: nothing is lost by waiting
    (300.0, 600.0, 900.0, None, Rank.LOOK),
    (650.0, 800.0, 300.0, 300.0, Rank.LOOK),  # hot, in the middle of a climb
    (780.0, 800.0, 880.0, 300.0, Rank.LOG),  # near its target: the controller waits, or the probe reads low
    (780.0, 800.0, 900.0, 900.0, Rank.LOOK),
    (745.0, 800.0, None, 1300.0, Rank.LOG),  # the last sixty kelvins of a weak kiln
    (735.0, 800.0, None, 1300.0, Rank.LOOK),
])
def test_a_climb_that_waits_is_a_look_where_waiting_costs_or_has_lasted(view_of, temp_c, to_c, flat_s, late_s, rank):
    view = view_of([(10.0 * i, temp_c) for i in range(361)], 1)
    facts = NotClimbing(temp_c, to_c, 1.0, 200.0, flat_s, late_s)
    since_s = view.t_s - (flat_s or 1800.0)
    assert weighed(Finding(not_climbing.KIND, Rank.LOOK, since_s, facts, 1), view) is rank


@pytest.mark.parametrize(("temp_c", "rank"), [(605.0, Rank.LOG), (595.0, Rank.LOG), (640.0, Rank.LOOK)])
def test_a_hold_that_goes_on_for_some_minutes_is_no_climb_that_stands(view_of, temp_c, rank):
    """The step before holds at 600 °C, and the climb goes on to 800."""
    view = view_of([(10.0 * i, temp_c) for i in range(361)], TOP, plan_for(6.0))
    facts = NotClimbing(temp_c, 800.0, 1.0, 300.0, 880.0, 500.0)
    assert weighed(Finding(not_climbing.KIND, Rank.LOOK, view.t_s - 880.0, facts, 2), view) is rank
    long = replace(facts, flat_s=900.0)
    assert weighed(Finding(not_climbing.KIND, Rank.LOOK, view.t_s - 900.0, long, 2), view) is Rank.LOOK


@pytest.mark.parametrize(("beside", "rank"), [
    (None, Rank.LOG), (Beside.AS_EVER, Rank.LOG), (Beside.WEAKER, Rank.LOOK)])
def test_a_kiln_that_creeps_to_its_top_is_only_noted_unless_it_is_weaker_than_ever(view_of, beside, rank):
    view = view_of([(10.0 * i, 750.0) for i in range(361)], TOP, plan_for(6.0))
    facts = NotClimbing(750.0, 800.0, 60.0, 300.0, None, 500.0, beside, 0.7)
    assert weighed(Finding(not_climbing.KIND, Rank.LOOK, view.t_s - 1800.0, facts, 2), view) is rank


@pytest.mark.parametrize(("is_anneal", "off_k", "rank"), [
    (True, 9.0, Rank.LOG), (True, 10.0, Rank.LOOK), (False, 9.0, Rank.LOOK)])
def test_an_anneal_some_kelvins_too_hot_is_only_noted(view_of, is_anneal, off_k, rank):
    view = view_of([(10.0 * i, 510.0 + off_k) for i in range(241)], ANNEAL + 1, plan_for(6.0))
    facts = HoldOffTarget(off_k, 510.0, is_anneal)
    assert weighed(Finding(hold_off_target.KIND, Rank.LOOK, 0.0, facts, ANNEAL), view) is rank
