"""A firing without a plan: its parts are found by themselves, and what can be watched still is."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from daemon.firing.events import PartsRevised, Rank, Sample
from daemon.firing.report import as_json, judge
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.glass.materials import FAMILIES
from simulations.studies.study import case_named

NO_PLAN = Setup(None, FAMILIES["90"])


@pytest.fixture(scope="module")
def fired():
    return case_named("plain").fire()


@pytest.fixture(scope="module")
def found(fired):
    return judge(NO_PLAN, fired.samples)


def test_ramps_and_holds_are_found_within_three_minutes(fired, found):
    true = [p for p in fired.truth.parts if p.start_s < 8.5 * 3600]  # later the kiln falls by itself
    told = [p for p in found.parts if p.start_s < 8.5 * 3600]
    assert [(p.step, p.part) for p in told] == [(p.step, p.part) for p in true]
    assert [p.start_s / 60 for p in told] == pytest.approx([p.start_s / 60 for p in true], abs=3.0)


def test_steps_are_counted_and_nothing_is_planned(found):
    parts = as_json(found)["parts"]
    assert [p["planned"] for p in parts] == [None] * len(parts)
    assert parts[0]["step"] == 1
    assert all(b["step"] - a["step"] == (b["part"] == "ramp") for a, b in pairwise(parts))


def test_it_raises_nothing_that_needs_a_plan(found):
    assert found.alerts == ()
    assert found.finished is False


def test_parts_found_live_are_those_found_at_the_end_but_for_the_open_one(fired, found):
    revised = [event for event in found.events if isinstance(event, PartsRevised)]
    cut = fired.samples[:len(fired.samples) // 2]
    state = begin(NO_PLAN)
    for sample in cut:
        state, _ = step(state, sample)
    assert [p.start_s for p in state.found] == [p.start_s for p in found.parts][:len(state.found)]
    assert len(revised) < 60  # told where they changed, not every minute


def test_the_one_sentence_says_what_it_does_and_that_little_is_watched(fired):
    state = begin(NO_PLAN)
    said = set()
    for sample in fired.samples[:5 * 720]:
        state, _ = step(state, sample)
        if sample.t_s % 300 == 0:
            said.add(standing(state).sentence)
    assert "Holding at 670 °C. No plan: nothing but the reading is watched." in said
    assert "Climbing. No plan: nothing but the reading is watched." in said
    assert standing(state).part is not None


def test_a_broken_wire_in_a_hot_kiln_still_wakes(fired):
    samples = [s if s.t_s < 4.7 * 3600 else Sample(s.t_s, None, "open") for s in fired.samples]
    alerts = judge(NO_PLAN, samples[:6 * 720]).alerts
    assert [(a.kind, a.rank) for a in alerts] == [("sensor-fault", Rank.WAKE)]


def test_a_lid_is_looked_at_but_wakes_nobody_where_no_plan_says_what_should_be():
    case = case_named("lid-opened")
    alerts = judge(replace(NO_PLAN), case.fire().samples).alerts
    assert [(a.kind, a.rank) for a in alerts] == [("sudden-drop", Rank.LOOK)]
