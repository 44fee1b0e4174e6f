"""A probe that dies reads a plausible room, and must never be taken for a cold kiln or a shut lid."""

from __future__ import annotations

import pytest

from daemon.firing.events import Milestone, Rank
from daemon.firing.report import as_json, judge, report
from daemon.firing.situation.probe_doubt import Cause
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.verdict.answer import Question, Result
from daemon.lifecycle.auto_end import ColdWatch

MIN = 60.0


@pytest.mark.parametrize(("step", "part", "after_s"), [(4, "ramp", 900.0), (3, "ramp", 900.0), (4, "hold", 900.0)])
def test_a_probe_that_dies_wakes_says_so_and_stands(fired, step, part, after_s):
    night = fired("full-fuse-6mm")
    at_s = night.part(step, part).start_s + after_s
    dead = [s if s.t_s < at_s else s._replace(temp_c=21.5, low_c=None, high_c=None) for s in night.samples
            if s.t_s < at_s + 3 * 3600]
    (told,) = [a for a in judge(night.setup, dead).alerts if a.kind == "sensor-fault"]
    assert told.rank is Rank.WAKE
    assert 0.0 < told.woke_s - at_s <= 3 * MIN
    assert told.cleared_s is None
    assert told.text.what.startswith("Sensor failed or was pulled out?")
    assert "the kiln's own display" in told.text.do


def test_zeros_among_the_readings_are_told_as_blindness_and_never_as_a_cold_kiln(fired):
    night = fired("full-fuse-6mm")
    hot_s = night.part(4, "hold").start_s
    coded = [s if s.t_s < hot_s or int(s.t_s) // 5 % 4 else s._replace(temp_c=0.0, low_c=None, high_c=None)
             for s in night.samples]
    found, as_it_was = judge(night.setup, coded), judge(night.setup, night.samples)
    assert [(p.step, p.part) for p in found.parts] == [(p.step, p.part) for p in as_it_was.parts]
    wakes = {a.kind for a in found.alerts if a.rank is Rank.WAKE}
    assert wakes <= {"reading-flickers", "sensor-fault", "readings-missing"}

    zero_for_good = [s if s.t_s < hot_s else s._replace(temp_c=0.0, low_c=None, high_c=None) for s in night.samples
                     if s.t_s < hot_s + 3600]
    (told,) = [a for a in judge(night.setup, zero_for_good).alerts if a.rank is Rank.WAKE]
    assert told.kind == "readings-missing"
    assert told.woke_s - hot_s <= 5 * MIN


GLASS = (Question.RELAXED, Question.STRESS, Question.COOLING_BELOW_RANGE)


def _answers(found):
    return {answer.kind: answer for answer in found.verdict}


def test_a_reading_frozen_in_the_anneal_is_praised_for_nothing_it_did_not_see(fired):
    night = fired("full-fuse-6mm", "frozen@step4:hold+5min")
    answers = _answers(night.report)
    assert answers[Question.TOP].result is Result.YES
    assert answers[Question.HOLDS].result is Result.YES
    for kind in (Question.ANNEAL_HOLD, Question.COOLING, *(kind for kind in GLASS if kind in answers)):
        assert answers[kind].result is Result.NOT_KNOWN, kind
        assert answers[kind].lost.cause is Cause.FROZEN
    at_s = night.part(4, "hold").start_s + 5 * MIN
    assert answers[Question.ANNEAL_HOLD].lost.since_s == pytest.approx(at_s, abs=60.0)
    assert night.report.parts[-1].end_s == pytest.approx(at_s, abs=60.0)
    told = as_json(night.report)["glass"]
    assert told["expected_core_mpa"] is None
    assert told["hold"]["worth_min"] is None
    assert told["climb_c_per_h"]["below_300_c"] > 0.0


def test_a_probe_that_fell_to_the_room_is_never_judged_as_the_glass_nor_taken_for_the_end(fired):
    night = fired("full-fuse-6mm")
    at_s = night.part(4, "ramp").start_s + 900.0
    state = begin(night.setup)
    cold = ColdWatch()
    for s in night.samples:
        sample = s if s.t_s < at_s else s._replace(temp_c=22.0 + 0.2 * (int(s.t_s) // 5 % 3), low_c=None, high_c=None)
        state, events = step(state, sample)
        cold.take(sample)
        assert not [event for event in events if isinstance(event, Milestone) and event.name == "may-be-opened"]
    assert cold.is_cold
    now = standing(state)
    assert now.lost_s == pytest.approx(at_s, abs=30.0)
    assert not now.finished
    assert now.planned_c is None
    assert now.glass is None
    assert "Nothing to do" not in now.sentence
    answers = _answers(report(state, [], ()))
    assert answers[Question.ANNEAL_HOLD].result is Result.NOT_KNOWN
    assert {answers[kind].result for kind in GLASS if kind in answers} <= {Result.NOT_KNOWN}
