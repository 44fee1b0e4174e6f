"""Gaps: which stretch without a temperature is kept, how much of it lies where, what it may hide."""

from __future__ import annotations

import pytest

from daemon.firing.trace import gaps

TWO_MINUTES_S = 120.0


def gaps_of(readings, now_s=None, longest_step_s=60.0):
    """Return (from, to, from °C, to °C) of the gaps in readings (s, °C), seen at ``now_s`` or at the last one."""
    memory = gaps.GapMemory()
    for t_s, temp_c in readings:
        memory.see(t_s, temp_c, longest_step_s)
    return [tuple(gap) for gap in memory.holes(readings[-1][0] if now_s is None and readings else now_s or 0.0)]


@pytest.mark.parametrize(("readings", "now_s", "longest_step_s", "found"), [
    ([], 1000.0, 60.0, []),
    ([(0.0, 500.0), (120.0, 499.0)], None, 60.0, []),
    ([(0.0, 500.0), (121.0, 499.0)], None, 60.0, [(0.0, 121.0, 500.0, 499.0)]),
    # A logger that writes every two minutes has no gap for that.
    ([(0.0, 500.0), (200.0, 499.0)], None, 300.0, []),
    ([(0.0, 500.0), (301.0, 499.0)], None, 300.0, [(0.0, 301.0, 500.0, 499.0)]),
    # The gap that lasts has no end yet.
    ([(50.0, 500.0)], 170.0, 60.0, []),
    ([(50.0, 500.0)], 171.0, 60.0, [(50.0, 171.0, 500.0, None)]),
    ([(0.0, 20.0), (200.0, 30.0), (205.0, 31.0), (500.0, 40.0)], 700.0, 60.0,
     [(0.0, 200.0, 20.0, 30.0), (205.0, 500.0, 31.0, 40.0), (500.0, 700.0, 40.0, None)]),
])
def test_a_gap_is_longer_than_two_minutes_and_than_the_loggers_step(readings, now_s, longest_step_s, found):
    assert gaps_of(readings, now_s, longest_step_s) == found


def test_only_the_latest_five_hundred_are_kept():
    readings = [(200.0 * i, 500.0) for i in range(600)]
    found = gaps_of(readings)
    assert len(found) == gaps.MOST == 500
    assert (found[0][1], found[-1][1]) == (200.0 * 100, 200.0 * 599)  # 599 gaps were seen: the first 99 are gone


@pytest.mark.parametrize(("from_s", "to_s", "inside_s"), [
    (0.0, 1000.0, 300.0), (0.0, 250.0, 150.0), (250.0, 1000.0, 150.0), (200.0, 300.0, 100.0), (0.0, 100.0, 0.0),
    (400.0, 500.0, 0.0), (0.0, 50.0, 0.0),
])
def test_what_of_a_gap_lies_between_two_times(from_s, to_s, inside_s):
    assert gaps.Gap(100.0, 400.0, 500.0, 480.0).within(from_s, to_s) == inside_s


@pytest.mark.parametrize(("from_c", "to_c", "may_hide"), [
    (600.0, 500.0, True),  # fell through it
    (503.0, 500.0, True),  # 13 K below: as near as a target can be told
    (501.0, 500.0, False),  # began below it already
    (600.0, 529.0, True),
    (600.0, 531.0, False),  # came back above it: it never was so cold
    (600.0, None, True),  # not back yet
    (501.0, None, False),
])
def test_a_gap_may_hide_a_stay_at_a_level_that_was_fallen_to(from_c, to_c, may_hide):
    assert gaps.Gap(0.0, 600.0, from_c, to_c).hides(516.0) is may_hide
