"""A firing without a plan: its parts are found by themselves, and what can be watched still is."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from daemon.firing.events import Part, PartsRevised, Rank, Sample
from daemon.firing.report import as_json, judge
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking import segments, unplanned
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


@pytest.mark.slow  # a whole firing
def test_a_lid_is_looked_at_but_wakes_nobody_where_no_plan_says_what_should_be():
    case = case_named("lid-opened")
    alerts = judge(replace(NO_PLAN), case.fire().samples).alerts
    assert [(a.kind, a.rank) for a in alerts] == [("sudden-drop", Rank.LOOK)]


# --- small situations ------------------------------------------------------------------------------------


def stretch(start_s, end_s, from_c, to_c):
    return segments.Segment(start_s, end_s, from_c, to_c, (from_c + to_c) / 2, 9000.0 if end_s is None else end_s)


WAITING, UP = stretch(0.0, 600.0, 20.0, 20.0), stretch(600.0, 4200.0, 20.0, 520.0)
HELD, ON, DOWN = stretch(4200.0, 6000.0, 520.0, 520.0), stretch(6000.0, 7800.0, 520.0, 620.0), stretch(
    7800.0, None, 620.0, 320.0)


def test_a_ramp_begins_a_step_and_its_hold_belongs_to_it():
    parts = unplanned.parts_of((UP, HELD, ON, DOWN))
    assert [(p.index, p.step, p.part, p.start_s, p.end_s) for p in parts] == [
        (0, 1, "ramp", 600.0, 4200.0), (1, 1, "hold", 4200.0, 6000.0), (2, 2, "ramp", 6000.0, 7800.0),
        (3, 3, "ramp", 7800.0, None)]
    assert [(p.rate_c_per_h, p.mean_c) for p in parts] == [
        (pytest.approx(500.0), 270.0), (0.0, 520.0), (pytest.approx(200.0), 570.0), (pytest.approx(-900.0), 470.0)]


def test_a_hold_that_is_all_there_is_is_the_first_step():
    assert [(p.step, p.part) for p in unplanned.parts_of((HELD,))] == [(1, "hold")]


@pytest.mark.parametrize(("moved_k", "number"), [(5.0, 1), (7.0, 2)])
def test_a_kiln_that_has_moved_by_less_than_six_kelvin_has_not_begun(moved_k, number):
    first = stretch(0.0, 600.0, 20.0, 20.0 + moved_k)
    assert len(unplanned.parts_of((first, UP))) == number
    assert len(unplanned.parts_of((WAITING,))) == 1  # all that there is


def watched(*legs, from_c=20.0):
    """Return what finds the parts, after legs (°C/h, minutes), and all it told."""
    trail = Trail()
    finder, told, t_s, temp_c = unplanned.Unplanned(trail, FAMILIES["90"]), [], 0.0, from_c
    for rate, minutes in legs:
        for _ in range(round(minutes * 6)):
            trail.offer(t_s, temp_c)
            finder.count_in(temp_c)
            told.append(finder.see(t_s, 0.5, 0.0))
            t_s, temp_c = t_s + 10.0, temp_c + rate / 360
    return finder, [event for event in told if event is not None]


def test_parts_are_told_where_they_change_and_not_otherwise():
    _, told = watched((300.0, 60), (0.0, 60))
    assert [[p.part for p in event.parts] for event in told][-1] == ["ramp", "hold"]
    assert len(told) <= 3
    assert told[0].t_s == 0.0


@pytest.mark.parametrize(("legs", "from_c", "dangerous"), [
    (((300.0, 60),), 250.0, True), (((300.0, 60),), 230.0, False),  # climbing above 540 °C
    (((300.0, 60), (0.0, 60)), 250.0, True),  # held where it had climbed above
    (((300.0, 60), (0.0, 60)), 200.0, False),
    (((300.0, 60), (-300.0, 60)), 250.0, False),  # fallen below the band
    (((300.0, 60), (0.0, 60), (-300.0, 60)), 250.0, False), (((300.0, 60), (0.0, 60), (-60.0, 60)), 250.0, True),
    (((0.0, 30),), 520.0, False),
])
def test_blindness_is_dangerous_climbing_hot_and_after_it_down_to_the_end_of_the_band(legs, from_c, dangerous):
    assert watched(*legs, from_c=from_c)[0].is_dangerous() is dangerous


def test_before_any_reading_nothing_is_dangerous():
    assert not unplanned.Unplanned(Trail(), FAMILIES["90"]).is_dangerous()


@pytest.mark.parametrize(("start_s", "is_told"), [(104.0, False), (106.0, True)])
def test_a_part_that_moves_by_less_than_half_a_minute_is_not_told_again(start_s, is_told):
    # To the half minute nearest: up to 105 s it is the third.
    before, after = (unplanned._told((Part(0, 1, "ramp", s),)) for s in (100.0, start_s))
    assert (before != after) is is_told
