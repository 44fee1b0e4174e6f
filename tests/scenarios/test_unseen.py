"""What nobody saw is not known: no verdict, wake or figure is drawn across a hole without saying so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.commands.printed.report_text import summary
from daemon.firing.report import judge
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.verdict.answer import Question, Result

FULL_FUSE, SLUMP = "full-fuse-6mm", "slump-6mm"


def anneal(night) -> Result:
    return next(a.result for a in night.report.verdict if a.kind is Question.ANNEAL_HOLD)


@pytest.mark.parametrize(("plan", "fault"), [
    (SLUMP, "open@step2:hold+600s"), (FULL_FUSE, "silent=50min@step4:hold+5min"),
    (FULL_FUSE, "gap=167min@step4:ramp+1800s"), (SLUMP, "silent=3h@step2:hold+300s"),
    (FULL_FUSE, "open=3h@step4:ramp"), (SLUMP, "gap=3h@step2:hold+600s"),
])
def test_a_hole_over_the_anneal_is_neither_yes_nor_no_and_wakes_nobody_for_a_hold(fired, plan, fault):
    night = fired(plan, fault)
    assert anneal(night) is Result.NOT_KNOWN
    assert not [a.kind for a in night.report.alerts if a.kind in ("hold-cut-short", "hold-overrun")]
    glass = [a for a in night.report.verdict if a.kind in (Question.RELAXED, Question.STRESS)]
    assert glass
    assert all(answer.unseen is not None or answer.lost is not None for answer in glass)
    words = [a.answer for a in night.report.verdict_in_words() if a.kind in (Question.RELAXED, Question.STRESS)]
    assert all("were not seen" in answer or "there was no reading" in answer for answer in words)
    assert night.report.unseen_s >= 49 * 60.0


def test_a_hole_elsewhere_leaves_the_anneal_answered(fired):
    assert anneal(fired(FULL_FUSE, "gap=20min@step1:ramp+60min")) is Result.YES


def test_the_last_reading_told_is_the_one_before_the_hole(fired):
    night = fired(FULL_FUSE, "gap=167min@step4:ramp+1800s")
    told = next(a for a in night.report.alerts if a.kind == "readings-missing")
    before_c = next(s.temp_c for s in reversed(night.samples) if s.t_s <= told.since_s)
    assert f"The last before was {before_c:.0f} °C" in told.text.what


def test_a_piece_that_was_not_annealed_stays_in_the_sentence(fired):
    night = fired(FULL_FUSE, "power-cut=8h@step4:hold+5min")
    state = begin(night.setup)
    for sample in night.samples:
        if sample.t_s > night.fault_s() + 2 * 3600.0:
            break
        state, _ = step(state, sample)
        if sample.t_s > night.fault_s() + 10 * 60.0 and sample.t_s % 60 == 0:
            assert "Nothing to do" not in standing(state).sentence
    assert "The anneal hold was not whole" in standing(state).sentence


def test_without_a_plan_the_sentence_and_the_report_say_that_little_is_watched(fired):
    night = fired(FULL_FUSE)
    state = begin(replace(night.setup, plan=None))
    for sample in night.samples[:1500]:
        state, _ = step(state, sample)
    assert standing(state).sentence == "Climbing. No plan: nothing but the reading is watched."
    assert "No plan: nothing but the reading is watched." in summary(
        judge(replace(night.setup, plan=None), night.samples[:1500]))


def test_an_annealing_range_crossed_unseen_is_not_known_and_says_what_it_would_be(fired):
    night = fired("full-fuse-6mm", "gap=3h@step4:ramp+10min")
    answers = {answer.kind: answer for answer in night.report.verdict_in_words()}
    assert answers[Question.RELAXED].result is Result.NOT_KNOWN
    assert "of the annealing range were not seen" in answers[Question.RELAXED].answer
    assert answers[Question.CLIMB].result is Result.YES


def test_wires_that_touch_near_the_end_of_the_top_wake(fired):
    night = fired("full-fuse-6mm", "wall-short@step3:hold+8min")
    assert [alert.kind for alert in night.wakes][:1] == ["sudden-drop"]
    assert night.wakes[0].woke_s - night.fault_s() < 180.0
