"""The follower knows the part from temperature alone: no clock, no unit, no zero of time is in it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Sample
from daemon.firing.plan.plan import parse_plan
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.tracking.follower import BEAT_S, Follower
from daemon.firing.tracking.path import path_to
from daemon.firing.tracking.state_costs import Beat
from daemon.glass.materials import FAMILIES

PLAN = parse_plan("""
title = "Three steps"
unit = "C"
step = [
    { rate = 300, to = 600, hold_min = 20 }, { rate = "free", to = 516, hold_min = 30 }, { rate = 60, to = 400 },
]""", "test")
PARTS = planned_parts(PLAN)
IN_FAHRENHEIT = parse_plan("""
title = "Full fuse, until it is past"
unit = "F"
step = [
    { rate = 396, to = 1148 }, { rate = 90, to = 1238, hold_min = 30, purpose = "squeeze" },
    { rate = 450, to = 1472, hold_min = 10, purpose = "top" },
    { rate = "free", to = 960.8, hold_min = 60, purpose = "anneal" }, { rate = 144, to = 861.8 },
    { rate = 270, to = 762.8 },
]""", "the full fuse, in °F")


def run(*legs: tuple[float, float, float], start_c: float = 20.0, error_c_per_h: float = 8.0) -> Follower:
    """Return a follower after legs of (°C/h, minutes, offset of the reading)."""
    follower, t_s, temp_c = Follower(PARTS), 0.0, start_c
    for rate, minutes, offset_k in legs:
        for _ in range(round(minutes * 60 / BEAT_S)):
            t_s += BEAT_S
            temp_c += rate * BEAT_S / 3600
            follower.beat(Beat(t_s, temp_c + offset_k, rate, error_c_per_h, rate, error_c_per_h))
    return follower


def seen(follower: Follower) -> list[tuple[int, str]]:
    """Return (step, part) of the way so far, before and after left out."""
    return [(PARTS[v.state - 1].step, PARTS[v.state - 1].part) for v in path_to(follower.latest())
            if 1 <= v.state <= len(PARTS)]


# --- synthetic beats -----------------------------------------------------------------------------

CLIMB, TOP, FALL, ANNEAL, COOL = (300.0, 116.0), (0.0, 20.0), (-400.0, 12.6), (0.0, 30.0), (-60.0, 60.0)


@pytest.mark.parametrize("offset_k", [-12.0, 0.0, 12.0])
def test_a_plan_run_as_written_is_followed_part_by_part(offset_k):
    legs = [(*leg, offset_k) for leg in (CLIMB, TOP, FALL, ANNEAL, COOL)]
    assert seen(run(*legs)) == [(1, "ramp"), (1, "hold"), (2, "ramp"), (2, "hold"), (3, "ramp")]


def test_before_the_kiln_starts_it_is_before_the_plan():
    assert run((0.0, 180.0, 0.0)).here() == 0
    assert run((0.0, 180.0, 0.0), (300.0, 20.0, 0.0)).here() == 1


def test_a_climb_that_lags_and_a_hold_that_goes_on_need_no_clock():
    slow = run((150.0, 232.0, 0.0), (0.0, 60.0, 0.0))  # half as fast as asked, held three times as long
    assert seen(slow) == [(1, "ramp"), (1, "hold")]


def test_a_skipped_hold_is_left_out_of_the_way():
    way = seen(run((*CLIMB, 0.0), (*TOP, 0.0), (*FALL, 0.0), (*COOL, 0.0)))
    assert way[-1] == (3, "ramp")


def test_a_plan_begun_again_is_in_its_first_step_again():
    follower = run((*CLIMB, 0.0), (*TOP, 0.0), (*FALL, 0.0), (-60.0, 10.0, 0.0), (300.0, 14.0, 0.0))
    assert (PARTS[follower.here() - 1].step, PARTS[follower.here() - 1].part) == (1, "ramp")


def test_it_is_surer_after_an_hour_than_after_a_minute():
    assert run((300.0, 60.0, 0.0)).confidence() > 0.9
    for follower in (run((300.0, 2.0, 0.0)), run((0.0, 30.0, 0.0)), run((*CLIMB, 0.0), (0.0, 1.0, 0.0))):
        assert 0.0 < follower.confidence() <= 1.0


@pytest.mark.parametrize(("gap_s", "beats"), [(20.0, 1.0), (40.0, 2.0), (80.0, 4.0), (100.0, 4.0)])
def test_a_beat_counts_for_the_twenty_seconds_it_stands_for_up_to_four(gap_s, beats):
    # A kiln at 300 °C that climbs as planned: what speaks against "before the plan" (the climb, the heat) grows by as
    # much with every twenty seconds; four beats at once are as good as one that shares nothing with the last.
    follower = Follower(PARTS)
    climb = Beat(0.0, 300.0, 300.0, 8.0, 300.0, 8.0)
    follower.beat(climb)
    before = follower._total[0] - follower._total[1]
    follower.beat(climb._replace(t_s=gap_s))
    first = Follower(PARTS)
    first.beat(climb)
    first.beat(climb._replace(t_s=20.0))
    assert follower._total[0] - follower._total[1] - before == pytest.approx(
        beats * (first._total[0] - first._total[1] - before))


# --- whole firings -------------------------------------------------------------------------------


@pytest.mark.parametrize(("step_no", "part"), [(1, "ramp"), (2, "ramp"), (2, "hold"), (3, "ramp"), (3, "hold"),
                                               (4, "ramp"), (4, "hold")])
def test_joined_in_the_middle_it_finds_its_part_and_raises_nothing(fired, step_no, part):
    # Start is pressed while the kiln has long been under way: second 0 is then, and nothing before it is known.
    night = fired("full-fuse")
    true = night.part(step_no, part)
    joined_s = 5.0 * round((true.start_s + 0.3 * (true.end_s - true.start_s)) / 5)
    until_s = min(true.end_s - 60.0, joined_s + 1800.0)
    state, alerts = begin(night.setup), []
    for sample in night.samples:
        if joined_s <= sample.t_s < until_s:
            state, _ = step(state, sample._replace(t_s=sample.t_s - joined_s))
    here = standing(state).part
    assert (here.step, here.part) == (step_no, part)
    for sample in night.samples:
        if sample.t_s >= until_s:
            state, _ = step(state, sample._replace(t_s=sample.t_s - joined_s))
            alerts = state.board.alerts
    assert alerts == ()
    later = [p for p in night.truth.parts if p.start_s > joined_s]
    found = {(p.step, p.part): p.start_s + joined_s for p in state.boundaries.found}
    assert {(p.step, p.part) for p in later} <= set(found)
    for p in later[:-1]:
        assert found[p.step, p.part] == pytest.approx(p.start_s, abs=180.0)


def key(report, shift_s: float = 0.0):
    """Return everything of a report that has a time, an order or a name."""
    return (
        [(p.index, round(p.start_s - shift_s, 3), round(p.end_s - shift_s, 3)) for p in report.parts],
        [(a.kind, a.rank, round(a.since_s - shift_s, 3), round(a.raised_s - shift_s, 3),
          None if a.woke_s is None else round(a.woke_s - shift_s, 3), a.step, a.under) for a in report.alerts],
        round(report.peak_c, 6), round(report.peak_s - shift_s, 3), report.finished,
    )


FAULTY = ("slow-cooling", "cooling=2.5@step3:ramp")


@pytest.mark.parametrize("shift_s", [-1200.0, -0.5, 37.25, 900.0])
def test_when_start_was_pressed_changes_nothing_but_the_numbers(fired, shift_s):
    night = fired(*FAULTY)
    moved = [sample._replace(t_s=sample.t_s + shift_s) for sample in night.samples]
    assert key(judge(night.setup, moved), shift_s) == key(night.report)


def test_a_year_on_the_clock_changes_nothing(fired):
    night = fired(*FAULTY)
    late = night.samples[round(night.part(1, "ramp").start_s / 5) + 240:]  # the climb is under way
    year_s = 365.25 * 86_400
    moved = [sample._replace(t_s=sample.t_s + year_s) for sample in late]
    plain, shifted = judge(night.setup, late), judge(night.setup, moved)
    assert key(shifted, year_s) == key(plain)


def test_a_plan_in_fahrenheit_is_followed_and_judged_as_the_same_plan_in_celsius(fired):
    for faults in ((), ("cooling=2.5@step5:ramp",), ("power-cut@step3:hold+4min",)):
        night = fired("full-fuse", *faults)
        theirs = judge(replace(night.setup, plan=IN_FAHRENHEIT, unit="F"), night.samples)
        assert key(theirs) == key(night.report)
        assert all("°C" not in alert.text.what for alert in theirs.alerts)


def test_duplicate_and_belated_readings_change_nothing(fired):
    night = fired(*FAULTY)
    jumbled: list[Sample] = []
    for number, sample in enumerate(night.samples):
        jumbled.append(sample)
        if number % 7 == 0:
            jumbled.append(sample._replace(temp_c=1234.0))
        if number % 11 == 5:
            jumbled.append(night.samples[number - 5])
    report = judge(night.setup, jumbled)
    assert key(report) == key(night.report)
    assert report.readings == night.report.readings


def test_the_present_says_what_the_report_will_say(fired):
    night = fired("full-fuse")
    state = begin(night.setup)
    assert standing(state).sentence == "No reading yet."
    hold = night.part(4, "hold")
    for sample in night.samples:
        state, _ = step(state, sample)
        if sample.t_s >= hold.start_s + 1500.0:
            break
    now = standing(state)
    assert (now.part.step, now.part.part, now.next_step, now.next_part) == (4, "hold", 5, "ramp")
    assert now.next_at_s == pytest.approx(hold.end_s, abs=180.0)
    assert now.planned_c == 516.0
    assert now.sentence.startswith("In the anneal hold at 516 °C, as planned")
    assert now.sentence.endswith("Nothing to do.")
    assert not now.finished
    assert now.confidence > 0.9


def test_a_firing_without_a_plan_has_no_plan_to_leave(fired):
    night = fired("full-fuse")
    report = judge(Setup(None, FAMILIES["90"]), night.samples)
    assert report.planned == ()
    assert report.alerts == ()
    assert not any(answer.kind.is_of_plan for answer in report.verdict)
    assert not report.finished
    assert report.peak_c == pytest.approx(night.report.peak_c)
