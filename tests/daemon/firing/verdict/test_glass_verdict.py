"""Answers about the glass: measured, asked and how sure; JSON that keeps its single form."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest

from daemon.firing.situation.probe_doubt import Cause, Disbelief
from daemon.firing.trace.gaps import Gap
from daemon.firing.verdict.answer import Answer, Question, Result, Unseen
from daemon.firing.verdict.glass_verdict import across_unseen, glass_answers, glass_json
from daemon.glass.load import Figures, Load
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]
GOOD = ((0.0, 20.0), (5.0, 700.0), (6.0, 515.0), (7.0, 515.0), (8.5, 455.0), (14.0, 30.0))
"""Corner points (hour, °C): 136 °C/h up, an hour at 515 °C, 40 °C/h down."""


def through(*points: tuple[float, float], thicknesses_mm: tuple[float, ...] = (6.0,), faces: int = 1,
            above_c: tuple[float, ...] = ()) -> Figures:
    load = Load(GLASS, thicknesses_mm, faces, above_c)
    for (h0, c0), (h1, c1) in pairwise(points):
        n = round((h1 - h0) * 360)
        for k in range(n):
            load.offer((h0 + (h1 - h0) * k / n) * 3600, c0 + (c1 - c0) * k / n)
    load.offer(points[-1][0] * 3600, points[-1][1])
    found = load.figures()
    assert found is not None
    return found


def answers(figures: Figures, *, loose: bool = False) -> dict[Question, Answer]:
    return {a.kind: a for a in glass_answers(GLASS, figures, loose=loose)}


def test_a_right_firing_is_yes_four_times_each_with_measured_asked_and_how_sure() -> None:
    found = answers(through(*GOOD))
    assert [a.result for a in found.values()] == [Result.YES] * 4
    assert all(a.measured and a.asked for a in found.values())
    stress = found[Question.STRESS]
    # 40 °C/h in 6 mm: 1.7/3 · 0.8077 · the difference; a quarter of one cooled face's with two.
    assert stress.measured.low_mpa == pytest.approx(stress.measured.high_mpa / 4, rel=0.15)
    assert (stress.asked.mpa, stress.uncertainty.share) == (1.0, 0.2)


def test_five_times_too_fast_is_told_as_a_range_and_never_a_bare_figure() -> None:
    # 19 mm, one face, 200 °C/h: 1.7/3 · 0.8077 · 22.3 K = 10 MPa by the closed form, and a quarter with two faces.
    bad = through((0.0, 700.0), (0.5, 515.0), (2.0, 515.0), (2.3, 455.0), (10.0, 30.0), thicknesses_mm=(19.0,))
    stress = answers(bad)[Question.STRESS]
    # On a shelf one face cools: that end of the range decides, and more than thrice the target is too much.
    assert stress.result is Result.NO
    assert 1.5 < stress.measured.low_mpa < 2.5
    assert stress.measured.high_mpa > 3.0
    hung = answers(through((0.0, 700.0), (0.5, 515.0), (2.0, 515.0), (2.3, 455.0), (10.0, 30.0),
                           thicknesses_mm=(19.0,), faces=2))[Question.STRESS]
    assert hung.result is Result.DOUBTFUL


def test_a_drop_that_pulled_far_beyond_what_glass_bears_is_a_no() -> None:
    # 300 K in six minutes under 6 mm: many times the 5 MPa.
    dropped = through((0.0, 700.0), (0.5, 515.0), (2.0, 515.0), (4.0, 440.0), (4.1, 140.0), (10.0, 30.0))
    fall = answers(dropped)[Question.COOLING_BELOW_RANGE]
    assert fall.result is Result.NO
    assert fall.measured.low_mpa > 5.0


@pytest.mark.parametrize(("back_c", "result"), [
    (450.0, Result.DOUBTFUL), (600.0, Result.DOUBTFUL), (701.0, Result.YES)])
def test_a_fall_below_the_range_counts_though_the_glass_came_back_from_it(back_c: float, result: Result) -> None:
    """A lid opened at 460 °C: 90 K in three minutes, then back. Only what flows again (700 °C) has no crack of it."""
    opened = through((0.0, 700.0), (0.5, 515.0), (1.5, 515.0), (3.0, 460.0), (3.05, 370.0), (3.2, back_c),
                     (3.5, back_c), (5.7, 515.0), (6.7, 515.0), (8.2, 455.0), (14.0, 30.0))
    below = answers(opened)[Question.COOLING_BELOW_RANGE]
    assert below.result is result
    if result is Result.DOUBTFUL:
        # A rigid face in a steady fall has 2/3 Eα/(1−ν) · R L²/(2κ) in tension (Timoshenko & Goodier, from
        # memory): at 0.5 K/s, 0.5 · 0.006² / (2 · 4.5e-7) · 2/3 · 0.8077 = 10.8 MPa, after six time constants.
        assert (below.measured.low_mpa + below.measured.high_mpa) / 2 == pytest.approx(10.8, rel=0.06)
        assert 370.0 <= below.measured.at_c < 438.5


def test_a_hold_that_never_came_is_no_and_says_what_is_left() -> None:
    cut = through((0.0, 700.0), (0.1, 505.0), (0.13, 505.0), (0.4, 420.0), (3.0, 30.0), thicknesses_mm=(12.0,))
    hold = answers(cut)[Question.RELAXED]
    assert hold.result in (Result.NO, Result.YES_IF)
    assert hold.measured.worth_min < hold.asked.needed_min + hold.asked.evening_min
    assert hold.asked.share == 0.05


def test_nothing_is_said_of_the_stress_before_the_glass_has_cooled_through_its_range() -> None:
    asked = answers(through((0.0, 20.0), (5.0, 700.0), (6.0, 515.0), (7.0, 515.0)))
    assert set(asked) == {Question.CLIMB, Question.RELAXED}
    assert glass_answers(GLASS, None, loose=False) == ()


def test_a_fused_piece_heats_as_one_thick_plate() -> None:
    quick = through((0.0, 20.0), (2.5, 570.0), (3.0, 575.0))  # 220 °C/h: 6 mm fused bears 150 (common practice)
    assert answers(quick)[Question.CLIMB].result is Result.NO_IF
    assert answers(quick, loose=True)[Question.CLIMB].result is Result.YES
    assert quick.climb.cold_c_per_h == pytest.approx(220.0, rel=1e-3)


def test_squeeze_burn_off_and_asked_temperatures_are_counted_to_the_second() -> None:
    # 100 °C/h through 260 to 480 and 600 to 677, and twice through 650.
    figures = through((0.0, 20.0), (6.8, 700.0), (13.6, 20.0), above_c=(650.0,))
    plain = glass_json(GLASS, figures)
    assert plain is not None
    assert plain["burn_off_s"] == pytest.approx(220 * 36, abs=1)
    assert plain["squeeze_s"] == pytest.approx(77 * 36, abs=1)
    assert plain["time_above_s"]["650"] == pytest.approx(2 * 50 * 36, abs=1)
    assert set(plain["time_above_s"]) == {"540", "620", "650", "700", "760"}


def test_one_thickness_keeps_its_single_form_and_several_stand_beside_it() -> None:
    one, two = (glass_json(GLASS, through(*GOOD, thicknesses_mm=mm)) for mm in ((12.0,), (12.0, 6.0)))
    assert one is not None
    assert two is not None
    slabs = two.pop("slabs")
    assert one == two
    assert [slab["thickness_mm"] for slab in slabs] == [12.0, 6.0]
    assert slabs[0]["maxwell_core_mpa"] == one["maxwell_core_mpa"]
    assert "NaN" not in json.dumps(two)


def test_each_thickness_of_a_load_is_asked_about_and_named() -> None:
    found = glass_answers(GLASS, through(*GOOD, thicknesses_mm=(12.0, 6.0)), loose=False)
    assert [a.thickness_mm for a in found if a.kind is Question.STRESS] == [12.0, 6.0]
    alone = glass_answers(GLASS, through(*GOOD), loose=False)
    assert [a.thickness_mm for a in alone if a.kind is Question.STRESS] == [None]


def test_a_yes_across_an_unseen_annealing_range_is_not_known_but_the_climb_stands() -> None:
    found = glass_answers(GLASS, through(*GOOD), loose=False)
    hidden = {a.kind: a for a in across_unseen(found, [Gap(0.0, 3600.0, 600.0, 400.0)], GLASS)}
    assert hidden.pop(Question.CLIMB).result is Result.YES
    assert {a.result for a in hidden.values()} == {Result.NOT_KNOWN}
    assert {a.unseen for a in hidden.values()} == {Unseen(3600.0, if_straight=Result.YES)}


def test_a_hole_is_told_only_with_the_part_it_lies_in() -> None:
    found, peak = glass_answers(GLASS, through(*GOOD), loose=False), (5 * 3600.0, 700.0)

    def told(*holes: Gap) -> dict[Question, float]:
        answers = list(across_unseen(found, holes, GLASS, peak=peak))
        assert [a.result for a in answers] == [a.result for a in found]
        return {a.kind: a.unseen.length_s for a in answers if a.unseen is not None}

    cold = Gap(45_000.0, 45_540.0, 118.0, 112.0)
    assert told(cold) == {Question.COOLING_BELOW_RANGE: 540.0}
    assert told(Gap(1800.0, 3000.0, 80.0, 127.0)) == {Question.CLIMB: 1200.0}
    assert told(Gap(12_000.0, 13_200.0, 480.0, 520.0)) == {}  # on the way up, above 300 °C
    in_range = Gap(26_000.0, 26_300.0, 505.0, 500.0)
    assert told(cold, in_range) == {
        Question.RELAXED: 300.0, Question.STRESS: 300.0, Question.COOLING_BELOW_RANGE: 840.0}
    assert told(Gap(50_000.0, 51_200.0, 80.0, 60.0)) == {}


REHEATED = ((0.0, 20.0), (5.0, 800.0), (7.0, 391.0), (7.18, 516.0), (8.2, 516.0), (9.7, 455.0), (14.0, 30.0))
"""156 °C/h up, a fall to 391 °C after a cut, and 694 °C/h back to the anneal."""


def test_a_climb_back_to_the_anneal_is_held_against_the_limit_for_a_fused_plate() -> None:
    for loose in (True, False):  # at 800 °C loose layers became one plate
        climb = answers(through(*REHEATED), loose=loose)[Question.CLIMB]
        assert climb.result is Result.NO
        assert climb.measured.rate_c_per_h == pytest.approx(694, rel=0.05)
        assert climb.measured.from_c == pytest.approx(391, abs=2)
        assert (climb.asked.rate_c_per_h, climb.asked.loose) == (150.0, False)  # common practice, 6 mm fused


def test_a_climb_back_at_the_rate_of_common_practice_leaves_the_first_climb_to_answer() -> None:
    slow = ((0.0, 20.0), (5.0, 800.0), (7.0, 391.0), (7.0 + 125 / 150, 516.0), (9.0, 516.0), (14.0, 30.0))
    climb = answers(through(*slow), loose=True)[Question.CLIMB]
    assert (climb.result, climb.measured.from_c) == (Result.YES, None)


def test_layers_that_were_never_hot_enough_to_be_one_plate_may_be_loose_still() -> None:
    tacked = ((0.0, 20.0), (5.0, 600.0), (7.0, 391.0), (7.6, 516.0), *REHEATED[4:])  # 208 °C/h back
    assert answers(through(*tacked), loose=True)[Question.CLIMB].result is Result.YES
    assert answers(through(*tacked), loose=False)[Question.CLIMB].result is Result.NO_IF


def test_a_second_climb_after_the_readings_were_lost_is_none() -> None:
    figures = through(*REHEATED)
    for lost_h, from_c in ((6.5, None), (9.0, pytest.approx(391, abs=2))):
        lost = Disbelief(lost_h * 3600, 500.0, Cause.FROZEN)
        climb = next(a for a in glass_answers(GLASS, figures, loose=True, lost=lost) if a.kind is Question.CLIMB)
        assert climb.measured.from_c == from_c

