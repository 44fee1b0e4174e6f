"""Whole firings whose lid stands open in a hold, or whose power goes: what is told, and which parts were run.

The truth is that of the bench: from when to when the fault lasted, and what the controller ran.
"""

from __future__ import annotations

import pytest

from daemon.firing.events import AlertChanged, Rank
from daemon.firing.report import judge
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.verdict.answer import Question, Result
from simulations.studies.study import case_named


@pytest.fixture(scope="module", params=[3, 7])
def opened(request, fired):
    """Return a firing whose lid stands open for 40 min in its anneal."""
    return fired("full-fuse", "lid=40min@step4:hold+15min", seed=request.param)


def test_the_lid_is_told_until_it_is_shut(opened):
    lid = opened.truth.faults[0]
    alert = next(alert for alert in opened.report.alerts if alert.kind == "sudden-drop")
    assert alert.since_s == pytest.approx(lid.at_s, abs=30.0)
    assert 0.0 < alert.cleared_s - lid.until_s < 180.0


def test_the_anneal_that_is_lost_by_it_wakes_with_lines_to_key_in(opened):
    lost = next(alert for alert in opened.report.alerts if alert.kind == "hold-cut-short" and alert.rank is Rank.WAKE)
    assert lost.text.lines
    assert lost.under is None
    answer = next(answer for answer in opened.report.verdict if answer.kind is Question.ANNEAL_HOLD)
    assert answer.result is Result.NO
    assert answer.measured.held_s < 20 * 60  # of 60 min, the lid stood open in 40


@pytest.mark.parametrize("step", [3, 4])
def test_one_alert_tells_of_the_lid_and_of_the_anneal_that_it_costs(fired, step):
    """The lid's, with the controller to be stopped first and the lines; the lost anneal stands under it."""
    night = fired("full-fuse", f"lid=40min@step{step}:hold+5min", seed=3)
    shut_s = night.truth.faults[0].until_s
    woke = [alert for alert in night.report.alerts if alert.woke_s is not None and alert.woke_s < shut_s]
    assert [alert.kind for alert in woke] == ["sudden-drop"]
    (now,) = [told for told in night.report.alerts if told.kind == "hold-cut-short" and told.since_s < shut_s]
    assert now.under == "sudden-drop"
    said = [event.alert.text for event in night.report.events if isinstance(event, AlertChanged)
            and event.alert.kind == "sudden-drop" and event.change in ("woke", "resounded")][-1]
    assert said.acts[0].startswith("Lid open? Stop the controller first")
    assert any(line.to_c == 516.0 and line.hold_s == 3600.0 for line in said.lines)
    assert said.lines[0].rate_c_per_h < 200.0


def test_a_kiln_heated_against_a_lid_that_is_told_is_no_power_that_is_back():
    """A lid ajar from the top on: 138 K at once. Then the elements bring the reading up by 25 K in 20 min."""
    case = case_named("ajar-top-1143000012")
    alerts = judge(case.setup, case.entries(case.fire())).alerts
    assert alerts[0].named[0][1] == "sudden-drop"
    assert alerts[0].woke_s is not None
    assert "restarted" not in {alert.kind for alert in alerts if alert.woke_s is not None}


@pytest.mark.parametrize("kiln", ["fibre-top-loader", "top-loader"])
def test_power_that_is_back_under_a_lid_that_stands_open_wakes(fired, kiln):
    """The mains goes two minutes after the lid was opened, and the kiln falls on."""
    night = fired("full-fuse", "ajar=0.3,99h@step4:hold+10min", "power-cut=40min@step4:hold+12min", kiln=kiln, seed=3)
    back_s = night.truth.faults[1].until_s
    assert any(alert.woke_s is not None and 0.0 < alert.woke_s - back_s < 1800.0 for alert in night.report.alerts)


def parts(night):
    return [(part.step, part.part) for part in night.report.parts]


def test_no_part_is_told_that_nobody_ran(opened):
    ran = [(part.step, part.part) for part in opened.truth.parts]
    assert parts(opened) == ran[:len(parts(opened))]


def test_air_under_a_lid_shows_no_offset(fired):
    night = fired("full-fuse", "lid=40min@step2:hold+5min", seed=7)
    assert abs(night.report.offset_k or 0.0) < 5.0
    assert "hold-off-target" not in {alert.kind for alert in night.report.alerts}


def test_a_hold_has_no_mean_of_the_air_under_a_lid(opened):
    means = [part.mean_c for part in opened.report.parts if part.part == "hold"]
    assert means[:2] == [pytest.approx(670.0, abs=6.0), pytest.approx(800.0, abs=6.0)]
    assert means[2:] == [None]


def test_after_a_power_cut_the_climb_goes_on_in_the_step_that_broke_off(fired):
    cut = fired("full-fuse", "power-cut=40min@step3:hold+2min", seed=7)
    assert parts(cut) == [(part.step, part.part) for part in cut.truth.parts][:len(parts(cut))]
    again = next(part for part in cut.report.parts if part.start_s > cut.truth.faults[0].at_s + 600.0)
    assert (again.step, again.part) == (3, "ramp")
    assert again.start_s == pytest.approx(cut.truth.faults[0].until_s, abs=120.0)


def test_while_it_climbs_back_no_step_is_named(fired):
    cut = fired("full-fuse", "power-cut=40min@step4:hold+2min", seed=3)
    state = begin(cut.setup)
    for sample in cut.samples:
        if sample.t_s > cut.truth.faults[0].until_s + 600.0:
            break
        state, _ = step(state, sample)
    now = standing(state)
    assert (now.part, now.planned_c, now.next_step, now.next_part) == (None, None, None, None)
    assert state.found[-1].start_s < cut.truth.faults[0].at_s


def test_a_runaway_is_in_no_part_of_the_plan(fired):
    ran = fired("full-fuse", "runaway@step3:hold+2min", seed=3, longest_s=6.5 * 3600.0)
    assert parts(ran)[-1] == (3, "ramp")
    assert next(answer for answer in ran.report.verdict if answer.kind is Question.HOLDS).measured[1] is None
