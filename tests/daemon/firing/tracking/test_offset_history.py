"""The usual difference by band: what several firings show, and none alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Part
from daemon.firing.report import judge
from daemon.firing.tracking.offset_history import (
    BANDS_C,
    SETTLED_AFTER_S,
    HoldOffset,
    hold_offset,
    offsets_by_band,
    usual_offset_at,
    usual_offsets,
)
from simulations.studies.study import case_named


def firing(top_k, anneal_k):
    return [HoldOffset(800.0, top_k, 900.0), HoldOffset(516.0, anneal_k, 3600.0)]


def test_a_firing_shows_the_mean_of_its_settled_holds_by_their_length():
    holds = [HoldOffset(516.0, 3.0, 3600.0), HoldOffset(482.0, 6.0, 1800.0), HoldOffset(516.0, -15.0, 300.0),
             HoldOffset(516.0, 40.0, 3600.0), HoldOffset(516.0, 9.0, 3600.0, moved_k=8.0)]
    assert offsets_by_band(holds) == {(400.0, 600.0): pytest.approx((3.0 * 2 + 6.0) / 3)}


def test_one_odd_firing_moves_the_usual_difference_by_little():
    shown = [(-9.0, -8.0), (-8.6, -8.4), (4.0, 12.0), (-9.2, -8.1), (-8.9, -8.2)]
    assert usual_offsets([firing(*pair) for pair in shown]) == {(720.0, 2000.0): -8.9, (400.0, 600.0): -8.1}


def test_two_firings_are_a_chance_and_no_habit():
    assert usual_offsets([firing(-9.0, -8.0)] * 2) == {}
    assert usual_offset_at({}, 516.0) is None


def test_a_band_that_showed_nothing_is_told_by_its_neighbour():
    known = {(400.0, 600.0): -8.0, (720.0, 2000.0): -12.0}
    asked_c = (516.0, 800.0, 150.0, 610.0, 715.0)
    assert [usual_offset_at(known, c) for c in asked_c] == [-8.0, -12.0, -8.0, -8.0, -12.0]


@pytest.mark.slow  # whole firings
def test_a_hold_that_reads_low_like_all_before_it_is_no_fault_and_one_alone_is():
    # A refire: its anneal is the only hold long enough to settle.
    case = case_named("first-clean-7013")
    assert sum(step.hold_s >= SETTLED_AFTER_S for step in case.plan.steps) == 1
    low_k = case.offset_k + 12.0
    samples = [s._replace(temp_c=s.temp_c - low_k) for s in case.fire().samples if s.temp_c is not None]
    setup = replace(case.setup, offset_k=None, others=())

    def told(usual_k):
        report = judge(replace(setup, usual_by_band=dict.fromkeys(BANDS_C, usual_k)), samples)
        return [(a.kind, a.rank) for a in report.alerts if a.kind == "hold-off-target"]

    assert told(-12.0) == []
    assert [kind for kind, _ in told(0.0)] == ["hold-off-target"]


# --- small situations ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("hold", "settled"), [
    (HoldOffset(516.0, 3.0, 600.0), True), (HoldOffset(516.0, 3.0, 599.0), False),
    (HoldOffset(516.0, 30.0, 900.0), True), (HoldOffset(516.0, -20.0, 900.0), True),
    (HoldOffset(516.0, 30.5, 900.0), False), (HoldOffset(516.0, -20.5, 900.0), False),
    (HoldOffset(516.0, 3.0, 900.0, 5.0), True), (HoldOffset(516.0, 3.0, 900.0, -5.0), True),
    (HoldOffset(516.0, 3.0, 900.0, -5.5), False),
])
def test_a_hold_is_settled_if_long_near_and_still(hold, settled):
    assert hold.settled is settled


@pytest.mark.parametrize(("part", "shown"), [
    (Part(1, 1, "hold", 1000.0, 2800.0, 6.0, 519.0), (516.0, 3.0, 1800.0, 3.0)),
    (Part(1, 1, "hold", 1000.0, None, None, 519.0), (516.0, 3.0, 4000.0, 0.0)),  # under way: up to 5000 s
    (Part(1, 1, "ramp", 1000.0, 2800.0, 6.0, 519.0), None),
    (Part(1, 1, "hold", 1000.0, 2800.0, 6.0, None), None),
])
def test_what_a_part_shows_of_the_probe(part, shown):
    assert hold_offset(part, 516.0, 5000.0) == shown


def test_what_the_owner_had_taken_off_is_put_back():
    assert hold_offset(Part(1, 1, "hold", 0.0, 900.0, 0.0, 516.0), 516.0, 0.0, 4.0).difference_k == 4.0


@pytest.mark.parametrize(("target_c", "band"), [
    (0.0, (0.0, 400.0)), (399.0, (0.0, 400.0)), (400.0, (400.0, 600.0)), (599.0, (400.0, 600.0)),
    (600.0, (600.0, 720.0)), (719.0, (600.0, 720.0)), (720.0, (720.0, 2000.0)),
])
def test_a_hold_shows_its_own_band(target_c, band):
    assert offsets_by_band([HoldOffset(target_c, 3.0, 900.0)]) == {band: 3.0}


def test_three_firings_are_a_habit_in_the_band_they_all_show():
    anneals = [[HoldOffset(516.0, k, 900.0)] for k in (1.0, 2.0, 6.0)]
    tops = [[HoldOffset(800.0, 1.0, 900.0)]] * 2
    assert usual_offsets(anneals + tops) == {(400.0, 600.0): 2.0}
