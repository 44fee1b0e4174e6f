"""The firing held against its plan: each result of the three questions, from a few parts made by hand."""

from __future__ import annotations

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.trace.gaps import Gap
from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.answer_values import CoolingRates
from daemon.firing.verdict.plan_verdict import anneal_answer, verdict

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
    return {answer.kind: answer for answer in verdict(PARTS, found, ANNEAL, peak_c, None)}


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
    assert anneal_answer(ANNEAL, (held(minutes, mean_c),), offset_k, ()).result is result


def test_a_hold_in_two_stretches_counts_as_their_sum() -> None:
    found = anneal_answer(ANNEAL, (held(20.0), held(40.0, start_s=9000.0)), None, ())
    assert (found.result, found.measured.held_s) == (Result.YES, 3600.0)


def test_a_hold_that_nobody_could_have_seen_is_not_known() -> None:
    # From 700 to 400 °C unseen: the kiln may have stood at 516 meanwhile.
    hidden = anneal_answer(ANNEAL, (), None, (Gap(0.0, 7200.0, 700.0, 400.0),))
    assert (hidden.result, hidden.measured, hidden.unseen.length_s) == (Result.NOT_KNOWN, None, 7200.0)
    seen = anneal_answer(ANNEAL, (), None, (Gap(0.0, 7200.0, 400.0, 100.0),))
    assert (seen.result, seen.unseen) == (Result.NO, None)


def test_a_hold_with_a_hole_in_it_is_not_known_where_the_hole_may_decide() -> None:
    # 55 min with 20 of them blind: seen are 35, so the blind ones decide; with 10 min in all they cannot.
    hole = (Gap(600.0, 1800.0, 516.0, 516.0),)
    unsure = anneal_answer(ANNEAL, (held(55.0),), None, hole)
    assert (unsure.result, unsure.measured.unseen_s) == (Result.NOT_KNOWN, 1200.0)
    assert anneal_answer(ANNEAL, (held(31.0),), None, hole).result is Result.NO


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


def test_without_a_plan_nothing_is_asked_and_without_an_anneal_only_the_top() -> None:
    assert verdict((), (), None, 800.0, None) == ()
    assert [answer.kind for answer in verdict(PARTS, (), None, 800.0, None)] == [Question.TOP]
