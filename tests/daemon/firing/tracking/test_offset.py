"""How the probe reads against the plan: what this firing shows, else what past ones did, else nothing."""

from __future__ import annotations

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.tracking.offset import Offset

PARTS = planned_parts(Plan("Two holds", "C", (
    Step(300.0, 600.0, 1800.0), Step(300.0, 800.0, 900.0), Step(None, 500.0, 3600.0), Step(60.0, 400.0))))
LOW, TOP, ANNEAL = 1, 3, 5
EARLIER = {(400.0, 600.0): -8.0, (600.0, 720.0): -9.0, (720.0, 2000.0): -12.0}


def hold(index, mean_c, minutes=30.0, rate=0.0, **more):
    return Part(index, PARTS[index].step, "hold", 0.0, 60.0 * minutes, rate, mean_c, **more)


def offset(earlier=None, *, sure=False):
    return Offset(PARTS, earlier or {}, is_owner_sure=sure)


@pytest.mark.parametrize(("found", "learned"), [
    ([], None),
    ([hold(LOW, 603.0)], 3.0),
    ([hold(LOW, 603.0, 30.0), hold(ANNEAL, 494.0, 60.0)], (3.0 * 30 - 6.0 * 60) / 90),
    ([hold(LOW, 603.0), hold(TOP, 805.0, 9.0)], 3.0),  # under ten minutes
    ([hold(LOW, 603.0), hold(TOP, 805.0, 10.0)], (3.0 * 30 + 5.0 * 10) / 40),
    ([hold(LOW, 629.0)], 29.0),
    ([hold(LOW, 631.0)], None),  # 31 K is no offset
    ([hold(LOW, 581.0)], -19.0),
    ([hold(LOW, 579.0)], None),  # 21 K too low may be a kiln too cold
    ([hold(LOW, 603.0, rate=11.0)], None),  # moved by 5.5 K in its half hour
    ([hold(LOW, 603.0, rate=9.0)], 3.0),
    ([Part(0, 1, "ramp", 0.0, 6000.0, 300.0, 300.0)], None),
])
def test_the_settled_holds_are_averaged_by_their_length(found, learned):
    here = offset()
    here.learn(tuple(found), 9000.0)
    assert here.learned_k == (learned if learned is None else pytest.approx(learned))


def test_a_hold_under_way_teaches_up_to_now():
    here = offset()
    going = Part(LOW, 1, "hold", 1000.0, None, 0.0, 603.0)
    assert not here.learn((going,), 1590.0)
    assert here.learn((going,), 1610.0)
    assert here.learned_k == 3.0


def test_a_hold_under_an_open_lid_shows_only_what_it_had_shown_before():
    here = offset()
    going = Part(LOW, 1, "hold", 1000.0, None, 0.0, 603.0)
    here.learn((going,), 2000.0)
    dipped = Part(LOW, 1, "hold", 1000.0, None, 0.0, 585.0)  # an open lid drew the mean down
    assert not here.learn((dipped,), 2400.0, 2300.0)
    assert here.learned_k == 3.0
    assert offset().learn((dipped,), 2400.0, 900.0)  # the lid was shut before the hold began


def test_it_says_whether_it_changed():
    here = offset()
    assert [here.learn(found, 9000.0) for found in (
        (), (hold(LOW, 603.0),), (hold(LOW, 603.0),), (hold(LOW, 604.0),), ())] == [False, True, False, True, False]
    assert here.learned_k is None


@pytest.mark.parametrize(("earlier", "sure", "expected"), [
    ({}, False, None), ({}, True, 0.0), (EARLIER, False, -9.0), (EARLIER, True, -9.0),
])
def test_before_any_reading_the_middle_of_past_firings_is_expected(earlier, sure, expected):
    assert offset(earlier, sure=sure).expected_c == expected


@pytest.mark.parametrize(("earlier", "sure", "at_516"), [
    ({}, False, (0.0, False)), ({}, True, (0.0, False)),
    (EARLIER, False, (-8.0, True)), (EARLIER, True, (-8.0, True)),
])
def test_until_a_hold_is_seen_past_firings_tell_and_then_this_one_does(earlier, sure, at_516):
    here = offset(earlier, sure=sure)
    assert here.at(516.0) == at_516
    here.learn((hold(LOW, 603.0),), 9000.0)
    assert here.at(516.0) == (3.0, True)


def test_elsewhere_leaves_one_part_out():
    here = offset(EARLIER)
    assert here.elsewhere(ANNEAL, 516.0) == -8.0
    here.learn((hold(LOW, 603.0, 30.0), hold(TOP, 806.0, 15.0), hold(ANNEAL, 440.0 + 50.0, 60.0)), 9000.0)
    assert here.elsewhere(ANNEAL, 516.0) == pytest.approx((3.0 * 30 + 6.0 * 15) / 45)
    assert here.elsewhere(LOW, 516.0) == pytest.approx((6.0 * 15 - 10.0 * 60) / 75)
    alone = offset()
    alone.learn((hold(ANNEAL, 490.0),), 9000.0)
    assert alone.elsewhere(ANNEAL, 516.0) is None
    assert alone.elsewhere(LOW, 516.0) == -10.0
    assert offset(sure=True).elsewhere(LOW, 516.0) is None
