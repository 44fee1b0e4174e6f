"""The firing held against its plan: each result of the three questions, from a few parts made by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.probe_doubt import Cause, Disbelief
from daemon.firing.trace.gaps import Gap
from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.answer_values import CoolingRates
from daemon.firing.verdict.plan_verdict import Evidence, anneal_answer, verdict
from daemon.firing.verdict.verdict_words import in_words

PLAN = Plan("full fuse", "C", (Step(200.0, 800.0, 600.0, "top"), Step(None, 516.0, 3600.0, "anneal"),
                               Step(55.0, 370.0, 0.0), Step(100.0, 60.0, 0.0)))
PARTS = planned_parts(PLAN)
ANNEAL = next(part for part in PARTS if part.purpose == "anneal" and part.part == "hold")
COOLING = [part.index for part in PARTS if part.index > ANNEAL.index]


def held(minutes: float, mean_c: float | None = 516.0, start_s: float = 0.0) -> Part:
    return Part(ANNEAL.index, ANNEAL.step, "hold", start_s, start_s + minutes * 60.0, None, mean_c)


def fell(*rates_c_per_h: float) -> tuple[Part, ...]:
    return tuple(Part(index, PARTS[index].step, "ramp", 1e4 * n, 1e4 * (n + 1), -rate, None)
                 for n, (index, rate) in enumerate(zip(COOLING, rates_c_per_h, strict=False)))


def answered(found: tuple[Part, ...] = (), peak_c: float | None = 800.0) -> dict[Question, object]:
    return {answer.kind: answer for answer in verdict(PARTS, ANNEAL, Evidence(found, peak_c, None))}


@pytest.mark.parametrize(("peak_c", "result"), [
    (800.0, Result.YES), (806.0, Result.YES), (794.0, Result.YES), (806.1, Result.NO), (793.9, Result.NO),
    (None, Result.NOT_KNOWN),
])
def test_a_top_within_six_kelvin_is_reached(peak_c: float | None, result: Result) -> None:
    assert answered(peak_c=peak_c)[Question.TOP].result is result


@pytest.mark.parametrize(("minutes", "mean_c", "offset_k", "result"), [
    (60.0, 516.0, None, Result.YES), (57.0, 516.0, None, Result.YES),  # 3 of 60 min: five in a hundred
    (56.9, 516.0, None, Result.NO), (60.0, 523.0, None, Result.PARTLY), (60.0, 509.0, None, Result.PARTLY),
    (60.0, 526.0, 8.0, Result.YES),  # 2 K after the probe's own 8
    (60.0, None, None, Result.YES),
])
def test_an_anneal_hold_is_judged_by_its_length_and_then_its_mean(
        minutes: float, mean_c: float | None, offset_k: float | None, result: Result) -> None:
    assert anneal_answer(ANNEAL, Evidence((held(minutes, mean_c),), 800.0, offset_k)).result is result


def test_a_hold_in_two_stretches_counts_as_their_sum() -> None:
    found = anneal_answer(ANNEAL, Evidence((held(20.0), held(40.0, start_s=9000.0)), 800.0, None))
    assert (found.result, found.measured.held_s) == (Result.YES, 3600.0)


def test_a_hold_that_nobody_could_have_seen_is_not_known() -> None:
    # From 700 to 400 °C unseen: the kiln may have stood at 516 meanwhile.
    hidden = anneal_answer(ANNEAL, Evidence((), 800.0, None, (Gap(0.0, 7200.0, 700.0, 400.0),)))
    assert (hidden.result, hidden.measured, hidden.unseen.length_s) == (Result.NOT_KNOWN, None, 7200.0)
    seen = anneal_answer(ANNEAL, Evidence((), 800.0, None, (Gap(0.0, 7200.0, 400.0, 100.0),)))
    assert (seen.result, seen.unseen) == (Result.NO, None)


def test_a_hold_with_a_hole_in_it_is_not_known_where_the_hole_may_decide() -> None:
    # 55 min with 20 of them blind: seen are 35, so the blind ones decide; with 10 min in all they cannot.
    hole = (Gap(600.0, 1800.0, 516.0, 516.0),)
    unsure = anneal_answer(ANNEAL, Evidence((held(55.0),), 800.0, None, hole))
    assert (unsure.result, unsure.measured.unseen_s) == (Result.NOT_KNOWN, 1200.0)
    assert anneal_answer(ANNEAL, Evidence((held(31.0),), 800.0, None, hole)).result is Result.NO


@pytest.mark.parametrize(("peak_c", "measured"), [(839.0, 600.0), (841.0, None)])
def test_a_kiln_that_ran_past_its_top_did_not_hold_it(peak_c: float, measured: float | None) -> None:
    """It was near 800 °C for ten minutes, as it climbed past it or held it: 40 K beyond it tell."""
    seen = Evidence((), peak_c, None, near_s={TOP.index: 252.0 + 600.0})  # 14 K at 200 °C/h are 252 s
    holds = {answer.kind: answer for answer in verdict(PARTS, ANNEAL, seen)}[Question.HOLDS]
    assert [hold and hold.held_s for hold in holds.measured] == [measured]
    assert holds.result is (Result.YES if measured else Result.NO)


def test_what_was_read_under_an_open_lid_is_no_hold() -> None:
    found = anneal_answer(ANNEAL, Evidence((held(60.0, None),), 800.0, None, stood=((300.0, 2700.0),)))
    assert (found.result, found.measured.held_s) == (Result.NO, 1200.0)
    beside = anneal_answer(ANNEAL, Evidence((held(60.0),), 800.0, None, stood=((3600.0, 5000.0),)))
    assert beside.result is Result.YES


@pytest.mark.parametrize(("rates", "result", "fastest"), [
    ((55.0, 100.0), Result.YES, None), ((61.0, 112.0), Result.YES, None),  # 1.12 times the plan: 61.6 and 112
    ((62.0, 100.0), Result.NO, 62.0), ((122.0, 111.0), Result.NO, 122.0), ((55.0, 130.0), Result.NO, 130.0),
])
def test_each_cooling_step_is_judged_by_its_own_rate(
        rates: tuple[float, float], result: Result, fastest: float | None) -> None:
    found = answered(fell(*rates))[Question.COOLING]
    assert found.result is result
    assert found.measured == CoolingRates(rates, fastest)
    assert found.asked == CoolingRates((55.0, 100.0))


def test_cooling_steps_that_were_not_run_are_not_known() -> None:
    found = answered()[Question.COOLING]
    assert (found.result, found.measured, found.asked) == (Result.NOT_KNOWN, None, None)


def test_without_a_plan_nothing_is_asked_and_without_an_anneal_only_the_way_up() -> None:
    assert verdict((), None, Evidence((), 800.0, None)) == ()
    asked = verdict(PARTS[:2], None, Evidence((), 800.0, None))
    assert [answer.kind for answer in asked] == [Question.TOP, Question.HOLDS]


TOP = next(part for part in PARTS if part.purpose == "top" and part.part == "hold")


def top_held(minutes: float) -> Part:
    return Part(TOP.index, TOP.step, "hold", 1e4, 1e4 + minutes * 60.0, None, 800.0)


@pytest.mark.parametrize(("minutes", "result"), [
    # Ten minutes asked: three may be missing, seven more are no fault.
    (7.0, Result.YES), (6.9, Result.NO), (17.0, Result.YES), (17.1, Result.NO), (38.0, Result.NO),
])
def test_a_top_is_asked_for_its_time(minutes: float, result: Result) -> None:
    assert answered((top_held(minutes),))[Question.HOLDS].result is result


def test_a_hold_that_the_follower_saw_late_counts_by_the_time_near_it() -> None:
    # The ramp to it, at 200 °C/h, takes 252 s through the last 14 K; 600 s were asked and 180 may be missing.
    short = Evidence((top_held(2.0),), 800.0, None, near_s={TOP.index: 252.0 + 430.0})
    missed = Evidence((), 800.0, None, near_s={TOP.index: 252.0 + 430.0})
    unheld = Evidence((top_held(2.0),), 800.0, None, near_s={TOP.index: 252.0 + 410.0})
    results = [verdict(PARTS, ANNEAL, seen)[1].result for seen in (short, missed, unheld)]
    assert results == [Result.YES, Result.YES, Result.NO]


@pytest.mark.parametrize(("peak_c", "result"), [(775.0, Result.NOT_KNOWN), (755.0, Result.NO)])
def test_a_hold_that_was_not_seen_is_no_only_where_the_kiln_was_never_near_it(peak_c: float, result: Result) -> None:
    """A probe that reads 25 K low shows no hold at 800 °C that was held; one whose kiln stopped at 755 shows a no."""
    assert verdict(PARTS, ANNEAL, Evidence((), peak_c, None))[1].result is result


def test_the_last_hold_of_a_plan_may_go_on_as_long_as_it_likes() -> None:
    parts = planned_parts(Plan("dry", "C", (Step(200.0, 200.0, 600.0),)))
    long = Part(1, 1, "hold", 0.0, 36_000.0, None, 200.0)
    assert verdict(parts, None, Evidence((long,), 200.0, None))[1].result is Result.YES


def frozen(at_s: float, at_c: float = 516.0) -> Disbelief:
    return Disbelief(at_s, at_c, Cause.FROZEN)


def test_after_the_probe_has_failed_nothing_later_is_known() -> None:
    """The anneal began at 20,000 s, and the reading froze twelve minutes later: top and climb were seen by then."""
    lost = frozen(20_720.0)
    seen = Evidence((top_held(10.0), held(12.0, start_s=20_000.0)), 801.0, None, (), lost)
    answers = {answer.kind: answer for answer in verdict(PARTS, ANNEAL, seen)}
    assert answers[Question.TOP].result is Result.YES
    assert answers[Question.HOLDS].result is Result.YES
    for kind in (Question.ANNEAL_HOLD, Question.COOLING):
        assert (answers[kind].result, answers[kind].lost) == (Result.NOT_KNOWN, lost)


def test_what_was_done_before_the_probe_failed_stays_known() -> None:
    """The anneal was whole, and one step of the cooling was too fast, when the reading froze."""
    seen = Evidence((top_held(10.0), held(60.0, start_s=20_000.0), *fell(90.0)), 801.0, None, (), frozen(3e4, 400.0))
    answers = {answer.kind: answer.result for answer in verdict(PARTS, ANNEAL, seen)}
    assert answers[Question.ANNEAL_HOLD] is Result.YES
    assert answers[Question.COOLING] is Result.NO


def test_a_probe_that_failed_on_the_way_up_knows_no_top_but_one_that_was_passed() -> None:
    climb = Part(0, 1, "ramp", 0.0, 9000.0, 200.0, None)
    for peak_c, result in ((640.0, Result.NOT_KNOWN), (812.0, Result.NO)):
        seen = Evidence((climb,), peak_c, None, (), frozen(9000.0, peak_c))
        assert verdict(PARTS, ANNEAL, seen)[0].result is result


def test_a_hold_that_nobody_planned_is_asked_after_by_nobody() -> None:
    # Five minutes stand in the plan as what broke off, eleven were seen; the hold at 800 °C was as planned.
    plan = Plan("as keyed in", "C", (Step(200.0, 800.0, 600.0, "top"), Step(None, 516.0, 300.0), Step(240.0, 450.0),
                                     Step(150.0, 516.0, 3600.0, "anneal")), KeyedIn(2e4, 4, (2, 3)))
    parts = planned_parts(plan)
    found = (Part(1, 1, "hold", 0.0, 600.0, None, 800.0), Part(3, 2, "hold", 3000.0, 4200.0, None, 516.0))
    for made_up, result in ((True, Result.YES), (False, Result.NO)):
        asked = tuple(replace(part, is_made_up=part.is_made_up and made_up) for part in parts)
        answers = {answer.kind: answer for answer in verdict(asked, asked[-1], Evidence(found, 800.0, None))}
        assert answers[Question.HOLDS].result is result


def second_firing(anneal_min: float) -> tuple[Part, ...]:
    """Return a firing that was whole, and then began again: 800 °C a second time, and its anneal so long."""
    ramp = Part(0, 1, "ramp", 30_000.0, 34_000.0, 200.0, 689.0)  # about its mean by 111 K: to 800 °C
    top = replace(top_held(10.0), start_s=34_000.0, end_s=34_600.0)
    return (top_held(10.0), held(62.0, start_s=20_000.0), ramp, top, held(anneal_min, start_s=40_000.0), *fell(55.0))


def test_a_firing_that_began_again_was_heated_twice_and_its_first_anneal_does_not_count() -> None:
    answers = {answer.kind: answer for answer in verdict(
        PARTS, ANNEAL, Evidence(second_firing(63.0), 803.0, None))}
    top = answers[Question.TOP]
    assert (top.result, top.measured.temp_c) == (Result.NO, 803.0)
    assert top.again.temp_c == pytest.approx(800.0, abs=1.0)
    assert answers[Question.ANNEAL_HOLD].measured.held_s == 63 * 60.0
    cut = anneal_answer(ANNEAL, Evidence(second_firing(20.0), 803.0, None))
    assert (cut.result, cut.measured.held_s) == (Result.NO, 1200.0)


def test_the_way_back_to_an_anneal_that_was_cut_short_is_no_second_firing() -> None:
    back = Part(0, 1, "ramp", 24_000.0, 25_600.0, 150.0, 483.0)  # about its mean by 33 K: to 516 °C
    seen = Evidence((top_held(10.0), held(20.0, start_s=20_000.0), back, held(60.0, start_s=25_600.0)), 801.0, None)
    answers = {answer.kind: answer for answer in verdict(PARTS, ANNEAL, seen)}
    assert answers[Question.TOP].result is Result.YES
    assert answers[Question.ANNEAL_HOLD].measured.held_s == 80 * 60.0


def test_a_peak_after_the_anneal_is_what_it_was_heated_to_again() -> None:
    (top, *_) = verdict(PARTS, ANNEAL, Evidence(second_firing(63.0), 1124.0, None))
    assert top.again.temp_c == 1124.0


def test_an_anneal_that_a_second_heat_undid_is_told_for_as_long_as_it_was() -> None:
    seen = Evidence(second_firing(63.0)[:4], 803.0, None)  # nothing after the second top
    found = anneal_answer(ANNEAL, seen)
    assert (found.result, found.measured, found.undone.held_s) == (Result.NO, None, 62 * 60.0)
    assert in_words(found, Units("C")).answer == "No, it was heated again after 62 min of it."


def test_a_climb_after_a_fall_that_came_before_the_top_is_no_second_heat() -> None:
    """A power cut on the climb, which the follower takes for the last fall of the plan."""
    away = replace(fell(55.0)[0], start_s=3_000.0, end_s=12_000.0)
    climb = Part(0, 1, "ramp", 12_000.0, 16_000.0, 200.0, 689.0)
    first = Part(0, 1, "ramp", 0.0, 3_000.0, 120.0, 200.0)
    parts = (first, away, climb, replace(top_held(10.0), start_s=16_000.0, end_s=16_600.0),
             held(62.0, start_s=20_000.0))
    (top, *_) = verdict(PARTS, ANNEAL, Evidence(parts, 802.0, None))
    assert (top.result, top.again, top.is_twice) == (Result.YES, None, False)


def test_a_kiln_that_went_to_its_top_twice_before_its_anneal_is_told_so() -> None:
    top = next(part for part in PARTS if part.index == top_held(2.0).index)
    parts = tuple(replace(part, step=part.step + 1) for part in PARTS)  # so that a step lies before the top's
    ran = replace(top_held(2.0), step=top.step + 1, start_s=10_000.0, end_s=10_120.0)
    again = replace(ran, start_s=20_000.0, end_s=20_600.0)
    first = Part(0, 1, "ramp", 12_000.0, 18_000.0, 50.0, 640.0)
    (told, *_) = verdict(parts, None, Evidence((ran, first, again), 802.0, None))
    assert (told.result, told.is_twice) == (Result.NO, True)
    assert in_words(told, Units("C")).answer == "No, it went there twice."
    own = replace(first, step=ran.step)
    (told, *_) = verdict(parts, None, Evidence((ran, own, again), 802.0, None))
    assert (told.result, told.is_twice) == (Result.YES, False)
