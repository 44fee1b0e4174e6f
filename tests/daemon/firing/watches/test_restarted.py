"""Power that is back, on views made by hand.

Parts of the plan of conftest: 0 climbs to 620 °C, 1 on to 670 °C, 2 holds there, 3 climbs to 800 °C, 4 is the top, 5
falls freely to 516 °C, 6 anneals, 7 and 8 cool.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.situation.view import Interruption
from daemon.firing.speaker import Speaker, Undone
from daemon.firing.watches.restarted import KIND, Restarted, RestartedWatch, restarted

FIRST, SQUEEZE, TO_TOP, TOP, FALL, ANNEAL, COOLING = 0, 2, 3, 4, 5, 6, 7
RUN_TO_TOP = ((FIRST, -14400.0, -7200.0), (SQUEEZE, -7200.0, -3600.0), (TO_TOP, -3600.0, -1800.0),
              (TOP, -1800.0, -1200.0))


@pytest.fixture
def kiln(view_of, leg_of):
    """Return a function: the view after straight lines between corners (minute, °C), the parts ``found`` so far."""
    def view(*corners, found, ripple_k=0.2, **fields):
        readings = []
        for (from_min, from_c), (to_min, to_c) in pairwise(corners):
            leg = leg_of(from_c, to_c, to_min - from_min, from_s=from_min * 60, ripple_k=ripple_k)
            readings = readings[:-1] + leg
        return view_of(readings, found=list(found), **fields)
    return view


def rank(found):
    return found.rank if found else None


# Readings and heat were both away.

def dark(kiln, from_c=700.0, index=FALL, back_min=0.0, minutes=5.0, temp_c=600.0, rate=-120.0, **fields):
    """Return what is found some minutes after the readings are back at ``back_min``."""
    corners = (back_min, temp_c - rate * minutes / 60), (back_min + minutes, temp_c)
    broken = Interruption(-1800.0, index, 900.0, from_c, back_s=back_min * 60)
    return restarted(kiln(*corners, found=[*RUN_TO_TOP, (FALL, -1200.0)], broken=broken, **fields))


def test_a_dark_house_is_told_with_how_far_and_how_fast_it_fell(kiln):
    found = dark(kiln, offset_k=4.0)
    facts = found.facts
    assert (found.kind, found.rank, found.since_s, found.step) == (KIND, Rank.WAKE, 0.0, 4)
    assert (facts.from_c, facts.anneal_c, facts.dark, facts.beyond) == (700.0, 516.0, True, False)
    assert facts.temp_c == pytest.approx(600.0, abs=0.2)
    assert facts.lowest_c == pytest.approx(600.0, abs=0.5)
    assert facts.fall_c_per_h == pytest.approx(120.0, abs=5.0)
    assert facts.undone == Undone(FALL, 900.0, facts.temp_c - 4.0)


def test_the_lowest_is_that_since_the_readings_are_back(kiln):
    broken = Interruption(-1800.0, FALL, 0.0, 700.0, back_s=120.0)
    view = kiln((0, 500.0), (2, 590.0), (4, 580.0), (8, 600.0), found=[*RUN_TO_TOP, (FALL, -1200.0)], broken=broken)
    found = restarted(view)
    assert found.facts.lowest_c == pytest.approx(580.0, abs=1.0)
    assert found.facts.fall_c_per_h == 0.0  # it climbs


def test_a_plan_without_an_anneal_has_none_to_tell(kiln):
    assert dark(kiln, anneal=None).facts.anneal_c is None


@pytest.mark.parametrize(("from_c", "index", "told"), [
    (500.0, FIRST, Rank.LOOK),  # on a climb, below 540 °C: nothing is lost
    (545.0, FIRST, Rank.WAKE),
    (500.0, FALL, Rank.WAKE),
])
def test_it_wakes_unless_it_was_on_a_cool_climb(kiln, from_c, index, told):
    assert rank(dark(kiln, from_c, index, temp_c=450.0)) is told


def test_a_dark_house_is_told_before_enough_readings_are_back_for_a_slope(kiln):
    view = kiln((0, 600.0), (0.5, 599.0), found=[*RUN_TO_TOP, (FALL, -1200.0)], ripple_k=0.0,
                broken=Interruption(-1800.0, FALL, 0.0, 700.0, back_s=25.0))
    found = restarted(view)
    assert (found.facts.fall_c_per_h, found.facts.lowest_c) == (0.0, pytest.approx(599.0, abs=0.3))


def test_how_fast_it_falls_is_told_of_the_last_three_minutes(kiln):
    view = kiln((0, 700.0), (4, 600.0), (7.2, 590.4), found=[*RUN_TO_TOP, (FALL, -1200.0)], ripple_k=0.0,
                broken=Interruption(-1800.0, FALL, 0.0, 800.0, back_s=0.0))
    assert restarted(view).facts.fall_c_per_h == pytest.approx(180.0, abs=2.0)  # 9.6 K in 3.2 min


@pytest.mark.parametrize(("minutes", "is_told"), [(29.0, True), (31.0, False)])
def test_after_half_an_hour_it_is_known(kiln, minutes, is_told):
    assert (dark(kiln, minutes=minutes) is not None) is is_told


# It climbs back towards where it was interrupted.

def climbs_back(kiln, *, from_c=700.0, low_c=600.0, back_min=5.0, rate=300.0, index=TO_TOP, found=None, **fields):
    """Return what is found ``back_min`` after the lowest point, which lies 10 min after the interruption."""
    corners = (0, from_c), (10, low_c), (10 + back_min, low_c + rate * back_min / 60)
    broken = fields.pop("broken", Interruption(0.0, index, 120.0, from_c))
    return restarted(kiln(*corners, found=found or [*RUN_TO_TOP[:2], (TO_TOP, -3600.0)], broken=broken,
                           **{"resumed_s": 0.0, **fields}))


def test_a_climb_back_is_told_from_where_it_was_interrupted(kiln):
    found = climbs_back(kiln, offset_k=3.0)
    facts = found.facts
    assert (found.kind, found.rank, found.step) == (KIND, Rank.WAKE, 3)
    assert found.since_s == pytest.approx(600.0, abs=15.0)
    assert facts.temp_c == pytest.approx(625.0, abs=0.3)
    assert facts.lowest_c == pytest.approx(600.0, abs=1.5)
    assert (facts.from_c, facts.anneal_c, facts.dark, facts.beyond) == (700.0, 516.0, False, False)
    assert facts.undone == Undone(TO_TOP, 120.0, facts.temp_c - 3.0)


DIPPED = {"low_c": 652.0, "broken": Interruption(440.0, TO_TOP, 0.0, 700.0)}
"""A fall of 2.7 min, which has woken nobody yet, by less than a lid left ajar may cost."""


@pytest.mark.parametrize(("changed", "is_told"), [
    ({"low_c": 672.0}, False), ({"low_c": 668.0}, True),  # it must have lost 30 K
    (DIPPED, False), (DIPPED | {"back_min": 16.0, "rate": 60.0}, True),  # it may come back by then
    (DIPPED | {"back_min": 16.0, "rate": 158.0}, False),  # and it is: 694 of 700 °C
    (DIPPED | {"broken": Interruption(400.0, TO_TOP, 0.0, 700.0)}, True),  # a fall of three minutes is about to wake
    ({"back_min": 3.0, "rate": 220.0}, False), ({"back_min": 4.0, "rate": 220.0}, True),  # and climbed 12 K
    ({"back_min": 1.8, "rate": 600.0}, False), ({"back_min": 2.4, "rate": 600.0}, True),  # for two minutes
    ({"back_min": 36.0, "rate": 100.0}, True), ({"back_min": 39.0, "rate": 100.0}, False),  # 12 K lately
    ({"back_min": 22.0, "rate": 38.0}, True), ({"back_min": 22.0, "rate": 0.0}, False),  # however slowly
    ({"back_min": 18.0, "rate": 320.0}, True), ({"back_min": 20.2, "rate": 300.0}, False),  # past where it was
    ({"index": FALL}, False),  # it fell too fast, under power
    ({"index": SQUEEZE}, True), ({"index": 1}, True),  # a hold between there and here is no fall
    ({"resumed_s": 700.0}, True), ({"resumed_s": 840.0}, False),  # no slope of a minute, nor one across a gap
    ({"broken": Interruption(900.0, TO_TOP, 0.0, 700.0)}, False),  # at this very second
    ({"broken": None}, False),
    ({"broken": Interruption(0.0, TO_TOP, 0.0, 700.0, back_s=-3600.0)}, False),  # that was told long ago
    ({"kiln_c": 610.0}, True), ({"kiln_c": 630.0}, False),  # the air under a lid takes up what the bricks have
    ({"kiln_c": 690.0, "back_min": 14.0}, False), ({"kiln_c": 690.0, "back_min": 16.0}, True),  # in 15 min
])
def test_a_climb_back_is_told_where_it_is_one(kiln, changed, is_told):
    assert (climbs_back(kiln, **changed) is not None) is is_told


TWICE = """title = "Twice"
unit = "C"
step = [{ rate = 220, to = 800, hold_min = 10 }, { rate = "free", to = 600 }, { rate = 200, to = 700, hold_min = 10 },
        { rate = 80, to = 400 }]"""


def test_a_climb_that_the_plan_has_after_a_fall_is_its_own(kiln):
    # Parts: 0 climbs, 1 the top, 2 falls, 3 climbs again.
    broken = Interruption(0.0, 1, 120.0, 700.0)
    found = [(0, -7200.0, -600.0), (1, -600.0, 0.0), (2, 0.0, 600.0), (3, 600.0)]
    assert climbs_back(kiln, plan=TWICE, found=found, broken=broken) is None
    assert climbs_back(kiln, plan=TWICE, found=found[:2], broken=broken) is not None


def test_a_second_climb_that_broke_off_is_climbed_back(kiln):
    # The fall between the two climbs was over before.
    found = [(0, -7200.0, -3600.0), (1, -3600.0, -3000.0), (2, -3000.0, -600.0), (3, -600.0)]
    broken = Interruption(0.0, 3, 0.0, 690.0)
    assert climbs_back(kiln, plan=TWICE, from_c=690.0, found=found, broken=broken) is not None


def test_below_three_hundred_degrees_little_is_lost(kiln):
    assert rank(climbs_back(kiln, from_c=298.0, low_c=240.0, peak_c=298.0, index=SQUEEZE)) is Rank.LOOK
    assert rank(climbs_back(kiln, from_c=298.0, low_c=240.0, peak_c=302.0, index=SQUEEZE)) is Rank.WAKE


@pytest.mark.parametrize(("from_c", "told"), [(538.0, Rank.LOOK), (542.0, Rank.WAKE)])
def test_a_cool_climb_loses_nothing_by_beginning_again(kiln, from_c, told):
    assert rank(climbs_back(kiln, from_c=from_c, low_c=470.0, peak_c=from_c)) is told


@pytest.mark.parametrize(("peak_c", "told"), [(755.0, Rank.LOOK), (765.0, Rank.WAKE)])
def test_a_cool_climb_after_the_top_leads_to_the_top_again(kiln, peak_c, told):
    """The plan's top is 800 °C, and a probe reads a top 40 K too low at the most."""
    assert rank(climbs_back(kiln, from_c=530.0, low_c=470.0, peak_c=peak_c)) is told


# It climbs in an earlier part than it was in.

def again(kiln, *, from_c=790.0, low_c=600.0, minutes=6.0, rate=300.0, here=TO_TOP, before=TOP, **fields):
    """Return what is found some minutes after the kiln began to climb in part ``here``; it fell in ``before``."""
    corners = (0, from_c), (20, low_c), (20 + minutes, low_c + rate * minutes / 60)
    found = fields.pop("found", [(FIRST, -14400.0, -7200.0), (before, -600.0, 1200.0), (here, 1200.0)])
    return restarted(kiln(*corners, found=found, **fields))


def test_a_program_that_began_again_is_told_from_its_climb(kiln):
    found = again(kiln, offset_k=2.0)
    facts = found.facts
    assert (found.kind, found.rank, found.since_s, found.step) == (KIND, Rank.WAKE, 1200.0, 3)
    assert facts.from_c == pytest.approx(790.0, abs=0.5)
    assert facts.lowest_c == pytest.approx(600.0, abs=1.0)
    assert facts.temp_c == pytest.approx(630.0, abs=0.3)
    assert facts.undone == Undone(TOP, 1800.0, facts.temp_c - 2.0)
    assert (facts.dark, facts.beyond, facts.anneal_c) == (False, False, 516.0)


def test_the_lowest_is_that_of_the_last_five_minutes_before_it_and_the_greatest_height_that_of_an_hour(kiln):
    def found(start_min, top_s):
        return [(FIRST, -14400.0, -7200.0), (TOP, top_s, 60.0 * start_min), (TO_TOP, 60.0 * start_min)]
    low = restarted(kiln((0, 790.0), (11, 540.0), (14, 580.0), (20, 560.0), (26, 590.0), found=found(20, -600.0)))
    assert low.facts.lowest_c == pytest.approx(560.0, abs=1.0)
    corners = (0, 820.0), (5, 790.0), (70, 790.0), (90, 600.0), (96, 630.0)
    assert restarted(kiln(*corners, found=found(90, 0.0))).facts.from_c == pytest.approx(790.0, abs=0.5)
    assert restarted(kiln(*corners[:2], (50, 790.0), (58, 600.0), (64, 630.0), found=found(58, 0.0))
                      ).facts.from_c == pytest.approx(820.0, abs=0.5)


@pytest.mark.parametrize(("low_c", "peak_c", "told"), [
    (640.0, 665.0, Rank.LOOK),
    (638.0, 665.0, Rank.WAKE),  # 25 K and more are no controller's dip
    (640.0, 770.0, Rank.WAKE),  # within 40 K of the top: it may have been held
])
def test_a_dip_on_the_way_to_the_top_that_began_a_part_anew_wakes_nobody(kiln, low_c, peak_c, told):
    """It was at 664 °C, on its way to 800 °C as the follower saw it; the program reaches its top all the same."""
    corners = (0, 664.0), (2, low_c), (12, low_c + 40.0)
    view = kiln(*corners, found=[(FIRST, -7200.0, -600.0), (TO_TOP, -600.0, 120.0), (1, 120.0)], peak_c=peak_c)
    assert rank(restarted(view)) is told


def test_what_it_has_climbed_since_is_no_height_it_fell_from(kiln):
    found = [(FIRST, -7200.0, -600.0), (TO_TOP, -600.0, 120.0), (1, 120.0)]
    view = kiln((0, 664.0), (2, 640.0), (12, 690.0), found=found)
    assert restarted(view).facts.from_c == pytest.approx(664.0, abs=0.5)


def test_where_it_was_interrupted_is_told_if_that_is_known(kiln):
    facts = again(kiln, broken=Interruption(60.0, ANNEAL, 77.0, 795.0)).facts
    assert (facts.from_c, facts.undone.index, facts.undone.held_s) == (795.0, ANNEAL, 77.0)
    later = again(kiln, broken=Interruption(1260.0, ANNEAL, 77.0, 795.0))
    assert later.facts.undone.index == TOP  # that was after the climb began


@pytest.mark.parametrize(("changed", "is_told"), [
    ({"here": TO_TOP, "before": SQUEEZE}, False),  # onward
    ({"here": SQUEEZE, "before": TOP}, False),  # it holds
    ({"minutes": 36.0, "rate": 100.0}, True), ({"minutes": 38.0, "rate": 100.0}, False),  # lately: 12 K up by 7
    ({"minutes": 50.0, "rate": 20.0}, True), ({"minutes": 70.0, "rate": 20.0}, False),  # slowly
    ({"wander_k": 3.0}, False), ({"wander_k": 1.5}, True),  # surely: 300 °C/h are 30 K in the six minutes
    ({"found": [(TO_TOP, 1200.0)]}, False), ({"found": []}, False),
])
def test_it_climbs_in_an_earlier_part(kiln, changed, is_told):
    """By the parts alone: the plan has no top that it could have left."""
    assert (again(kiln, top=None, **changed) is not None) is is_told


@pytest.mark.parametrize(("changed", "is_told"), [
    ({}, True),
    ({"peak_c": 750.0, "first_c": 20.0}, False),  # it was never near its top, 800 °C
    ({"low_c": 725.0}, True), ({"low_c": 745.0}, False),  # 30 K below 760 °C, where a top was surely left
    ({"minutes": 1.9, "rate": 600.0}, False),  # for two minutes
    ({"kiln_c": 700.0}, False),  # the air under a lid that was shut
])
def test_a_second_climb_to_the_top_is_told_though_it_is_taken_for_the_first(kiln, changed, is_told):
    """Nothing was told of the fall, and the follower takes top, fall and climb for one long climb."""
    found = again(kiln, found=[(FIRST, -14400.0, -7200.0), (TO_TOP, -7200.0)], **changed)
    assert (found is not None) is is_told
    if found is not None:
        assert (found.rank, found.facts.undone.index) == (Rank.WAKE, TOP)
        assert found.facts.from_c == pytest.approx(790.0, abs=0.5)  # as hot as it was, not where it was surely left


@pytest.mark.parametrize(("back_min", "is_told"), [(15.0, False), (19.0, True), (45.0, True), (49.0, False)])
def test_a_controller_that_begins_again_in_the_anneal_is_told_though_that_is_taken_for_its_climb(
        kiln, back_min, is_told):
    """The follower has been in the first climb for 40 min when the kiln leaves its anneal, from 508 °C by 60 °C/h.

    After 17 min it is 9 K above the 516 °C of the anneal. For half an hour from there it is told.
    """
    found = [*RUN_TO_TOP, (FALL, -1800.0, 1800.0), (FIRST, 1800.0)]
    corners = (0, 790.0), (25, 518.0), (30, 500.0), (70, 508.0), (70 + back_min, 508.0 + back_min)
    assert (restarted(kiln(*corners, found=found)) is not None) is is_told


@pytest.mark.parametrize(("settled_s", "is_told"), [(0.0, True), (600.0, False)])
def test_the_air_under_a_vent_is_no_depth_that_the_kiln_fell_to(kiln, settled_s, is_told):
    """For five minutes after the top it reads 400 °C. Shut, the kiln falls to 500 °C and comes up to its anneal."""
    corners = (0, 790.0), (2, 400.0), (7, 400.0), (8, 590.0), (30, 500.0), (36, 512.0)
    found = [(FIRST, -14400.0, -7200.0), (TO_TOP, -7200.0)]
    view = kiln(*corners, found=found, first_c=20.0, peak_c=800.0, resumed_s=settled_s)
    assert (restarted(view) is not None) is is_told


def test_no_slope_reaches_across_a_gap(kiln):
    assert again(kiln, resumed_s=1500.0) is None
    assert again(kiln, resumed_s=1380.0) is not None


def test_a_kiln_that_came_down_to_a_hold_it_had_left_climbs_on_from_there(kiln):
    # From the top down to the squeeze, and up again: before the squeeze it was further.
    found = [(FIRST, -14400.0, -7200.0), (TOP, -600.0, 900.0), (SQUEEZE, 900.0, 1200.0), (TO_TOP, 1200.0)]
    assert again(kiln, found=found).facts.undone.index == SQUEEZE
    assert again(kiln, top=None, found=[(SQUEEZE, 900.0, 1200.0), (TO_TOP, 1200.0)]) is None


@pytest.mark.parametrize(("low_c", "rate", "is_told"), [
    (740.0, 110.0, False), (740.0, 130.0, True),  # of a deep dip 12 K must be back: 11 or 13 of 50
    (750.0, 180.0, False), (750.0, 220.0, True),  # of a shallower one half: 18 or 22 of 40
])
def test_so_much_must_be_back(kiln, low_c, rate, is_told):
    left = [(FIRST, -14400.0, -7200.0), (TOP, -600.0, 0.0), (FALL, 0.0, 1200.0), (TO_TOP, 1200.0)]
    assert (again(kiln, low_c=low_c, rate=rate, found=left) is not None) is is_told


@pytest.mark.parametrize(("held_until_s", "low_c", "rate", "is_told"), [
    (1000.0, 770.0, 200.0, False),  # a dip of 20 K, back to its hold at 790 °C
    (1000.0, 770.0, 230.0, True),  # 3 K past it
    (1000.0, 760.0, 200.0, False),  # a dip of 30 K, 10 K short of its hold six minutes later
    (1000.0, 750.0, 370.0, False),  # a dip of 40 K, and 3 K short of it: two looks inside
    (1000.0, 750.0, 430.0, True),  # 3 K past it
    (1000.0, 735.0, 370.0, True),  # a dip of 55 K: no look costs so much
    (500.0, 750.0, 370.0, True),  # it was left more than ten minutes before
    (500.0, 770.0, 200.0, True),  # the hold was left more than ten minutes before
])
def test_what_only_comes_back_to_its_hold_is_none(kiln, held_until_s, low_c, rate, is_told):
    corners = (0, 790.0), (15, 790.0), (20, low_c), (26, low_c + rate / 10)
    found = [(FIRST, -14400.0, -7200.0), (TOP, 0.0, held_until_s), (TO_TOP, 1200.0)]
    view = kiln(*corners, found=found)
    view.found = (view.found[0], replace(view.found[1], mean_c=790.0), view.found[2])
    assert (restarted(view) is not None) is is_told


@pytest.mark.parametrize(("began_min", "is_told"), [(31.0, False), (34.0, True)])
def test_a_kiln_that_climbs_back_to_the_line_of_its_fall_has_not_begun_again(kiln, began_min, is_told):
    """From 516 °C, 80 °C/h are planned. It fell to 452 °C while a vent was open, and is back at 482 °C 26 min later.

    A fall begun 31 min ago has the kiln at 474.7 °C by now, one begun 34 min ago at 470.7, and 8 K more are doubt.
    """
    began_s = 60.0 * (26.0 - began_min)
    found = [*RUN_TO_TOP, (FALL, -7200.0, -6000.0), (ANNEAL, -6000.0, began_s), (COOLING, began_s, 1200.0),
             (TO_TOP, 1200.0)]
    assert began_min < 41.25  # to 461 °C: after that the plan has gone on
    assert (restarted(kiln((0, 500.0), (20, 452.0), (26, 482.0), found=found)) is not None) is is_told


@pytest.mark.parametrize(("temp_c", "kiln_c", "is_told"), [
    (300.0, 380.0, False),  # the lid was open as it cooled: the air comes back to 360 °C
    (300.0, 340.0, True),  # hotter than the bricks were
    (300.0, None, True),  # no lid was open
    (400.0, 480.0, False),  # in the annealing range just so
])
def test_air_takes_up_the_heat_of_bricks_and_glass_without_any_power(kiln, temp_c, kiln_c, is_told):
    found = [*RUN_TO_TOP, (FALL, -7200.0, -6000.0), (ANNEAL, -6000.0, -2400.0), (COOLING, -2400.0, 1200.0),
             (FIRST, 1200.0)]
    corners = (0, temp_c + 80), (20, temp_c), (30, temp_c + 60)
    assert (restarted(kiln(*corners, found=found, kiln_c=kiln_c)) is not None) is is_told


def back_to_anneal(kiln, rise_k=15.0, **fields):
    """Return what is found where a free fall led to 500 °C, and the kiln climbs again; the anneal is at 516 °C."""
    found = [*RUN_TO_TOP, (FALL, -1200.0, 600.0), (ANNEAL, 600.0, 900.0), (TO_TOP, 1200.0)]
    corners = (0, 620.0), (20, 500.0), (30, 500.0 + rise_k)
    return restarted(kiln(*corners, found=found, **{"fell_until_s": 1200.0, **fields}))


def test_a_climb_back_to_the_anneal_after_a_fall_without_power_is_none(kiln):
    assert back_to_anneal(kiln) is None
    assert back_to_anneal(kiln, rise_k=24.0) is None
    assert back_to_anneal(kiln, rise_k=26.0) is not None  # past 516 + √(8² + 3²) °C
    assert back_to_anneal(kiln, fell_until_s=None) is None  # however it fell
    assert back_to_anneal(kiln, anneal=None) is not None


def test_a_climb_past_a_whole_anneal_is_told_at_once(kiln):
    """The glass needs it no more: a controller that climbs again in the cooling is told as soon as that is sure."""
    any_view = kiln((0, 516.0), (1, 516.0), found=[(ANNEAL, 0.0)])
    progress = AnnealProgress(any_view.glass, any_view.anneal)
    progress.see(0.0, 516.0)
    assert back_to_anneal(kiln, progress=progress) is None
    for minute in range(1, 61):
        progress.see(60.0 * minute, 516.0)
    assert back_to_anneal(kiln, progress=progress) is not None


@pytest.mark.parametrize(("top_read_c", "rise_k", "is_told"), [
    (812.0, 41.0, False), (812.0, 44.0, True),  # 516 + 12 + √(14² + 3²) = 542 °C
    (780.0, 29.0, False), (780.0, 32.0, True),  # read too low, a top says nothing: 530 °C
])
def test_an_anneal_is_read_as_much_too_hot_as_the_top_was(kiln, top_read_c, rise_k, is_told):
    found = [*RUN_TO_TOP, (FALL, -1200.0, 600.0), (TO_TOP, 1200.0)]
    view = kiln((0, 620.0), (20, 500.0), (30, 500.0 + rise_k), found=found, offset_known=False)
    view.found = tuple(replace(run, mean_c=top_read_c) if run.index == TOP else run for run in view.found)
    assert (restarted(view) is not None) is is_told


@pytest.mark.parametrize(("low_c", "told"), [(330.0, Rank.WAKE), (490.0, None)])
def test_a_climb_after_the_cooling_from_the_anneal_does_not_come_back_to_it(kiln, low_c, told):
    """A program begins again far below the anneal. A dip just below it was only taken for the cooling after it."""
    found = [*RUN_TO_TOP, (FALL, -9000.0, -8000.0), (ANNEAL, -8000.0, -4000.0), (COOLING, -4000.0, 300.0),
             (FIRST, 300.0)]
    view = kiln((0, low_c + 15.0), (5, low_c), (15, low_c + 30.0), found=found, peak_c=800.0)
    view.fell_until_s = 300.0
    assert rank(restarted(view)) is told


@pytest.mark.parametrize(("index", "low_c", "first_c", "is_told"), [
    (TOP, 500.0, 20.0, False),  # the top was left early, and the plan goes on to its anneal
    (ANNEAL, 500.0, 20.0, False),  # the anneal seemed to be skipped
    (TOP, 486.0, 20.0, False), (TOP, 480.0, 20.0, True),  # 516 − 8 − 25 = 483 °C
])
def test_so_is_one_after_the_firing_broke_off_unless_it_fell_far_past(kiln, index, low_c, first_c, is_told):
    found = [*RUN_TO_TOP, (FALL, -1200.0, 600.0), (ANNEAL, 600.0, 900.0), (TO_TOP, 1200.0)]
    view = kiln((0, 620.0), (20, low_c), (30, 518.0), found=found, fell_until_s=1200.0,
                first_c=first_c, peak_c=800.0, broken=Interruption(0.0, index, 0.0, 620.0))
    assert (restarted(view) is not None) is is_told


def test_a_first_climb_that_broke_off_near_the_level_of_the_anneal_does_not_lead_back_to_it(kiln):
    view = kiln((0, 560.0), (20, 500.0), (30, 518.0), found=[(FIRST, -7200.0)], first_c=20.0, peak_c=560.0,
                broken=Interruption(0.0, FIRST, 0.0, 560.0))
    assert rank(restarted(view)) is Rank.WAKE


# A climb beyond all that the plan has.

def beyond(kiln, minutes=5.0, then=(), state=FIRST):
    """Return a view of a kiln that climbs again from its anneal, then as the corners ``then``."""
    found = [*RUN_TO_TOP, (FALL, -1200.0, -600.0), (ANNEAL, -600.0, 1200.0), (state, 1200.0)]
    corners = (0, 516.0), (10, 516.0), (20, 470.0), (20 + minutes, 470.0 + 8 * minutes)
    return kiln(*corners, *then, found=found)


def test_a_climb_where_the_plan_only_falls_is_told_as_beyond_it(kiln):
    assert restarted(beyond(kiln)).facts.beyond
    assert not again(kiln).facts.beyond


def test_a_climb_beyond_the_plan_stands_while_no_slope_tells_otherwise(kiln):
    watch = RestartedWatch()
    first = watch.see(beyond(kiln))
    after_a_gap = beyond(kiln, then=[(70, 600.0)])
    after_a_gap.resumed_s = after_a_gap.t_s
    assert watch.see(after_a_gap) == first


def test_a_climb_beyond_the_plan_stands_until_the_kiln_falls(kiln):
    watch = RestartedWatch()
    first = watch.see(beyond(kiln))
    assert first.facts.beyond
    later = beyond(kiln, then=[(70, 600.0)])
    assert restarted(later) is None  # it is no news
    found = watch.see(later)
    assert (found.since_s, found.severity_c, found.facts.from_c) == (first.since_s, later.temp_c, first.facts.from_c)
    assert found.facts.temp_c == later.temp_c
    assert watch.see(beyond(kiln, then=[(70, 600.0), (85, 570.0)])) is None
    assert watch.see(later) is None  # it is forgotten


def test_a_climb_beyond_the_plan_is_over_where_it_holds_as_planned(kiln, view_of, leg_of):
    watch = RestartedWatch()
    assert watch.see(beyond(kiln)) is not None
    held = view_of(leg_of(516.0, 516.0, 60.0, ripple_k=0.1), found=[(ANNEAL, 0.0)])
    assert watch.see(held) is None
    assert watch.see(beyond(kiln, then=[(70, 600.0)])) is None


def test_a_climb_within_the_plan_is_not_remembered(kiln):
    watch = RestartedWatch()
    corners = (0, 790.0), (20, 600.0), (26, 630.0)
    found = [(FIRST, -14400.0, -7200.0), (TOP, -600.0, 1200.0), (TO_TOP, 1200.0)]
    assert watch.see(kiln(*corners, found=found)) is not None
    assert watch.see(kiln(*corners, (60, 660.0), found=found)) is None


def said(**fields):
    facts = Restarted(**{"temp_c": 600.0, "lowest_c": 580.0, "from_c": 700.0, "undone": None, **fields})
    return KIND.words(Finding(KIND, Rank.WAKE, 0.0, facts), Speaker("C", 6.0)).what


@pytest.mark.parametrize(("from_c", "to_c", "holds"), [
    (516.0, 516.0, True), (514.0, 516.0, True), (508.0, 516.0, False), (536.0, 536.0, False), (480.0, 480.0, False)])
def test_a_kiln_that_stands_where_it_broke_off_is_said_to_hold(kiln, from_c, to_c, holds):
    broken = Interruption(-1800.0, ANNEAL, 900.0, 516.0, back_s=0.0)
    view = kiln((0, 381.0), (10, from_c), (16, to_c), found=[*RUN_TO_TOP, (FALL, -1200.0)], broken=broken)
    assert restarted(view).facts.holds is holds  # the third climbs 80 °C/h, the last two stand elsewhere


def test_one_that_hardly_fell_is_not_said_to_be_back(kiln):
    broken = Interruption(-1800.0, ANNEAL, 900.0, 516.0, back_s=0.0)
    assert not restarted(kiln((0, 512.0), (16, 516.0), found=[*RUN_TO_TOP], broken=broken)).facts.holds


def test_it_says_what_happened():
    assert said() == "Power is probably back, kiln is reheating, 600 °C. It fell from 700 °C to 580 °C."
    assert said(from_c=591.0) == "Power is probably back, kiln is reheating, 600 °C. It fell from 591 °C to 580 °C."
    assert said(from_c=589.0) == "The controller began again, kiln climbs, 600 °C."
    assert said(dark=True) == "Power was off, kiln is at 600 °C, was 700 °C. The lowest was 580 °C."
    assert said(beyond=True).startswith("Kiln reheats, plan only cools, 600 °C; stop it.")
