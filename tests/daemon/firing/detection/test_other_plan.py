"""Another plan than the chosen one, told from segments made by hand.

Chosen is FUSE: 220 °C/h to 620, on to 670 held 30 min, 250 °C/h to 800 held 10 min, 516 held 60 min. SLUMP goes at
150 °C/h to 650, held 15 min, and to 516, held 45 min.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.detection.other_plan import PlanComparison
from daemon.firing.plan.misread import read_as
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.tracking.segments import Segment
from daemon.glass.materials import FAMILIES

FUSE = Plan("Fuse", "C", (
    Step(220.0, 620.0), Step(50.0, 670.0, 1800.0), Step(250.0, 800.0, 600.0), Step(None, 516.0, 3600.0),
    Step(80.0, 430.0), Step(None, 40.0)))
SLUMP = Plan("Slump", "C", (
    Step(150.0, 650.0, 900.0), Step(None, 516.0, 2700.0), Step(80.0, 430.0), Step(None, 40.0)))
GLASS = FAMILIES["90"]


def ran(*legs, from_c=20.0, still=False):
    """Return segments: a leg is (°C, °C/h) for a ramp and (seconds,) for a hold; ``still``, the last goes on."""
    t_s, here_c, found = 0.0, from_c, []
    for leg in legs:
        to_c = here_c if len(leg) == 1 else leg[0]
        length_s = leg[0] if len(leg) == 1 else abs(to_c - here_c) / leg[1] * 3600
        found.append(Segment(t_s, t_s + length_s, here_c, to_c, (here_c + to_c) / 2, t_s + length_s))
        t_s, here_c = t_s + length_s, to_c
    if still:
        found[-1] = replace(found[-1], end_s=None)
    return tuple(found)


def compared(segments, others=(SLUMP,), *, offset_k=None, first_c=20.0, plan=FUSE):
    comparison = PlanComparison(plan, others, GLASS)
    comparison.see(segments, first_c, offset_k)
    return comparison


def test_a_slump_in_place_of_the_fuse_is_told_by_its_first_hold():
    found = compared(ran((650.0, 150.0), (900.0,), (600.0, 400.0), still=True))
    better = found.better
    assert (better.other.name, better.other.plan, better.other.read, better.is_sure) == ("Slump", SLUMP, None, True)
    [(stop, asked_c, step)] = better.close
    assert (stop.level_c, asked_c, step) == (650.0, 650.0, 0)
    assert found.since_s == stop.since_s == pytest.approx(630.0 / 150.0 * 3600)
    assert found.explains_now


def test_the_chosen_plan_is_no_other_even_where_it_is_stored_twice():
    legs = (620.0, 220.0), (670.0, 50.0), (1800.0,), (800.0, 250.0), (600.0,), (516.0, 500.0), (3600.0,)
    for seen in range(1, len(legs) + 1):
        found = compared(ran(*legs[:seen], still=True), (SLUMP, replace(FUSE, title="Copy")))
        assert found.better is None
        assert not found.explains_now


def test_before_the_kiln_stops_nothing_is_known():
    assert compared(ran((650.0, 150.0), still=True)).better is None


def lone(to_c=640.0, rate=150.0, hold_s=900.0, *, asked_c=640.0, asked_rate=150.0, asked_s=900.0, still=False,
         **fields):
    """Return what one stop says for a plan that asks for one stop, and neither at a level of FUSE."""
    other = Plan("Other", "C", (Step(asked_rate, asked_c, asked_s), Step(80.0, 40.0)))
    return compared(ran((to_c, rate), (hold_s,), still=still), (other,), **fields).better


@pytest.mark.parametrize(("ran_as", "is_told"), [
    ({"still": True}, True),  # by its rate
    ({"still": True, "rate": 158.0}, True),  # 5 % off
    ({"still": True, "rate": 162.0}, False),  # 8 %
    ({"still": True, "asked_rate": None}, False),
    ({"rate": 162.0}, True),  # by its length
    ({"rate": 162.0, "hold_s": 1040.0}, True),  # 140 s off
    ({"rate": 162.0, "hold_s": 1060.0}, False),
    ({"rate": 162.0, "hold_s": 3200.0, "asked_s": 3600.0}, True),  # 11 %
    ({"rate": 162.0, "hold_s": 2900.0, "asked_s": 3600.0}, False),  # 19 %
    ({"rate": 162.0, "hold_s": 500.0, "asked_s": 500.0}, True),
    ({"rate": 162.0, "hold_s": 470.0, "asked_s": 470.0}, False),  # too short to be compared
    ({"still": True, "rate": 220.0, "asked_rate": 220.0}, False),  # the chosen plan's rate too
    ({"still": True, "rate": 240.0, "asked_rate": 240.0}, False),  # and 9 % from that
    ({"still": True, "rate": 300.0, "asked_rate": 300.0}, True),
    ({"still": True, "rate": 220.0, "asked_rate": 220.0, "to_c": 830.0, "asked_c": 830.0}, True),  # by its height
    ({"still": True, "rate": 220.0, "asked_rate": 220.0, "to_c": 822.0, "asked_c": 822.0}, False),
    ({"still": True, "rate": 220.0, "asked_rate": 220.0, "to_c": 840.0, "asked_c": 830.0, "offset_k": 20.0}, False),
])
def test_one_stop_alone_needs_something_else_that_speaks_for_it(ran_as, is_told):
    assert (lone(**ran_as) is not None) is is_told


@pytest.mark.parametrize(("off_k", "is_sure"), [(0.0, True), (11.0, False), (13.0, None)])
def test_a_stop_off_its_level_says_less_and_beyond_twelve_kelvins_nothing(off_k, is_sure):
    # A stop without a plan costs 6.5 nats, its rate says 4 more. Off by 11 K, 4 K of it in common, it costs
    # (7 / 4)² / 2 + (4 / 3)² / 2 = 2.4 nats: 8.1 remain, less than 9 and more than 7.
    better = lone(640.0 + off_k, still=True, offset_k=0.0)
    assert (better.is_sure if better else None) is is_sure


def test_a_known_difference_is_taken_off():
    assert lone(655.0, still=True, offset_k=15.0).is_sure
    assert lone(655.0, still=True, offset_k=0.0) is None


TWO = Plan("Two", "C", (Step(220.0, 300.0, 1200.0), Step(220.0, 450.0, 1200.0), Step(80.0, 40.0)))


def test_two_stops_need_nothing_else_and_one_that_fits_neither_is_one_too_many():
    two = (300.0, 220.0), (2000.0,), (450.0, 220.0), (2000.0,)
    better = compared(ran(*two, still=True), (TWO,)).better
    assert (better.is_sure, [asked for _, asked, _ in better.close]) == (True, [300.0, 450.0])
    assert compared(ran(*two, (560.0, 220.0), (2000.0,), still=True), (TWO,)).better is None


def test_figures_taken_for_the_other_unit_and_a_probe_of_another_type_need_no_stored_plan():
    def as_f(temp_c):
        return (temp_c - 32) / 1.8
    unit = compared(ran((as_f(670), 150.0), (1800.0,), (as_f(800), 140.0), (600.0,), still=True), ()).better
    assert (unit.other.name, unit.other.read.unit, unit.other.read.types) == ("", "F", None)
    assert [round(asked) for _, asked, _ in unit.close] == [354, 427]
    low = [read_as(temp_c, "N", "K") for temp_c in (670.0, 800.0)]
    types = compared(ran((low[0], 180.0), (1800.0,), (low[1], 200.0), (600.0,), still=True), ()).better
    assert types.other.read.types == ("N", "K")


@pytest.mark.parametrize("share", [0.97, 1.03])
def test_a_probe_of_another_type_may_be_off_by_a_share_of_the_temperature_too(share):
    """At 700 to 900 °C three hundredths are 21 to 28 K, more than the usual difference that all stops share."""
    first, top, anneal = (share * read_as(temp_c, "K", "N") for temp_c in (670.0, 800.0, 516.0))
    legs = (first, 200.0), (1800.0,), (top, 250.0), (600.0,), (anneal, 400.0), (3600.0,)
    found = compared(ran(*legs, still=True), ())
    assert (found.better.other.read.types, found.better.is_sure) == (("K", "N"), True)


def test_a_scale_that_is_wrong_explains_the_rest_of_the_night_whatever_is_read():
    first, top, anneal = (read_as(temp_c, "K", "N") for temp_c in (670.0, 800.0, 516.0))
    legs = (first, 200.0), (1800.0,), (top, 250.0), (600.0,), (anneal, 400.0), (3600.0,)
    comparison = PlanComparison(FUSE, (), GLASS)
    comparison.see(ran(*legs, still=True), 20.0, None)
    assert comparison.explains_now
    # A climb after the anneal: no plan asks for it, and a stored one would no longer explain it.
    comparison.see(ran(*legs, (660.0, 100.0), still=True), 20.0, None)
    assert comparison.explains_now


def test_the_same_stops_are_not_compared_again_and_a_new_one_is():
    comparison = PlanComparison(FUSE, (SLUMP,), GLASS)
    slump = ran((650.0, 150.0), (900.0,), (600.0, 400.0), still=True)
    comparison.see(slump, 20.0, None)
    first = comparison.better
    assert first is not None
    comparison.see(slump, 20.0, None)
    assert comparison.better is first
    comparison.see(ran((650.0, 150.0), still=True), 20.0, None)  # for a look the hold is not seen as one
    assert comparison.better is first
    comparison.see(ran((670.0, 50.0), (1800.0,), (800.0, 250.0), (600.0,), still=True), 20.0, None)
    assert comparison.better is None


def test_a_hold_that_is_being_left_is_no_turn_at_which_nothing_was_held():
    plan = Plan("Two holds", "C", (Step(150.0, 640.0, 1500.0), Step(150.0, 760.0, 1500.0), Step(None, 516.0, 3600.0),
                                   Step(80.0, 40.0)))
    first, top = (read_as(temp_c, "K", "N") for temp_c in (640.0, 760.0))
    comparison = PlanComparison(plan, (), GLASS)
    held = ran((first, 150.0), (1500.0,), (top, 150.0), (1500.0,), still=True)
    comparison.see(held, 20.0, None)
    known = comparison.better
    assert known is not None
    assert known.is_sure
    # The first minutes of the fall: its change point is not found yet, and the hold's segment goes on into it.
    leaving = (*held[:-1], replace(held[-1], to_c=top - 40.0, until_s=held[-1].until_s + 240.0))
    assert leaving[-1].way == -1
    comparison.see(leaving, 20.0, None)
    assert comparison.better is known
    comparison.see(ran((first, 150.0), (1500.0,), (top, 150.0), (1500.0,), (top - 100.0, 400.0), still=True), 20.0,
                   None)
    assert comparison.better.is_sure
    assert comparison.better.close[-1][0].done_s == pytest.approx(1500.0)


STEPS = Plan("Steps", "C", (Step(150.0, 640.0, 900.0), Step(150.0, 760.0, 900.0), Step(None, 516.0, 2700.0),
                            Step(80.0, 430.0), Step(None, 40.0)))
END = Plan("End", "C", (Step(150.0, 640.0, 900.0),))


@pytest.mark.parametrize(("plan", "then", "offset_k", "explains"), [
    (STEPS, ((700.0, 150.0),), None, True),
    (STEPS, ((780.0, 150.0),), None, True),
    (STEPS, ((790.0, 150.0),), None, False),  # past its top by more than 25 K
    (STEPS, ((790.0, 150.0),), 8.0, True),
    (STEPS, ((600.0, 150.0),), None, False),  # it would climb
    (SLUMP, ((640.0, 150.0), (300.0,)), None, True),  # still at the level of its stop
    (SLUMP, ((600.0, 300.0), (300.0,)), None, False),
    (SLUMP, ((700.0, 300.0),), None, False),  # it would fall
    (SLUMP, ((520.0, 300.0),), None, True),  # freely to 516 °C
    (SLUMP, ((470.0, 100.0),), None, True),  # from there on 80 °C/h, and 1.4 times that is 112
    (SLUMP, ((470.0, 125.0),), None, False),
    (SLUMP, ((530.0, 125.0),), None, True),  # above the annealing range
    (SLUMP, ((430.0, 125.0),), None, True),  # and below it
    (END, ((600.0, 300.0),), None, True),  # it is over, and the power off
    (END, ((700.0, 300.0),), None, False),
])
def test_it_says_whether_the_other_plan_explains_what_the_kiln_does_now(plan, then, offset_k, explains):
    level_c = plan.steps[0].to_c + (offset_k or 0.0)
    found = compared(ran((level_c, 150.0), (900.0,), *then, still=True), (plan,), offset_k=offset_k)
    assert found.better is not None
    assert found.explains_now is explains


def test_a_doubtful_plan_explains_nothing():
    other = Plan("Other", "C", (Step(150.0, 640.0, 900.0), Step(80.0, 40.0)))
    found = compared(ran((651.0, 150.0), (800.0,), still=True), (other,), offset_k=0.0)
    assert not found.better.is_sure
    assert not found.explains_now
