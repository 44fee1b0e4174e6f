"""What is keyed in after a firing broke off: the very lines, by place, plan, thickness and glass.

Rules and rates are common practice; a fused plate of 6 mm is refired at up to 150 °C/h, one of 12 mm at up to 80.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.firing.events import Line
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.recovery.recovery import Mender, Place
from daemon.firing.recovery.recovery_text import broke_off, key_in
from daemon.firing.units import Units
from daemon.glass.advice import anneal as asked_anneal
from daemon.glass.advice import heating_limit
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]
FUSE = Plan("Full fuse", "C", (
    Step(220.0, 620.0), Step(50.0, 670.0, 1800.0, "squeeze"), Step(250.0, 800.0, 600.0),
    Step(None, 516.0, 3600.0, "anneal"), Step(80.0, 461.0), Step(150.0, 406.0), Step(None, 40.0)))
PARTS = planned_parts(FUSE)
RAMP_1, SQUEEZE_RAMP, SQUEEZE, TOP_RAMP, TOP, FALL, ANNEAL, COOLING, SECOND, LAST = range(10)
WORDS = Units("C")
COOL = (Line(80.0, 461.0), Line(150.0, 406.0), Line(None, 40.0))


def mender(plan=FUSE, thickness_mm=6.0, faces=1, glass=GLASS):
    parts = planned_parts(plan)
    return Mender(parts, anneal_hold(parts, glass), glass, thickness_mm, faces)


def mend(undone, here_c, held_s=0.0, **load):
    return mender(**load).mend(undone, held_s, here_c)


def test_on_the_climb_it_goes_on_from_where_it_is():
    found = mend(TOP_RAMP, 650.0)
    assert found.place is Place.CLIMB
    assert found.lines == (Line(250.0, 800.0, 600.0), Line(None, 516.0, 3600.0), *COOL)


def test_a_climb_that_fell_where_glass_is_brittle_goes_slowly_up_to_540():
    assert mend(TOP_RAMP, 430.0).lines[:2] == (Line(150.0, 540.0), Line(250.0, 800.0, 600.0))


def test_a_squeeze_is_held_for_what_is_missing_and_the_climb_goes_on():
    found = mend(SQUEEZE, 640.0, held_s=1090.0)
    assert found.lines[:2] == (Line(50.0, 670.0, 720.0), Line(250.0, 800.0, 600.0))  # 1800 − 1090, in whole minutes


def test_a_kiln_above_the_hold_that_broke_off_is_given_no_climb_to_it():
    assert mend(SQUEEZE, 695.0, held_s=1090.0).lines[:2] == (Line(None, 670.0, 720.0), Line(250.0, 800.0, 600.0))
    assert mend(RAMP_1, 695.0).lines[0] == Line(50.0, 670.0, 1800.0)


def test_at_the_top_what_is_missing_is_held():
    found = mend(TOP, 700.0, held_s=240.0)
    assert found.place is Place.TOP
    assert (found.held_s, found.asked_s) == (240.0, 600.0)
    assert found.lines[0] == Line(250.0, 800.0, 360.0)


def test_a_top_as_good_as_done_is_not_gone_back_for():
    found = mend(TOP, 700.0, held_s=500.0)
    assert found.place is Place.ABOVE
    assert found.lines == (Line(None, 516.0, 3600.0), *COOL)


@pytest.mark.parametrize(("hold_s", "held_s", "place"), [
    # A top lacks less than a fifth of its hold, or no more than a minute: 600 s of hold want 480 s, 120 s want 60 s.
    (600.0, 480.0, Place.ABOVE), (600.0, 479.0, Place.TOP), (120.0, 60.0, Place.ABOVE), (120.0, 59.0, Place.TOP)])
def test_a_top_is_as_good_as_done_from_four_fifths_or_within_a_minute(hold_s, held_s, place):
    plan = replace(FUSE, steps=(*FUSE.steps[:2], replace(FUSE.steps[2], hold_s=hold_s), *FUSE.steps[3:]))
    assert mend(TOP, 700.0, held_s=held_s, plan=plan).place is place


def test_above_the_anneal_it_enters_at_the_hold_and_holds_it_whole():
    assert mend(FALL, 610.0).place is Place.ABOVE
    assert mend(FALL, 610.0).lines == (Line(None, 516.0, 3600.0), *COOL)


@pytest.mark.parametrize(("undone", "held_s"), [(FALL, 0.0), (ANNEAL, 1200.0), (COOLING, 0.0)])
def test_in_or_below_the_anneal_it_goes_back_slowly_and_holds_it_whole(undone, held_s):
    found = mend(undone, 450.0, held_s)
    assert found.place is (Place.COOLING if undone == COOLING else Place.ANNEAL)
    assert found.lines == (Line(150.0, 516.0, 3600.0), *COOL)


def test_a_thick_plate_goes_back_more_slowly():
    # And longer: ten minutes of hold for each millimetre over one cooled face, common practice.
    assert mend(ANNEAL, 450.0, thickness_mm=12.0).lines[0] == Line(80.0, 516.0, 7200.0)
    assert mend(ANNEAL, 450.0, thickness_mm=19.0).lines[0].rate_c_per_h < 80.0


def test_below_370_nothing_is_mended_that_night():
    for undone in (FALL, ANNEAL, COOLING):
        found = mend(undone, 360.0)
        assert found.place is Place.COLD
        assert found.lines == (Line(150.0, 516.0, 3600.0), *COOL)


def test_a_cut_late_in_the_cooling_asks_for_nothing():
    found = mend(LAST, 330.0)
    assert found.place is Place.LATE
    assert "Nothing to mend" in key_in(found, WORDS.temp)


def test_a_plan_without_an_anneal_gets_the_one_its_load_asks_for():
    bare = Plan("Bare", "C", (Step(200.0, 780.0, 600.0), Step(None, 40.0)))
    for thickness_mm in (6.0, 12.0, 19.0):
        asked = asked_anneal(GLASS, thickness_mm, 1)
        lines = mend(2, 600.0, plan=bare, thickness_mm=thickness_mm).lines
        assert lines[0] == Line(None, asked.hold_c, asked.hold_min * 60)
        assert [(line.rate_c_per_h, line.to_c) for line in lines[1:]] == [
            (stage.rate_c_per_h, stage.to_c) for stage in asked.stages]


@given(st.integers(0, 9), st.floats(20.0, 800.0), st.floats(0.0, 3600.0), st.sampled_from((3.0, 6.0, 12.0, 25.0)))
def test_whatever_broke_off_every_way_back_ends_annealed_and_no_line_is_too_fast_for_brittle_glass(
        undone, here_c, held_s, thickness_mm):
    found = mend(undone, here_c, held_s, thickness_mm=thickness_mm)
    lines = found.lines
    if found.place is not Place.LATE:
        whole_s = max(3600.0, 60.0 * asked_anneal(GLASS, thickness_mm, 1).hold_min)
        assert any(line.to_c == 516.0 and line.hold_s == whole_s for line in lines)
    from_c = here_c if found.place is not Place.COLD else 20.0
    first = lines[0]
    if first.to_c > from_c + 20.0 and from_c < 500.0:
        assert first.rate_c_per_h is not None
        assert first.rate_c_per_h <= heating_limit(GLASS, thickness_mm, 1)[0]
    tops = [line.to_c for line in lines]
    assert max(tops) <= 800.0
    falls = [line for before, line in pairwise(lines) if line.to_c < before.to_c]
    slow = min(80.0, asked_anneal(GLASS, thickness_mm, 1).stages[0].rate_c_per_h)
    if found.place is not Place.LATE:
        assert all(line.rate_c_per_h == slow for line in falls if line.to_c == 461.0)


def test_the_lines_are_never_looser_than_the_thickness_asks_and_say_so():
    found = mend(ANNEAL, 450.0, thickness_mm=12.0)
    asked = asked_anneal(GLASS, 12.0, 1)
    assert found.lines[1].rate_c_per_h == asked.stages[0].rate_c_per_h < 80.0
    assert found.lines[2].rate_c_per_h == asked.stages[1].rate_c_per_h < 150.0
    assert "this thickness needs it" in broke_off(found, WORDS.temp)
    assert "this thickness needs it" not in broke_off(mend(ANNEAL, 450.0), WORDS.temp)


def test_glass_that_was_soft_and_is_brittle_now_is_not_left_to_the_controller():
    cold, warm = (mend(TOP_RAMP, here_c) for here_c in (430.0, 650.0))
    assert key_in(cold, WORDS.temp).startswith("Stop the controller: its step 3 is too fast")
    assert "leave it" in key_in(warm, WORDS.temp)
    # Layers that were never soft climb on as they were.
    assert "leave it" in key_in(mend(RAMP_1, 300.0), WORDS.temp)


def test_what_fell_below_370_waits_for_another_day_though_it_has_been_heated_again():
    assert mender().mend(ANNEAL, 600.0, 420.0, lowest_c=279.0).place is Place.COLD
    assert mender().mend(ANNEAL, 600.0, 420.0, lowest_c=400.0).place is Place.ANNEAL


def test_two_holds_in_a_row_are_keyed_in_as_one_of_their_length_and_one_after_the_anneal_as_its_own():
    plan = Plan("Two holds", "C", (
        Step(220.0, 620.0), Step(250.0, 800.0, 600.0), Step(100.0, 800.0, 300.0), Step(None, 516.0, 3600.0, "anneal"),
        Step(80.0, 516.0, 900.0), Step(80.0, 461.0), Step(None, 40.0)))
    on_the_climb = mend(0, 600.0, plan=plan).lines
    assert on_the_climb[:2] == (Line(220.0, 620.0), Line(250.0, 800.0, 900.0))
    assert on_the_climb[-4:-2] == (Line(None, 516.0, 3600.0), Line(None, 516.0, 900.0))


def test_lines_are_said_as_they_are_keyed_in_in_the_owners_unit():
    celsius, fahrenheit = Units("C"), Units("F")
    lines = mend(ANNEAL, 450.0).lines
    assert celsius.keyed(lines) == (
        "150 °C/h to 516 °C, hold 60 min; then 80 °C/h to 461 °C; then 150 °C/h to 406 °C; then off")
    # 516 °C = 960.8 °F, 461 = 861.8, 406 = 762.8; rates times 1.8.
    assert fahrenheit.keyed(lines) == (
        "270 °F/h to 961 °F, hold 60 min; then 144 °F/h to 862 °F; then 270 °F/h to 763 °F; then off")
    assert celsius.keyed(mend(FALL, 610.0).lines).startswith(
        "as fast as it goes to 516 °C, hold 60 min; then")
