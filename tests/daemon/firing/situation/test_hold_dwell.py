"""How long a kiln stood near its holds, and what is taken back where a firing broke off in one.

Of FUSE (tests/daemon/firing/conftest.py) part 3 holds 10 min at 800 °C, after a climb at 300 °C/h.
"""

from __future__ import annotations

import pytest

from daemon.firing.plan.near_target import NEAR_UNKNOWN_K
from daemon.firing.plan.schedule import PlannedPart, passing_s
from daemon.firing.situation.hold_dwell import HoldDwell

TOP = 3


@pytest.fixture
def parts(view_of, along) -> tuple[PlannedPart, ...]:
    return view_of(along((0.0, 20.0), (60.0, 25.0)), 1).parts


def test_only_time_near_the_target_counts_while_the_follower_is_there_or_next_to_it(parts):
    dwell = HoldDwell(parts)
    for second, temp_c, index in ((0, 790.0, 2), (20, 795.0, 2), (40, 801.0, 3), (60, 770.0, 4), (80, 799.0, 6)):
        dwell.see(float(second), temp_c, index)
    assert dwell.near_s[TOP] == 40.0


def test_where_the_firing_broke_off_what_the_alert_tells_counts(parts):
    """Six minutes near it, of which 168 s are the climb and some the fall: the alert told of two minutes."""
    dwell = HoldDwell(parts)
    for second in range(0, 361, 20):
        dwell.see(float(second), 800.0, TOP)
    assert dwell.near_s[TOP] == 360.0
    dwell.was_left(TOP, 120.0)
    assert dwell.near_s[TOP] - passing_s(parts, parts[TOP], NEAR_UNKNOWN_K) == pytest.approx(120.0)
    dwell.was_left(4, 0.0)  # no hold
    for second in range(380, 481, 20):  # the power is back, and the hold goes on
        dwell.see(float(second), 800.0, TOP)
    assert dwell.near_s[TOP] - passing_s(parts, parts[TOP], NEAR_UNKNOWN_K) == pytest.approx(240.0)
