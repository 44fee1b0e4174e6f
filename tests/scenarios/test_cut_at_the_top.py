"""Power lost in the top hold, and not back: alert, consequence and verdict tell one story."""

from __future__ import annotations

from daemon.commands.printed.report_text import lines
from daemon.firing.verdict.answer import Question, Result


def test_a_top_cut_short_was_held_equally_long_wherever_it_is_told(fired):
    night = fired("full-fuse-6mm", "power-cut@step3:hold+2min")
    (stopped,) = night.alerts("firing-stopped")
    top = next(alert for alert in night.alerts("hold-cut-short") if alert.step == 3)
    assert "at the top, 800 °C, after 2 of 10 min" in stopped.text.meaning
    assert top.text.what.startswith("Hold at 800 °C ended after 2 of 10 min")
    holds = next(answer for answer in night.report.verdict if answer.kind is Question.HOLDS)
    assert round(holds.measured[-1].held_s / 60) == 2
    rows = [" ".join(line.split()) for line in lines(night.report) if line.startswith("step")]
    assert "step 3, hold 800 °C, 10 min about 2 min" in rows
    assert "step 4, hold 516 °C, 60 min not held" in rows


def test_what_a_hold_did_is_not_asked_where_there_was_none(fired):
    night = fired("full-fuse-6mm", "power-cut@step3:hold+2min")
    answers = {answer.kind: answer for answer in night.report.verdict}
    assert (answers[Question.ANNEAL_HOLD].result, answers[Question.ANNEAL_HOLD].measured) == (Result.NO, None)
    assert Question.RELAXED not in answers
    assert answers[Question.STRESS].result is Result.DOUBTFUL
    assert Question.RELAXED in {answer.kind for answer in fired("full-fuse-6mm").report.verdict}


def test_a_lid_in_the_top_is_no_power_cut_in_the_planned_fall_after_it(fired):
    night = fired("full-fuse-6mm", "lid@step3:hold+5min")
    assert night.alerts("firing-stopped") == []
    assert [alert.kind for alert in night.report.alerts if alert.under is None] == ["sudden-drop"]
