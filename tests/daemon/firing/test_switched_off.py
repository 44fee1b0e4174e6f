"""Whole firings of a kiln that is too hot: the maker is told to switch it off.

What the readings do as it is switched off is what was asked for, and wakes nobody a second time. What befalls the
probe of a kiln that is still heated does. The truth is that of the bench.
"""

from __future__ import annotations

import pytest

from daemon.firing.report import judge
from simulations.studies.study import case_named


@pytest.mark.parametrize("name", ["welded-falling-1143000005", "welded-falling-1143000007"])
def test_elements_that_fall_silent_at_once_wake_nobody_a_second_time(name):
    """They were on all the time, so that the reading steps down by 50 K within two minutes, and falls on."""
    case = case_named(name)
    alerts = judge(case.setup, case.entries(case.fire())).alerts
    assert [alert.kind for alert in alerts if alert.woke_s is not None] == ["over-temperature"]
    [step] = [alert for alert in alerts if alert.kind == "sudden-drop"]
    assert step.under == "over-temperature"


@pytest.mark.parametrize(("kiln", "seed", "faults"), [
    ("fibre-top-loader", 1, ("runaway=60min@step5:ramp+10min", "fallen=0.4@step5:ramp+15min")),
    ("fibre-top-loader", 2, ("runaway=60min@step5:ramp+10min", "wall-short@step5:ramp+15min")),
    ("top-loader", 2, ("runaway=60min@step5:ramp+10min", "fallen=0.3@step5:ramp+18min")),
    # By a thick sheath: it falls on for two minutes, and comes back by a little for the rest of the hour.
    ("front-loader", 3, ("runaway=120min@step3:ramp+10min", "fallen=0.3@above830")),
])
def test_a_probe_that_falls_out_of_a_kiln_that_is_still_heated_wakes(fired, kiln, seed, faults):
    night = fired("full-fuse", *faults, kiln=kiln, seed=seed)
    fell_s = night.truth.faults[-1].at_s
    assert night.truth.faults[0].until_s > fell_s + 600.0
    told_s = [alert.woke_s for alert in night.report.alerts
              if alert.kind == "over-temperature" and alert.woke_s is not None]
    assert min(told_s) < fell_s
    woke_s = [alert.woke_s for alert in night.report.alerts
              if alert.woke_s is not None and alert.kind in ("sudden-drop", "sensor-fault")]
    assert any(0.0 < at_s - fell_s < 300.0 for at_s in woke_s)


def test_a_probe_that_falls_out_of_a_kiln_long_switched_off_wakes(fired):
    """The readings fell before the step too: that is not the step of elements that fall silent."""
    night = fired("full-fuse", "runaway=25min@step3:hold+5min", "power-cut@5.3h", "fallen=0.5@5.6h", seed=90)
    fell_s = night.truth.faults[-1].at_s
    assert night.truth.faults[-2].at_s < fell_s - 900.0
    assert any(alert.kind == "sudden-drop" and alert.woke_s is not None and 0.0 < alert.woke_s - fell_s < 900.0
               for alert in night.report.alerts)
