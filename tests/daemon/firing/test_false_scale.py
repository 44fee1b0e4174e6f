"""Whole firings of a probe whose scale is false: another type's table takes off a seventh, or adds it.

Top and anneal are read far too low or too high, though the kiln runs its plan. The truth is that of the bench.
"""

from __future__ import annotations

import pytest

from daemon.firing.report import judge
from simulations.studies.study import case_named


@pytest.mark.parametrize(("name", "wakes"), [
    # The scale is told for an hour; the fall from the top looks like a turn at which nothing was held.
    ("n-set-to-k-1142000004", set()),
    # A hold of twelve minutes at the top, to which the reading creeps, is seen as a turn.
    ("set-to-n-1142000015", {"over-temperature"}),
])
def test_a_scale_that_is_told_does_not_wake_for_what_follows_from_it(name, wakes):
    case = case_named(name)
    alerts = judge(case.setup, case.entries(case.fire())).alerts
    assert {alert.kind for alert in alerts if alert.woke_s is not None} == wakes
    assert any(alert.kind == "wrong-plan" for alert in alerts)
