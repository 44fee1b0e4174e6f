"""A whole firing that a probe reads too hot: the maker is told to end it, sees nothing wrong, and leaves it on.

What happens later must be told as in any other firing. The truth is that of the bench: when the power went.
"""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.plan.plan import parse_plan
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from simulations.firing import read_faults, simulate

ONE_CLIMB = """title = "One climb"
unit = "C"
step = [
    { rate = 250, to = 800, hold_min = 60, purpose = "top" }, { rate = "free", to = 516, hold_min = 60 },
    { rate = 80, to = 406 },
]"""


@pytest.mark.parametrize(("kiln", "moved_k", "seed"), [("top-loader", 26, 1), ("front-loader", 30, 3)])
def test_a_power_cut_in_the_anneal_wakes_after_a_false_alert_of_a_hot_kiln(kiln, moved_k, seed):
    plan = parse_plan(ONE_CLIMB, "one-climb")
    faults = read_faults((f"moved={moved_k}@step1:ramp+600s", "power-cut@step2:hold+20min"), plan)
    fired = simulate(plan, kiln=kiln, faults=faults, seed=seed, until_c=330.0)
    report = judge(Setup(plan, FAMILIES["90"], thickness_mm=6.0), fired.samples)
    stopped = next(alert for alert in report.alerts if alert.kind == "firing-stopped")
    assert (stopped.rank, stopped.under) == (Rank.WAKE, None)
    assert stopped.text.lines
    assert 0.0 < stopped.woke_s - fired.truth.faults[-1].at_s < 900.0
