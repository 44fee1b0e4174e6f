"""Another plan than the one chosen, and the near misses of it, on whole firings."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge
from simulations.studies.scenarios import PLANS
from simulations.studies.study import case_named

STORED = tuple(PLANS.values())


@cache
def judged(name, others=STORED, **changes):
    case = replace(case_named(name), **changes)
    return judge(replace(case.setup, others=others), case.entries(case.fire()))


def wrong(report):
    return [alert for alert in report.alerts if alert.kind == "wrong-plan"]


def test_a_slump_run_instead_of_the_chosen_fuse_is_named():
    report = judged("wrong-plan")
    (alert,) = wrong(report)
    assert alert.rank is Rank.LOOK
    assert "It stopped at 651 °C and 516 °C" in alert.text.what
    assert "the plan “slump” asks: 650 °C and 516 °C" in alert.text.what
    # It fell away from a top that the chosen plan doesn't have, which woke; once it is understood nothing wakes.
    assert [a.kind for a in report.alerts if a.woke_s is not None and a.woke_s > alert.raised_s] == []
    assert {a.under for a in report.alerts if a.raised_s > alert.raised_s} <= {"wrong-plan"}


def test_figures_read_in_the_other_unit_are_named_without_any_stored_plan_and_wake_nobody():
    report = judged("wrong-unit", others=())
    (alert,) = wrong(report)
    assert alert.rank is Rank.LOOK
    assert alert.text.what == (
        "The controller may be set to °F, not °C. It stopped at 354 °C: the plan's 670, read as °F.")
    assert not report.woke


@pytest.mark.parametrize(("wiring", "types"), [
    ("n-set-to-k", "as a type N sensor reads when type K is set"),
    ("set-to-n", "as a type K sensor reads when type N is set"),
])
def test_a_probe_of_another_type_than_is_set_is_named_by_the_first_hold(wiring, types):
    report = judged("plain", others=(), faults=(wiring,))
    (alert,) = wrong(report)
    assert types in alert.text.what
    # By the end of the first hold: 220 °C/h to 620 and 50 °C/h to 670 take 3:47 h, the hold 30 min; 15 to spare.
    assert alert.raised_s < (3 * 60 + 47 + 30 + 15) * 60


def test_one_alert_keeps_its_number_when_what_looked_like_a_stall_is_another_plan():
    (alert,) = wrong(judged("wrong-unit", others=()))
    assert [kind for _, kind in alert.named] == ["not-climbing"]


@pytest.mark.parametrize("name", [
    "controller-that-waits", "tired-elements", "probe-12-low", "stuck-climbing", "anneal-15-low", "power-back",
])
def test_lateness_stretched_ramps_tired_kilns_and_single_faults_are_no_other_plan(name):
    assert wrong(judged(name)) == []


def test_a_hotter_plan_is_named_by_its_first_stop_above_the_chosen_top_and_its_heat_wakes_before():
    # A low fire to 585 °C is chosen; a slump to 645 °C at the same rate runs.
    case = case_named("first-wrong-plan-20001")
    report = judge(case.setup, case.entries(case.fire()))
    (alert,) = wrong(report)
    (hot,) = [a for a in report.alerts if a.kind == "over-temperature"]
    assert hot.rank is Rank.WAKE
    stop_s = 271 * 60.0  # the true hold at 645 °C begins at 270.9 min
    assert hot.woke_s < stop_s < alert.raised_s < stop_s + 20 * 60


def test_power_that_fails_under_the_wrong_plan_still_wakes():
    report = judged("wrong-plan", faults=("power-cut@step2:hold+25min",))
    (alert,) = wrong(report)
    assert any(a.woke_s is not None and a.woke_s > alert.raised_s for a in report.alerts)
