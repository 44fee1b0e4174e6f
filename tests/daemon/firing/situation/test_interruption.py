"""Where a firing broke off: told by a finding, or seen over a gap in the readings."""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation import interruption
from daemon.firing.situation.view import Interruption

CLIMB, SQUEEZE, CLIMB_ON, TOP, FALL, ANNEAL, COOLING, OFF = range(8)
"""Parts of the plan of the fixture ``view_of``: holds of 30, 10 and 60 min at 600, 800 and 516 °C."""


def beyond_gap(view_of, before, after, state, *, part=None, memory=None, **more):
    """Return what stands after the last of ``after`` [(s, °C)], seen reading by reading, a gap before the first."""
    memory = memory or interruption.InterruptionMemory()
    found = () if part is None else (part,)
    stands = memory.see(view_of(before, state, found=found, **more))
    for i in range(1, len(after) + 1):
        view = view_of([*before, *after[:i]], state, found=found, **more)
        view.trail.unbroken_from_s = after[0][0]
        stands = memory.see(view)
    return stands


# --- a gap -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("after_c", "is_break"), [(695.0, False), (686.0, False), (684.0, True), (400.0, True)])
def test_a_climb_that_comes_back_fifteen_kelvin_lower_broke_off(view_of, along, after_c, is_break):
    # Half way from 600 to 800 °C, 600 s of gap: the plan only climbs in that time.
    climbed = along((0.0, 600.0), (1200.0, 700.0))
    found = beyond_gap(view_of, climbed, [(1800.0, after_c)], CLIMB_ON + 1, part=Part(CLIMB_ON, 2, "ramp", 0.0))
    assert found == (Interruption(1200.0, CLIMB_ON, 0.0, 700.0, back_s=1800.0) if is_break else None)


def test_a_climb_that_lost_nothing_in_a_gap_and_goes_on_broke_off_nowhere(view_of, along):
    climbed, on = along((0.0, 600.0), (1200.0, 700.0)), along((1800.0, 690.0), (2400.0, 740.0))
    assert beyond_gap(view_of, climbed, on, CLIMB_ON + 1, part=Part(CLIMB_ON, 2, "ramp", 0.0)) is None


def test_a_hold_that_broke_off_says_how_much_of_it_was_held(view_of, along):
    held = along((0.0, 516.0), (1500.0, 516.0))
    found = beyond_gap(view_of, held, [(2100.0, 450.0)], ANNEAL + 1, part=Part(ANNEAL, 3, "hold", 300.0))
    assert found == Interruption(1500.0, ANNEAL, 1200.0, 516.0, back_s=2100.0)


def test_a_climb_that_stood_at_its_target_broke_off_in_the_hold(view_of, along):
    # The follower still saw the climb; the readings stood within 8 K of 600 °C for 496 s, of which the climb itself,
    # at its planned 300 °C/h, takes 96 s.
    stood = along((0.0, 500.0), (1200.0, 600.0), (1600.0, 600.0))
    found = beyond_gap(view_of, stood, [(2200.0, 500.0)], CLIMB + 1, part=Part(CLIMB, 1, "ramp", 0.0))
    assert (found.index, found.t_s, found.from_c) == (SQUEEZE, 1600.0, 600.0)
    assert found.held_s == pytest.approx(400.0, abs=10.0)
    short = along((0.0, 491.0), (1200.0, 591.0), (1600.0, 591.0))  # 9 K short: not there
    assert beyond_gap(view_of, short, [(2200.0, 500.0)], CLIMB + 1, part=Part(CLIMB, 1, "ramp", 0.0)).index == CLIMB


def test_readings_that_run_on_are_no_break(view_of, along):
    held = along((0.0, 516.0), (1500.0, 516.0))
    memory = interruption.InterruptionMemory()
    for i in range(1, 6):
        assert memory.see(view_of([*held, (1500.0 + 10.0 * i, 300.0)], ANNEAL + 1,
                                  found=(Part(ANNEAL, 3, "hold", 300.0),))) is None


def test_before_the_plan_nothing_breaks_off(view_of):
    assert beyond_gap(view_of, [(0.0, 500.0)], [(900.0, 100.0)], 0) is None


@pytest.mark.parametrize(("hold_left_s", "away_s", "after_c", "is_break"), [
    # The anneal at 516 °C is left for a cooling at 60 °C/h. A plan may have gone on by a fifth faster and 600 s more.
    # Held to its end: 3600 s of gap count 4920 s, which are 82 K: 434 °C, and 15 K below that it was without power.
    (0.0, 3600.0, 420.0, False), (0.0, 3600.0, 418.0, True),
    # 1800 s of the hold still to run: 3120 s of cooling, 52 K.
    (1800.0, 3600.0, 450.0, False), (1800.0, 3600.0, 448.0, True),
    # All of the hold still to run, in a gap of 1800 s: 2760 s count, and no cooling is due.
    (3600.0, 1800.0, 502.0, False), (3600.0, 1800.0, 500.0, True),
])
def test_a_fall_in_a_gap_that_the_plan_explains_is_none(view_of, along, hold_left_s, away_s, after_c, is_break):
    held_s = 3600.0 - hold_left_s
    held = along((0.0, 516.0), (4000.0, 516.0))
    found = beyond_gap(view_of, held, [(4000.0 + away_s, after_c)], ANNEAL + 1,
                       part=Part(ANNEAL, 3, "hold", 4000.0 - held_s))
    assert (found is not None) is is_break


def test_the_usual_difference_counts_in_what_the_plan_may_have_brought(view_of, along):
    # An hour of free fall from the top ends in the anneal, which a probe that reads 10 K high shows at 526 °C.
    top = along((0.0, 810.0), (1000.0, 810.0))
    for after_c, is_break in ((512.0, False), (510.0, True)):
        found = beyond_gap(
            view_of, top, [(4600.0, after_c)], TOP + 1, part=Part(TOP, 2, "hold", 400.0), offset_k=10.0)
        assert (found is not None) is is_break, after_c


def test_the_usual_difference_counts_once_in_a_planned_fall(view_of, along):
    held = along((0.0, 526.0), (4000.0, 526.0))  # as in the table above, 10 K higher: 429 °C
    assert beyond_gap(view_of, held, [(7600.0, 430.0)], ANNEAL + 1, part=Part(ANNEAL, 3, "hold", 400.0),
                      offset_k=10.0) is None


def test_a_free_fall_in_a_gap_may_go_as_far_as_no_closed_kiln_goes_faster(view_of, along):
    # From 800 °C at the end of the top, time constant 3600 s towards 20 °C, but no further than the anneal.
    top = along((0.0, 800.0), (1000.0, 800.0))
    part = Part(TOP, 2, "hold", 400.0)
    lowest_c = 20.0 + 780.0 * exp(-(1.2 * 600.0 + 600.0) / 3600.0)
    for after_c, is_break in ((lowest_c - 14.0, False), (lowest_c - 16.0, True)):
        found = beyond_gap(view_of, top, [(1600.0, after_c)], TOP + 1, part=part)
        assert (found is not None) is is_break, after_c
    # An hour of gap could lead far below 516 °C, but there the anneal begins.
    for after_c, is_break in ((502.0, False), (500.0, True)):
        found = beyond_gap(view_of, top, [(4600.0, after_c)], TOP + 1, part=part)
        assert (found is not None) is is_break, after_c


def test_a_climb_half_done_has_half_of_its_time_to_go(view_of, along):
    # 700 of 600 to 800 °C at 300 °C/h: 1200 s to the top, 600 s of hold, then it may fall freely.
    climbed = along((0.0, 600.0), (1200.0, 700.0))
    part = Part(CLIMB_ON, 2, "ramp", 0.0)
    assert beyond_gap(view_of, climbed, [(1800.0, 684.0)], CLIMB_ON + 1, part=part) is not None
    # A gap of 1700 s counts 2640 s: 840 s of free fall from 700 °C, the last temperature.
    lowest_c = 20.0 + 680.0 * exp(-840.0 / 3600.0)
    for after_c, is_break in ((lowest_c - 14.0, False), (lowest_c - 16.0, True)):
        found = beyond_gap(view_of, climbed, [(2900.0, after_c)], CLIMB_ON + 1, part=part)
        assert (found is not None) is is_break, after_c


def test_after_the_plans_end_the_power_goes_off(view_of, along):
    plan = Plan("short", "C", (Step(300.0, 600.0, 600.0),))
    held = along((0.0, 600.0), (1000.0, 600.0))
    part = Part(1, 1, "hold", 400.0)
    lowest_c = 20.0 + 580.0 * exp(-1320.0 / 3600.0)
    for after_c, is_break in ((lowest_c - 14.0, False), (lowest_c - 16.0, True)):
        found = beyond_gap(view_of, held, [(1600.0, after_c)], 2, part=part, plan=plan)
        assert (found is not None) is is_break, after_c


# --- a fall in a gap that the plan explains, and a climb after it --------------------------------------------


def climbing_back(view_of, along, by_k, *, after_s=600.0, spikes=0):
    """Return what stands after a fall of 40 K in a gap, and a climb of ``by_k`` from there within ``after_s``."""
    held = along((0.0, 516.0), (4000.0, 516.0))
    back = along((7600.0, 476.0), (7600.0 + after_s, 476.0 + by_k))
    flat = along((7610.0 + after_s, 476.0 + by_k), (7800.0 + after_s, 476.0 + by_k))
    readings = [*back, *flat]
    for i in range(spikes):
        readings[5 + 3 * i] = (readings[5 + 3 * i][0], 400.0)
    return beyond_gap(view_of, held, readings, ANNEAL + 1, part=Part(ANNEAL, 3, "hold", 400.0))


@pytest.mark.parametrize(("by_k", "is_break"), [(0.0, False), (23.0, False), (29.0, True)])
def test_a_kiln_that_climbs_after_a_gap_was_without_power_in_it(view_of, along, by_k, is_break):
    # 25 K above the lowest but four readings, in the mean of two minutes.
    found = climbing_back(view_of, along, by_k)
    assert found == (Interruption(4000.0, ANNEAL, 3600.0, 516.0, back_s=7600.0) if is_break else None)


@pytest.mark.parametrize("spikes", [4, 5])
def test_some_low_readings_are_no_depth_the_kiln_was_in(view_of, along, spikes):
    assert climbing_back(view_of, along, 10.0, spikes=spikes) is None


@pytest.mark.parametrize(("then_k", "is_break"), [(10.0, False), (40.0, True)])
def test_air_that_comes_back_as_a_vent_is_shut_is_no_climb(view_of, along, then_k, is_break):
    """After a gap a vent stands open for three minutes; shut, the air rises by 35 K within a minute."""
    held = along((0.0, 516.0), (4000.0, 516.0))
    readings = along((7600.0, 440.0), (7780.0, 440.0), (7840.0, 475.0), (8600.0, 475.0 + then_k),
                     (8800.0, 475.0 + then_k))
    found = beyond_gap(view_of, held, readings, ANNEAL + 1, part=Part(ANNEAL, 3, "hold", 400.0))
    assert (found is not None) is is_break


@pytest.mark.parametrize(("after_s", "is_break"), [(1500.0, True), (2400.0, False)])
def test_a_climb_counts_within_half_an_hour_of_the_gap(view_of, along, after_s, is_break):
    # 30 K: passed at five sixths of the way, after 1250 s or after 2000 s.
    assert (climbing_back(view_of, along, 30.0, after_s=after_s) is not None) is is_break


# --- what the watches find -------------------------------------------------------------------------------


def broke_off(index, t_s):
    return Interruption(t_s, index, 0.0, 500.0)


def noted(view_of, *found, t_s=2000.0, memory=None):
    memory = memory or interruption.InterruptionMemory()
    view = view_of([(0.0, 520.0), (t_s, 480.0)], ANNEAL + 1)
    memory.note(found, view)
    return memory.see(view)


def test_what_a_watch_finds_is_remembered_as_it_was_found(view_of):
    assert noted(view_of) is None
    assert noted(view_of, broke_off(ANNEAL, 1000.0)) == broke_off(ANNEAL, 1000.0)


@pytest.mark.parametrize(("first", "second", "second_at_s", "stands"), [
    (ANNEAL, CLIMB, 2100.0, ANNEAL),  # the first one stands
    (COOLING, ANNEAL, 2100.0, ANNEAL),  # a hold says more of where it broke off than the fall after it
    (COOLING, OFF, 2100.0, COOLING),
    (ANNEAL, COOLING, 2100.0, ANNEAL),
    (ANNEAL, CLIMB, 2000.0 + 1801.0, CLIMB),  # after half an hour it is another
    (ANNEAL, CLIMB, 2000.0 + 1799.0, ANNEAL),
])
def test_trouble_within_half_an_hour_is_one_break_and_the_sharper_one_stands(
        view_of, first, second, second_at_s, stands):
    memory = interruption.InterruptionMemory()
    noted(view_of, broke_off(first, 1000.0), memory=memory)
    assert noted(view_of, broke_off(second, 1500.0), t_s=second_at_s, memory=memory).index == stands


def test_a_break_is_forgotten_after_a_day(view_of):
    memory = interruption.InterruptionMemory()
    noted(view_of, broke_off(ANNEAL, 1000.0), memory=memory)
    assert memory.see(view_of([(1000.0 + 86_399.0, 20.0)], ANNEAL + 1)) is not None
    assert memory.see(view_of([(1000.0 + 86_401.0, 20.0)], ANNEAL + 1)) is None


@pytest.mark.parametrize(("index", "now_c", "stands"), [
    (CLIMB, 324.0, True), (CLIMB, 326.0, False),  # the climb went on to 25 K above where it broke off
    (CLIMB + 1, 324.0, True), (CLIMB + 1, 326.0, False),  # so it does after a hold that it climbs on from
    (TOP, 326.0, True),  # a top is not made good by heat alone
])
def test_a_firing_that_went_on_above_its_break_has_made_it_good(view_of, index, now_c, stands):
    memory = interruption.InterruptionMemory()
    memory.note([Interruption(0.0, index, 0.0, 300.0)], view_of([(0.0, 280.0)], index + 1))
    assert (memory.see(view_of([(3600.0, now_c)], index + 1)) is not None) is stands


def test_the_plan_of_these_tests_has_the_parts_they_name(view_of):
    parts = planned_parts(view_of([(0.0, 20.0)], 0).plan)
    assert [(p.part, p.to_c) for p in parts] == [
        ("ramp", 600.0), ("hold", 600.0), ("ramp", 800.0), ("hold", 800.0), ("ramp", 516.0), ("hold", 516.0),
        ("ramp", 400.0), ("ramp", 50.0)]
