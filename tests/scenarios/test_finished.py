"""A plan is finished only by a kiln that ran it, and a kiln brought back to its anneal is not told to climb on."""

import pytest


@pytest.mark.parametrize("fault", [
    "runaway@step3:hold", "reversed@0s", "fallen=0.9@step1:ramp+60min",
])
def test_a_plan_that_was_not_run_is_not_finished(fired, fault):
    assert not fired("full-fuse", fault).report.finished


def test_a_plan_that_was_run_is_finished(fired):
    assert fired("full-fuse").report.finished


def test_a_kiln_brought_back_to_the_anneal_is_no_stalled_climb(fired):
    night = fired("full-fuse", "power-cut=20min@step4:hold+5min")
    assert "restarted" in [alert.kind for alert in night.report.alerts]
    assert "not-climbing" not in [alert.kind for alert in night.report.alerts]
