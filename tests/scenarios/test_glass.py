"""One rehearsed firing each for the glass: right, five times too fast, hold interrupted, a second wiping the first.

The bench's kiln shares no physics with the slab; the bounds are the closed form's (Adams & Williamson 1920, with the
1.7 of Gardon & Narayanaswamy 1970) and what common practice calls well annealed (1 MPa), doubtful (3) and unsafe.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Sample
from daemon.firing.report import as_json, judge
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.verdict.answer import Question, Result


def answer(report, question: Question) -> Result:
    return next(a.result for a in report.verdict if a.kind is question)


def suffered(report):
    return report.suffered.slabs[0]


def test_a_right_firing_leaves_what_its_rate_leaves(fired):
    # 80 °C/h through the range in 6 mm, one face: 1.7/3 · 0.8077 · 0.889 K = 0.41 MPa.
    night = fired("full-fuse-6mm", seed=3)
    assert suffered(night.report).expected_core_mpa == pytest.approx(0.41, rel=0.2)
    assert answer(night.report, Question.STRESS) is Result.YES
    assert answer(night.report, Question.RELAXED) is Result.YES


def test_five_times_too_fast_leaves_about_five_times_as_much(fired):
    right, fast = fired("full-fuse-6mm", seed=3), fired("full-fuse-6mm", "cooling=5@step5:ramp", seed=3)
    assert 3.0 < suffered(fast.report).expected_core_mpa / suffered(right.report).expected_core_mpa < 6.0
    thick = judge(replace(fast.setup, thickness_mm=12.0), fast.samples)
    assert answer(thick, Question.STRESS) is Result.NO


def test_an_interrupted_hold_keeps_what_the_fall_froze_in(fired):
    cut = fired("full-fuse-6mm", "power-cut=40min@step4:hold+2min", seed=3)
    thick = judge(replace(cut.setup, thickness_mm=12.0), cut.samples)
    right = judge(replace(cut.setup, thickness_mm=12.0), fired("full-fuse-6mm", seed=3).samples)
    # It fell to 393 °C and was held again: the second hold relaxed what the fall had left, so no more stays than the
    # cooling after it leaves.
    assert suffered(thick).expected_core_mpa == pytest.approx(suffered(right).expected_core_mpa, rel=0.1)
    # Left alone where the power went, most of that fall would have stayed.
    fell = [s for s in cut.samples if s.t_s < cut.fault_s() + 2400]
    left = judge(replace(cut.setup, thickness_mm=12.0), [
        *fell, *(Sample(fell[-1].t_s + 60.0 * k, fell[-1].temp_c - 2.0 * k) for k in range(1, 180))])
    assert suffered(left).expected_core_mpa > 1.2 * suffered(right).expected_core_mpa


def test_a_second_firing_wipes_the_first(fired):
    both = fired("annealed-again-12mm", thickness_mm=12.0, longest_s=60 * 3600.0)
    bottom = min((s for s in both.samples if s.temp_c is not None and both.part(2, "ramp").start_s < s.t_s
                  < both.part(3, "hold").start_s), key=lambda s: s.temp_c)
    first = judge(both.setup, [s for s in both.samples if s.t_s <= bottom.t_s])
    assert suffered(first).expected_core_mpa > 2.0
    assert answer(first, Question.STRESS) is Result.NO
    # 25 °C/h in 12 mm, one face: 1.7/3 · 0.8077 · 1.11 K = 0.51 MPa, whatever came before.
    assert suffered(both.report).expected_core_mpa == pytest.approx(0.51, rel=0.1)
    assert answer(both.report, Question.STRESS) is Result.YES


def test_live_and_replayed_figures_are_the_same_to_the_last_digit(fired):
    night = fired("full-fuse-6mm", seed=3)
    state = begin(night.setup)
    for n, sample in enumerate(night.samples):
        state, _ = step(state, sample)
        if n % 500 == 0:
            standing(state)  # asked while it runs, as the page does
    assert as_json(night.report)["glass"] == as_json(judge(night.setup, night.samples))["glass"]
    live = state.load.figures()
    assert live is not None
    assert live.slabs == night.report.suffered.slabs
    assert live.exposure.above_s == night.report.suffered.exposure.above_s


def test_each_thickness_of_a_load_is_judged_as_if_it_were_alone(fired):
    night = fired("full-fuse-6mm", seed=3)
    both = judge(replace(night.setup, thickness_mm=19.0, thinner_mm=(6.0,)), night.samples)
    alone = judge(Setup(night.setup.plan, night.setup.glass, 19.0), night.samples)
    assert both.suffered.slabs == (alone.suffered.slabs[0], night.report.suffered.slabs[0])
    questions = [a.question for a in both.verdict_in_words()]
    assert "Did little enough stress stay in 19 mm?" in questions
    assert "Did little enough stress stay in 6 mm?" in questions
