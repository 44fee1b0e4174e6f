"""A plan read back in both units, and what is doubtful in it for a load."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.advice.anneal_text import as_plan
from daemon.firing.advice.plan_check import doubts
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.read_back import reading_back
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.advice import anneal, heating_limit
from daemon.glass.materials import FAMILIES

SOUND = Plan("Sound", "C", (Step(80, 650, 900), Step(None, 516, 3600), Step(55, 400), Step(None, 40)))


def setup(*steps: Step, thickness_mm: float = 6.0, faces: int = 1, unit: str = "C") -> Setup:
    plan = Plan("Odd", unit, steps) if steps else replace(SOUND, unit=unit)
    return Setup(plan, FAMILIES["90"], thickness_mm=thickness_mm, faces=faces, unit=unit)


def test_a_sound_plan_leaves_no_doubt():
    assert list(doubts(setup())) == []
    assert list(doubts(replace(setup(), plan=None))) == []


@pytest.mark.parametrize(("thickness_mm", "faces", "bears"), [
    (6.0, 1, None), (7.0, 1, None), (9.0, 1, 40), (12.0, 1, 25), (12.0, 2, None), (25.0, 2, 25)])
def test_a_fall_is_doubted_where_it_is_faster_than_the_thickness_ordinarily_bears(thickness_mm, faces, bears):
    # Workshop rates of 80 °C/h at 6 mm and 25 at 12, a power law between: 80 · (7/6)^log2(25/80) = 61.8 at 7 mm,
    # keyed in as 60, and 40.5 at 9 mm, as 40. Both faces cooled count as half the thickness.
    found = list(doubts(setup(Step(60, 650, 900), Step(None, 516, 15000), Step(55, 400), Step(30, 40),
                              thickness_mm=thickness_mm, faces=faces)))
    falls = [doubt for doubt in found if "falls" in doubt]
    assert len(falls) == (bears is not None)
    if bears is not None:
        cooled = "one cooled face" if faces == 1 else "two cooled faces"
        assert falls == [f"step 3 falls 55 °C/h; {thickness_mm:g} mm ordinarily bears about {bears} °C/h there "
                         f"(common practice, {cooled})."]


@pytest.mark.parametrize(("rate", "from_c", "doubted"), [(89.0, 516.0, False), (90.0, 516.0, True),
                                                         (168.0, 488.0, False), (169.0, 488.0, True)])
def test_a_fall_is_measured_by_the_stage_it_begins_in_and_a_little_faster_is_as_good(rate, from_c, doubted):
    # 6 mm: 80 °C/h from above the strain point (488.5 °C), 150 below it, and 1.12 times as much counts as kept.
    plan = (Step(80, 650, 900), Step(None, 516, 3600, "anneal"), Step(50, from_c), Step(rate, 400), Step(None, 40))
    assert any("falls" in doubt for doubt in doubts(setup(*plan))) == doubted


@pytest.mark.parametrize(("name", "working_c"), [("33", 1250), ("float", 1020), ("90", 960), ("104", 910)])
def test_a_top_above_the_working_point_of_the_glass_is_doubted(name, working_c):
    # The working point, 10^3 Pa·s: ISO 7884-1, from memory; the families' own: from memory.
    for top_c, is_doubted in ((working_c - 1, False), (working_c + 1, True)):
        plan = Plan("Hot", "C", (Step(80, 650), Step(200, top_c, 600), *SOUND.steps[1:]))
        found = [doubt for doubt in doubts(replace(setup(), plan=plan, glass=FAMILIES[name])) if "goes to" in doubt]
        told = (f"step 2 goes to {top_c} °C. Glass is fused, slumped and cast below its working point, which is "
                f"about {working_c} °C for {name} (common practice). Check this figure and its unit.")
        assert found == ([told] if is_doubted else [])


def test_a_climb_is_doubted_by_the_piece_it_is_made_of():
    # Fused plates of 6 and 12 mm bear 150 and 80 °C/h, loose layers of 6 mm 250: common practice.
    fused = Step(220, 650, 900)
    loose = (Step(220, 620), Step(50, 670, 1800, "squeeze"), Step(200, 790, 600))
    rest = (Step(None, 516, 7200), Step(25, 400), Step(45, 300), Step(None, 40))
    bears = "6 mm fused in one ordinarily bears about 150 °C/h (common practice)"
    assert f"step 1 climbs 220 °C/h below 540 °C; {bears}." in list(doubts(setup(fused, *rest)))
    assert not any("climbs" in doubt for doubt in doubts(setup(*loose, *rest)))
    assert any("12 mm in loose layers ordinarily bears about 80 °C/h" in doubt
               for doubt in doubts(setup(*loose, *rest, thickness_mm=12.0)))
    assert not any("climbs" in doubt for doubt in doubts(setup(Step(168, 650, 900), *rest)))
    assert any("climbs" in doubt for doubt in doubts(setup(Step(169, 650, 900), *rest)))


def test_a_climb_above_the_brittle_temperature_of_its_own_glass_is_free_to_be_fast():
    # Family 104 is brittle below 520 °C, float below 570 (see tests/daemon/glass/test_common_practice.py).
    cooling = (Step(None, 500, 7200), Step(25, 380), Step(None, 40))
    plan = Plan("Two rates", "C", (Step(100, 545), Step(400, 700, 600), *cooling))
    for name, doubted in (("104", False), ("90", False), ("float", True)):
        found = [doubt for doubt in doubts(Setup(plan, FAMILIES[name], 6.0)) if "climbs" in doubt]
        assert bool(found) == doubted
        if doubted:
            assert "step 2 climbs 400 °C/h below 570 °C" in found[0]


@pytest.mark.parametrize("name", FAMILIES)
@pytest.mark.parametrize("thickness_mm", [3.0, 6.0, 12.0, 19.0, 25.0, 38.0, 80.0])
@pytest.mark.parametrize("faces", [1, 2])
def test_what_is_advised_is_not_doubted(name, thickness_mm, faces):
    advice = anneal(FAMILIES[name], thickness_mm, faces)
    climb = Step(heating_limit(FAMILIES[name], thickness_mm, faces)[0], FAMILIES[name].softening_point_c, 600)
    plan = Plan("Advised", "C", (climb, *as_plan(advice).steps))
    assert list(doubts(Setup(plan, FAMILIES[name], thickness_mm, faces))) == []


@pytest.mark.parametrize(("steps", "told"), [
    ((Step(150, 650, 900), Step(None, 40)), "no step is an anneal hold"),
    ((Step(None, 650, 900), Step(None, 516, 3600), Step(55, 400)), "step 1 climbs free below 540 °C"),
    ((Step(400, 650, 900), Step(None, 516, 3600), Step(55, 400)), "step 1 climbs 400 °C/h below 540 °C"),
    ((Step(150, 650, 900), Step(None, 516, 3600), Step(None, 40)), "step 3 falls free through the annealing range"),
])
def test_each_doubt_is_a_sentence_that_names_its_step(steps, told):
    found = list(doubts(setup(*steps)))
    assert any(told in doubt for doubt in found)
    assert all(doubt.endswith(".") for doubt in found)


def test_doubts_are_told_in_the_owners_unit():
    found = " ".join(doubts(setup(Step(400, 650, 900), Step(None, 40), unit="F")))
    assert "°F" in found
    assert "°C" not in found


def test_a_step_to_below_any_room_is_doubted_and_one_to_the_room_is_not():
    cold = [doubt for doubt in doubts(setup(*SOUND.steps[:3], Step(None, 1.0))) if "colder" in doubt]
    assert cold == ["step 4 goes to 1 °C, colder than a room. The kiln never gets there."]
    assert not any("colder" in doubt for doubt in doubts(setup(*SOUND.steps[:3], Step(None, 20.0))))


def test_a_plan_is_read_back_in_both_units_with_its_length():
    lines = list(reading_back(SOUND))
    assert lines[0] == "Sound (written in °C)"
    assert lines[1] == "  1  80 °C/h (144 °F/h), up to 650 °C (1202 °F), hold 0:15"
    assert lines[2] == "  2  free, down to 516 °C (961 °F), hold 1:00"
    assert lines[3] == "  3  55 °C/h (99 °F/h), down to 400 °C (752 °F)"
    assert "free steps are guessed" in lines[-1]


def test_the_length_of_a_plan_without_free_steps_is_exact():
    plan = Plan("Exact", "F", (Step(100, 520, 1800, "top", "close the vent"), Step(50, 400)))
    lines = list(reading_back(plan))
    # 500 °C at 100 °C/h, half an hour, 120 °C at 50 °C/h: 5:00 + 0:30 + 2:24.
    assert lines[-1] == "In all 7:54 h from 20 °C."
    assert any(line.strip() == 'says: "close the vent"' for line in lines)
    assert any("[top]" in line for line in lines)


HALF_INCH = (Step(54, 660, 1800), Step(222, 810, 600), Step(None, 515.6, 7800), Step(15, 426.7))


@pytest.mark.parametrize(("rate", "from_c", "doubted"), [
    (167.0, 426.7, True), (51.0, 426.7, True), (50.0, 426.7, False), (None, 426.7, True),
    (167.0, 412.0, False), (None, 406.0, False)])
def test_the_second_stage_of_the_cooling_is_held_against_what_is_advised_there(rate, from_c, doubted):
    """12.7 mm: 45 °C/h from 460 to 405 °C, 1.12 times as much counts as kept, and so do 8 K of the stage."""
    plan = (*HALF_INCH[:3], Step(15, from_c), Step(rate, 21.1))
    falls = [doubt for doubt in doubts(setup(*plan, thickness_mm=12.7)) if "falls" in doubt]
    assert bool(falls) == doubted
    if doubted:
        assert "12.7 mm ordinarily bears about 45 °C/h from 460 °C to 405 °C (common practice" in falls[0]
        assert ("falls free from 427 °C, in a small kiln about 163 °C/h at first" in falls[0]) == (rate is None)
        # (426.7 − 20) °C over a time constant of 2.5 h


def test_a_plan_that_ends_where_stress_still_sets_is_doubted_by_its_one_owner():
    steps = (Step(150, 650, 900), Step(None, 516, 3600), Step(55, 461))
    found = list(doubts(setup(*steps)))
    assert [doubt for doubt in found if "the plan ends above 439 °C" in doubt]
    assert not any("ends above" in doubt for doubt in doubts(setup(*steps, Step(150, 400))))


def test_what_very_thick_glass_bears_is_not_said_as_nothing():
    found = list(doubts(setup(Step(60, 650, 900), Step(None, 516, 15000), Step(55, 400), Step(30, 40),
                              thickness_mm=120.0)))
    bears = [one for one in found if "bears about" in one]
    assert bears
    assert not [one for one in bears if "about 0 °C/h" in one]
    assert [one for one in bears if "about 0.49 °C/h" in one]
    assert [Units(unit).rate(0.485) for unit in "CF"] == ["0.48 °C/h", "0.87 °F/h"]
    assert [Units("C").rate(rate) for rate in (0.0, 0.001, 1.44, 1.99, -2.4, 54.4)] == [
        f"{figure} °C/h" for figure in ("0", "0", "1.4", "2", "2", "54")]
