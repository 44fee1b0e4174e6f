"""Mains and monitor away together, as in a dark house: the first words when both are back, by where it happened."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge
from simulations.studies.study import case_named

MIN = 60.0
COOLING = "80 °C/h to 461 °C; then 150 °C/h to 406 °C; then off"
FULL = f"then as fast as it goes to 516 °C, hold 60 min; then {COOLING}"


def dark(fired, for_min: int, where: str):
    """Return the one wake of a night in which kiln and monitor were without power."""
    night = fired("full-fuse-6mm", f"power-cut={for_min}min@{where}", f"gap={for_min}min@{where}")
    back = [alert for alert in night.report.alerts if alert.kind == "restarted"]
    assert [alert.rank for alert in back] == [Rank.WAKE]
    assert back[0] in night.wakes
    return back[0], back[0].woke_s - (night.fault_s() + for_min * MIN)


@pytest.mark.parametrize(("for_min", "where", "broke_off", "lines"), [
    (40, "step3:ramp+20min", "on the climb to 800 °C", f"250 °C/h to 800 °C, hold 10 min; {FULL}"),
    (60, "step4:ramp+10min", "The anneal was cut short", f"150 °C/h to 516 °C, hold 60 min; then {COOLING}"),
    (50, "step4:hold+20min", "Below about 370 °C it is too cold to save tonight",
     f"Another day, from cold, key in these lines: 150 °C/h to 516 °C, hold 60 min; then {COOLING}"),
    (25, "step4:hold+20min", "The anneal was cut short", f"150 °C/h to 516 °C, hold 60 min; then {COOLING}"),
    (35, "step5:ramp+10min", "It needs its anneal again", f"150 °C/h to 516 °C, hold 60 min; then {COOLING}"),
])
def test_the_first_wake_after_a_dark_house_says_the_temperatures_and_the_lines(
        fired, for_min, where, broke_off, lines):
    alert, after_s = dark(fired, for_min, where)
    assert 0.0 < after_s <= 2 * MIN
    assert alert.text.what.startswith("Power was off, kiln is at ")
    assert broke_off in alert.text.meaning
    assert lines in alert.text.do


def test_a_top_lost_in_the_dark_is_told_once_the_kiln_climbs_again(fired):
    alert, after_s = dark(fired, 40, "step3:hold+200s")
    assert after_s <= 12 * MIN  # until it climbs, a plan that went on to its free fall looks the same
    assert "It stopped at the top, 800 °C" in alert.text.meaning


@pytest.mark.parametrize(("for_min", "where"), [
    (30, "step2:hold+5min"), (30, "step3:hold+5min"), (60, "step4:ramp+5min"), (50, "step4:hold+40min"),
    (40, "step5:ramp+5min"), (90, "step6:ramp+10min"), (120, "step7:ramp+1h"),
])
def test_a_monitor_that_was_off_alone_wakes_nobody(fired, for_min, where):
    assert fired("full-fuse-6mm", f"gap={for_min}min@{where}").wakes == []


def test_a_firing_that_broke_off_stands_until_it_is_past_mending(fired):
    night = fired("full-fuse-6mm", "power-cut=10h@step4:hold+10min")
    (stopped,) = night.alerts("firing-stopped")
    # The kiln passes 370 °C, below which this night mends nothing (from memory), some time after.
    past_s = next(sample.t_s for sample in night.samples if sample.t_s > stopped.raised_s and sample.temp_c < 370.0)
    assert stopped.cleared_s == pytest.approx(past_s, abs=15 * MIN)
    (back,) = night.alerts("restarted")
    assert "Another day, from cold" in back.text.do


@pytest.mark.parametrize(("cut", "rank"), [
    ("power-cut=40min@step1:ramp+2h", Rank.LOOK),  # at 455 °C a climb that broke off loses nothing
    ("power-cut=40min@step1:ramp+150min", Rank.WAKE),  # at 565 °C
])
def test_power_back_in_the_very_part_it_was_lost_in_is_told_by_the_climb(fired, cut, rank):
    night = fired("full-fuse-6mm", cut)
    (back,) = night.alerts("restarted")
    assert back.rank is rank
    assert 0.0 < back.raised_s - (night.fault_s() + 40 * MIN) <= 10 * MIN
    assert "kiln is reheating" in back.text.what


def test_a_lid_that_is_shut_again_is_no_power_that_is_back(fired):
    night = fired("full-fuse-6mm", "ajar=0.8,15min@step4:hold+20min")
    assert night.alerts("sudden-drop")
    assert [alert for alert in night.wakes if alert.kind == "restarted"] == []


def test_a_controller_that_begins_again_is_told_as_soon_as_it_climbs_from_the_first_hold():
    # From the top it comes down to the first step's 670 °C, holds there for 70 min and climbs again at 848.5 min.
    case = case_named("first-restart-20008")
    report = judge(case.setup, case.entries(case.fire()))
    (again,) = [alert for alert in report.alerts if alert.kind == "restarted"]
    assert again.rank is Rank.WAKE
    assert 0.0 < again.woke_s - 848.5 * MIN <= 6 * MIN
    assert "It fell from 798 °C to 668 °C" in again.text.what
