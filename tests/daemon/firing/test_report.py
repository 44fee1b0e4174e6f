"""The report of a firing: every field that was promised, every figure checked by other means, nothing that is NaN."""

from __future__ import annotations

import json
from math import isfinite
from random import Random

import numpy as np
import pytest

from daemon.firing.events import FAULTS, AlertChanged, Rank, Sample
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.report import as_json, judge, report
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.verdict.answer import Question, Result
from daemon.glass.materials import FAMILIES

SUMMARY = {"peak_c", "peak_s", "duration_s", "finished", "readings", "gaps_s", "offset_c"}
PART = {"step", "part", "start_s", "end_s", "rate_c_per_h", "mean_c", "planned"}
ALERT = {"kind", "rank", "since_s", "raised_s", "woke_s", "cleared_s", "step", "named", "under", "text"}
TEXT = {"what", "meaning", "do", "time_left_s"}
GLASS = {
    "annealing_point_c", "strain_point_c", "softening_point_c", "difference_last_passage_k", "simple_core_mpa",
    "maxwell_core_mpa", "maxwell_surface_mpa", "peak_tension_below_band_mpa", "expected_core_mpa", "haze_range_s",
    "time_above_s",
}
VERDICT = {"question", "answer", "measured", "asked", "kind", "result"}


def numbers(value):
    """Yield every number in a JSON value."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, float | int) and not isinstance(value, bool):
        yield value


def test_the_json_has_the_promised_fields_under_their_names(fired):
    found = as_json(fired("full-fuse", "power-cut@step3:hold+60s").report)
    assert set(found) == {"summary", "parts", "alerts", "glass", "verdict", "caveats"}
    assert set(found["summary"]) == SUMMARY
    assert found["parts"]
    assert all(set(part) == PART for part in found["parts"])
    assert {part["part"] for part in found["parts"]} <= {"ramp", "hold"}
    assert found["alerts"]
    for alert in found["alerts"]:
        assert set(alert) >= ALERT
        assert alert["rank"] in ("wake", "look", "log")
        assert set(alert["text"]) == TEXT
        assert all(isinstance(t_s, float) and isinstance(kind, str) for t_s, kind in alert["named"])
    assert set(found["glass"]) >= GLASS
    assert set(found["glass"]["haze_range_s"]) == {"rising", "falling"}
    assert set(found["glass"]["time_above_s"]) == {"540", "620", "700", "760"}
    assert all(set(answer) == VERDICT for answer in found["verdict"])


def test_the_summary_counts_what_numpy_counts(fired):
    night = fired("full-fuse", "open=2min@step4:hold+10min")
    summary = as_json(night.report)["summary"]
    times = np.array([s.t_s for s in night.samples if s.temp_c is not None])
    temps = np.array([s.temp_c for s in night.samples if s.temp_c is not None])
    assert summary["readings"] == len(times)
    assert summary["duration_s"] == night.samples[-1].t_s - night.samples[0].t_s
    # The highest one-minute median, taken by numpy at every reading; the report looks every 20 s.
    medians = [np.median(temps[i - 11:i + 1]) for i in range(11, len(temps))]
    assert summary["peak_c"] == pytest.approx(max(medians), abs=0.2)
    assert summary["peak_s"] == pytest.approx(times[11 + int(np.argmax(medians))], abs=600.0)
    assert summary["gaps_s"] == 0.0  # blind rows are rows
    assert summary["finished"] is True
    assert summary["offset_c"] is not None


def test_time_above_is_what_counting_rows_gives(fired):
    night = fired("full-fuse")
    above = as_json(night.report)["glass"]["time_above_s"]
    for limit in (540, 620, 700, 760):
        counted_s = 5.0 * sum(s.temp_c > limit for s in night.samples)
        assert above[str(limit)] == pytest.approx(counted_s, rel=0.01, abs=30.0)
    assert above["540"] > above["620"] > above["700"] > above["760"] > 0


def test_without_a_plan_the_glass_is_still_judged(fired):
    found = as_json(judge(Setup(None, FAMILIES["90"]), fired("full-fuse").samples))
    assert {part["planned"] for part in found["parts"]} == {None}
    assert found["verdict"]
    assert not any(Question(answer["kind"]).is_of_plan for answer in found["verdict"])
    assert found["summary"]["finished"] is False
    assert set(found["glass"]) >= GLASS


def answers(night):
    return {answer.kind: answer for answer in night.report.verdict}


def test_the_morning_answers_say_yes_to_a_firing_by_its_plan(fired):
    answers = {a.kind: a for a in fired("full-fuse").report.verdict_in_words()}
    assert answers[Question.TOP].answer == "Yes."
    assert answers[Question.ANNEAL_HOLD].answer == "Yes."
    assert answers[Question.COOLING].result is Result.YES
    assert answers[Question.TOP].asked == "800 °C"


def test_and_no_with_the_figures_to_one_that_left_it(fired):
    short = answers(fired("full-fuse", "hold-short=0.5@step4"))[Question.ANNEAL_HOLD]
    assert short.result is Result.NO
    assert (short.asked.duration_s - short.measured.held_s) / 60 == pytest.approx(30, abs=4)
    fast = answers(fired("slow-cooling", "cooling=2.5@step3:ramp"))[Question.COOLING]
    assert fast.result is Result.NO
    assert fast.measured.fastest_c_per_h > 2.0 * max(fast.asked.steps_c_per_h)
    hot = answers(fired("full-fuse", "runaway@step3:ramp+15min"))[Question.TOP]
    assert hot.result is Result.NO
    assert hot.measured.temp_c > hot.asked.temp_c + 6.0


def test_a_hold_that_the_alert_calls_too_short_is_not_called_good_by_the_verdict(fired):
    """By the glass model 6 mm is relaxed after a fifth of the hold; the alert beside it says it is not annealed."""
    short = answers(fired("full-fuse", "hold-short=0.2@step4:hold"))
    assert short[Question.ANNEAL_HOLD].result is Result.NO
    assert [short[which].result for which in (Question.RELAXED, Question.STRESS)] == [Result.DOUBTFUL] * 2
    enough = answers(fired("full-fuse", "hold-short=0.65@step4:hold"))
    assert [enough[which].result for which in (Question.RELAXED, Question.STRESS)] == [Result.YES_IF] * 2
    whole = answers(fired("full-fuse"))
    assert [whole[which].result for which in (Question.RELAXED, Question.STRESS)] == [Result.YES] * 2


def test_after_wires_have_touched_nothing_is_said_of_the_glass_and_the_alert_stands(fired):
    night = fired("full-fuse-6mm", "wall-short@step4:hold+5min")
    told = answers(night)
    for question in (Question.ANNEAL_HOLD, Question.COOLING, Question.RELAXED, Question.STRESS):
        assert told[question].result is Result.NOT_KNOWN
    woke, = [a for a in night.report.alerts if a.rank is Rank.WAKE]
    assert (woke.kind, [kind for _, kind in woke.named]) == ("sensor-fault", ["sudden-drop"])
    assert woke.cleared_s is None


def test_a_lid_shut_after_long_heats_nothing_and_the_anneal_is_still_missed(fired):
    told = [a for a in fired("full-fuse-6mm", "lid=40min@step4:hold+5min").report.alerts if a.rank is Rank.WAKE]
    assert [a.kind for a in told] == ["sudden-drop", "hold-cut-short"]


def test_milestones_come_once_and_in_their_order(fired):
    events = [e for e in fired("full-fuse").report.events if type(e).__name__ == "Milestone"]
    assert [e.name for e in events] == ["squeeze-begun", "top-reached", "anneal-begun", "anneal-done"]
    night = fired("full-fuse")
    for event, (step_no, part) in zip(events, ((2, "hold"), (3, "hold"), (4, "hold"), (5, "ramp")), strict=True):
        assert 0.0 < event.t_s - night.part(step_no, part).start_s < 600.0
    assert events[1].text == "At the top, 800 °C."


def test_a_steps_own_words_are_said_when_it_begins_and_the_end_says_that_shelves_are_warmer(fired):
    night = fired("decal-6mm-fahrenheit")
    events = {e.name: e for e in night.report.events if type(e).__name__ == "Milestone"}
    assert events["step-2"].text == "Step 2: close the vent"
    assert 0.0 < events["step-2"].t_s - night.part(2, "ramp").start_s < 900.0
    assert "Shelf and mould may be warmer" in events["may-be-opened"].text
    assert "104 °F" in events["may-be-opened"].text


# --- anything at all -----------------------------------------------------------------------------


def odd_plan(rng: Random) -> Plan:
    return Plan("odd", rng.choice("CF"), tuple(
        Step(rng.choice((None, rng.uniform(0.1, 2000), 80.0)), rng.choice((rng.uniform(0, 1400), 516.0, 20.0, 0.0)),
             rng.choice((0.0, 0.0, 600.0, 3600.0, rng.uniform(0, 600_000))),
             rng.choice((None, None, "anneal", "top", "squeeze", "burn-off")), rng.choice((None, "look")))
        for _ in range(rng.randint(1, 6))))


def odd_trace(rng: Random, days: float = 7.0) -> list[Sample]:
    """Return some four hundred readings at most, over ``days`` at most: the glass is reckoned through all of them."""
    t_s, temp_c, slope = rng.choice((0.0, -5000.0, 1e6, 1.7e9)), rng.uniform(0, 900), 0.0
    every_s, wild, samples = rng.choice((0.01, 1.0, 5.0, 60.0, 300.0, 5000.0)), rng.random(), []
    for _ in range(min(rng.choice((1, 2, 3, 5, 30, 400)), max(1, round(days * 86_400 / (4 * every_s))))):
        t_s += every_s * rng.choice((1, 1, 1, rng.uniform(0, 10)))
        slope = rng.uniform(-3000, 3000) if rng.random() < 0.02 else slope
        temp_c = rng.uniform(-60, 1800) if wild < 0.2 else min(1800.0, max(-60.0, temp_c + slope * every_s / 3600))
        blind = wild > 0.9 or rng.random() < 0.05
        samples.append(Sample(t_s, None, rng.choice(FAULTS)) if blind else Sample(t_s, temp_c + rng.gauss(0, 0.3)))
    return samples


@pytest.mark.slow  # forty traces a seed
@pytest.mark.parametrize(("seed", "number", "days"), [*((seed, 40, 7.0) for seed in range(8)), (8, 2, 60.0)])
def test_no_plan_and_no_trace_whatever_gives_nonsense(seed, number, days):
    rng = Random(seed)
    for _ in range(number):
        setup = Setup(rng.choice((None, odd_plan(rng))), FAMILIES[rng.choice(list(FAMILIES))],
                      rng.choice((0.5, 6.0, 300.0)), rng.choice((1, 2)), rng.choice((None, 0.0, -20.0, 100.0)),
                      rng.choice("CF"))
        samples = odd_trace(rng, days)
        state, events = begin(setup), []
        for sample in samples:
            state, brought = step(state, sample)
            events += brought
        now = standing(state)
        assert now.sentence.endswith(".")
        assert 0.0 <= now.confidence <= 1.0
        found = report(state, samples, tuple(events))
        plain = as_json(found)
        text = json.dumps(plain, allow_nan=False)
        assert "nan" not in text.lower()
        assert all(isfinite(number) for number in numbers(plain))
        for part in found.parts:
            assert samples[0].t_s <= part.start_s <= part.end_s <= samples[-1].t_s


@pytest.mark.parametrize("samples", [
    [Sample(0.0, 20.0)], [Sample(0.0, 800.0)], [Sample(0.0, None, "open")], [],
    [Sample(5.0 * n, None, "silent") for n in range(2000)], [Sample(5.0 * n, 20.0) for n in range(2000)],
], ids=["one row", "one hot row", "one blind row", "no row", "all blind", "always the same"])
def test_a_trace_that_says_nothing_is_judged_as_nothing(fired, samples):
    report = judge(fired("full-fuse").setup, samples)
    assert report.parts == ()
    assert not report.woke
    assert not report.finished
    json.dumps(as_json(report), allow_nan=False)


@pytest.mark.parametrize(("fault", "is_enough"), [
    ("skip-hold@step4:hold", False), ("hold-short=0.4@step4:hold", False), ("hold-short=0.65@step4:hold", True)])
def test_alert_and_verdict_agree_on_whether_a_short_anneal_was_enough(fired, fault, is_enough):
    night = fired("full-fuse", fault, seed=3)
    (alert,) = [alert for alert in night.report.alerts if alert.kind == "hold-cut-short"]
    assert (alert.rank is Rank.LOOK) is is_enough
    (stress,) = [answer for answer in night.report.verdict_in_words() if answer.kind is Question.STRESS]
    assert stress.result is (Result.YES_IF if is_enough else Result.DOUBTFUL)
    assert ("MPa" in stress.answer) is is_enough
    assert (stress.measured is None) is not is_enough
    assert ("anneal it again" in stress.answer) is not is_enough


@pytest.mark.parametrize("is_scale_false", [False, True])
def test_by_a_scale_that_is_no_kilns_nobody_is_woken_for_the_plan(fired, is_scale_false):
    night = fired("full-fuse", "skip-hold@step4:hold", seed=3)
    state = begin(night.setup)
    state.doubt.is_scale_false = is_scale_false
    for sample in night.samples:
        state, _ = step(state, sample)
    (short,) = [alert for alert in state.board.alerts if alert.kind == "hold-cut-short"]
    assert short.rank is (Rank.LOOK if is_scale_false else Rank.WAKE)


def test_a_probe_on_another_types_table_is_one_alert_from_first_to_last(fired):
    """A chip set to S takes type K's 18.7 mV at 455 °C for 1768 °C, where its range ends (IEC 60584-1)."""
    night = fired("full-fuse", "set-to-s")
    woke = [alert for alert in night.report.alerts if alert.rank is Rank.WAKE]
    assert [alert.kind for alert in woke] == ["sensor-fault"]
    assert [kind for _, kind in woke[0].named] == ["heating-too-fast", "over-temperature"]
    assert woke[0].cleared_s is None
    hot = [change.t_s for change in night.report.events if isinstance(change, AlertChanged)
           and change.change == "resounded" and change.alert.kind == "over-temperature"]
    assert max(hot) < woke[0].named[-1][0] + 1.0


def test_readings_that_jump_where_no_kiln_is_mute_no_runaway_hours_later(fired):
    """The relay welds in the step to the top; an hour into the firing the probe picks something up for 40 s."""
    night = fired("full-fuse", "runaway@step3", seed=3)
    samples = [sample._replace(temp_c=1500.0) if 3600.0 <= sample.t_s <= 3640.0 else sample
               for sample in night.samples]
    clean, spoilt = ([(alert.kind, alert.woke_s) for alert in made.alerts if alert.woke_s is not None]
                     for made in (night.report, judge(night.setup, samples)))
    assert clean == spoilt
    assert [kind for kind, _ in clean] == ["over-temperature"]
