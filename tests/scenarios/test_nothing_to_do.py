"""The sentence of Now never says that there is nothing to do after damage that can still be mended."""

from __future__ import annotations

from math import inf

import pytest

from daemon.firing.alerts.registry import kind_title
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.verdict.answer import Question, Result

MIN = 60.0
FULL_FUSE = "full-fuse-6mm"


def sentences(night, *spans):
    """Yield the sentence every two minutes in spans of a firing, from one second to before another."""
    state = begin(night.setup)
    for sample in night.samples:
        state, _ = step(state, sample)
        if sample.t_s % 120 == 0 and any(from_s <= sample.t_s < to_s for from_s, to_s in spans):
            yield standing(state).sentence


def test_a_lid_that_stood_open_through_the_anneal_is_never_told_as_nothing_to_do(fired):
    night = fired(FULL_FUSE, "lid=90min@step4:hold+5min", seed=7)
    said = list(sentences(night, (night.part(4, "hold").start_s + 8 * MIN, inf)))
    assert len(said) > 100
    assert not [sentence for sentence in said if "Nothing to do" in sentence]
    assert "anneal the glass again before it is used" in said[-1]


def test_power_that_is_back_leaves_something_to_do_until_the_glass_is_known_to_be_well(fired):
    night = fired(FULL_FUSE, "power-cut=60min@step3:hold+3min", seed=7)
    cut_s, end_s = night.fault_s(), night.samples[-2].t_s
    *early, late = sentences(night, (cut_s + 6 * MIN, cut_s + 300 * MIN), (end_s - 10 * MIN, end_s - 8 * MIN))
    assert len(early) > 100
    assert not [sentence for sentence in early if "Nothing to do" in sentence]
    assert late.endswith("Nothing to do.")


@pytest.fixture
def overheld(fired):
    return fired(FULL_FUSE, "hold-long=3.8@step3:hold")


def test_a_top_held_38_minutes_for_10_is_not_as_planned(overheld):
    answers = {answer.kind: answer for answer in overheld.report.verdict}
    assert answers[Question.HOLDS].result is Result.NO
    top = answers[Question.HOLDS].measured[-1]
    assert top.held_s == pytest.approx(38 * MIN, abs=2 * MIN)
    assert answers[Question.ALARMS].measured.woke == (kind_title("hold-overrun"),)
    (words,) = [told.answer for told in overheld.report.verdict_in_words() if told.kind is Question.HOLDS]
    assert words in ("No, 800 °C 28 min longer.", "No, 800 °C 27 min longer.", "No, 800 °C 29 min longer.")
