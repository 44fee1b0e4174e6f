"""Whole firings in which somebody looks inside as the top begins: the air under the lid is none of the kiln.

The top is the only hold that shows how the probe reads before the anneal. The truth is that of the bench.
"""

from __future__ import annotations

import pytest

from daemon.firing.report import judge
from simulations.studies.study import case_named


@pytest.mark.parametrize("name", [
    "clean-1143000013",  # read 20 K too low by the mean of a top with two looks inside; the anneal as 22 K too hot
    "clean-1143000076",  # by 12 K, and the anneal as 11 K too hot
])
def test_a_look_at_the_top_makes_no_anneal_too_hot(name):
    case = case_named(name)
    fired = case.fire()
    report = judge(case.setup, case.entries(fired))
    assert "hold-off-target" not in {alert.kind for alert in report.alerts}
    top = max(range(len(case.plan.steps)), key=lambda n: case.plan.steps[n].to_c) + 1
    for true in fired.truth.parts:  # and the top is where it was, to three minutes
        if (true.step, true.part) in ((top, "hold"), (top + 1, "ramp")):
            found = next(p for p in report.parts if (p.step, p.part) == (true.step, true.part))
            assert true.off_s(found.start_s) <= 180.0


def test_an_anneal_that_truly_is_off_wakes_as_without_the_look(fired):
    """With the look counted, the top read 20 K too low, and so did an anneal that was 40 K too cold."""
    night = fired("full-fuse", "lid=30s@step3:hold+1min", "hold-off=-40@step4", seed=1)
    alone = fired("full-fuse", "hold-off=-40@step4", seed=1)
    assert night.wakes
    assert night.wakes[0].kind == alone.wakes[0].kind
    assert abs(night.wakes[0].woke_s - alone.wakes[0].woke_s) <= 180.0


def test_a_top_that_is_left_under_the_lid_is_told(fired):
    """A climb whose lid is opened, and whose power goes with it, has come to no hold."""
    night = fired("full-fuse", "lid=30s@step3:ramp+5min", "power-cut=60min@step3:ramp+6min", seed=1)
    assert any(alert.kind in ("firing-stopped", "sudden-drop") for alert in night.wakes)
    assert not any(part.step == 3 and part.part == "hold" and part.start_s < night.truth.faults[-1].until_s
                   for part in night.report.parts)
