"""A kiln that climbs where its plan has only falls left: the isolator first, for as long as it climbs."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.status import standing
from daemon.firing.step import begin, step

MIN = 60.0
FULL_FUSE = "full-fuse-6mm"


def wakes_that_stand(state):
    return [alert for alert in state.board.alerts if alert.rank is Rank.WAKE and alert.cleared_s is None]


@pytest.mark.parametrize("where", ["step4:hold", "step4:hold+30min", "step5:ramp+10min", "step7:ramp+60min"])
def test_a_welded_relay_after_the_top_wakes_with_the_isolator_and_stays_until_it_falls(fired, where):
    night = fired(FULL_FUSE, f"runaway=100min@{where}", longest_s=12 * 3600.0)
    began_s = night.fault_s()
    first = min(night.wakes, key=lambda alert: alert.woke_s)
    assert 0.0 < first.woke_s - began_s <= 8 * MIN
    assert first.text.do.startswith(("Switch off now at the isolator", "Switch off at the isolator"))
    state = begin(night.setup)
    for sample in night.samples:
        state, _ = step(state, sample)
        if first.woke_s < sample.t_s < began_s + 100 * MIN and sample.t_s % 60 == 0:
            assert wakes_that_stand(state)
            assert "Nothing to do" not in standing(state).sentence
    assert not wakes_that_stand(state)  # it has fallen since


@pytest.mark.parametrize("where", ["step4:hold+20min", "step5:ramp+20min"])
@pytest.mark.parametrize("seed", [1, 3])
def test_a_controller_that_begins_again_after_the_top_leads_with_the_isolator_too(fired, where, seed):
    # At the plan's own rate no reading tells it from a welded contact: what the controller shows and obeys does.
    night = fired(FULL_FUSE, f"restart@{where}", seed=seed, longest_s=12 * 3600.0)
    alert = next(a for a in night.report.alerts if a.kind == "restarted")
    assert alert.rank is Rank.WAKE
    assert alert.woke_s - night.fault_s() <= 20 * MIN
    assert all(a.kind != "over-temperature" for a in night.report.alerts)
    # It holds at 670 °C on its way to a second top: the alert ends when it falls from there, and not before.
    again = [sample.t_s for sample in night.samples if sample.t_s > alert.woke_s and sample.temp_c > 780.0]
    assert again
    assert max(again) < alert.cleared_s < max(again) + 40 * MIN
    state = begin(night.setup)
    for sample in night.samples:
        if sample.t_s > alert.cleared_s - 60.0:
            break
        state, _ = step(state, sample)
    told = state.board.text_now(alert.no)
    assert told.do.startswith("Switch off at the isolator, the kiln's main switch, unless the controller shows")
    assert "hold 60 min; then 80 °C/h to 461 °C" in told.do


def test_a_relay_that_welds_on_the_first_climb_wakes_as_the_kiln_passes_its_hold_and_until_it_is_too_hot(fired):
    night = fired(FULL_FUSE, "runaway@step1:ramp+30min", seed=7, longest_s=4 * 3600.0)
    (alert,) = night.alerts("over-temperature")
    passed_s = next(sample.t_s for sample in night.samples if sample.temp_c > 670.0)
    (renamed_s, before), = alert.named  # it woke for the climb already, and is the same alert
    assert (before, alert.woke_s < passed_s) == ("heating-too-fast", True)
    assert 0.0 < renamed_s - passed_s <= 10 * MIN  # 25 K above, as an unknown probe asks: 7 min at 219 °C/h
    assert alert.text.what.startswith("Kiln may not stop")
    assert alert.text.do.startswith("Switch off at the isolator")
    assert alert.cleared_s is None


@pytest.mark.parametrize("harmless", ["lid=2min@step7:ramp+60min", "lid=2min@step4:hold+20min",
                                      "vent=0.5,10min@step7:ramp+30min"])
def test_air_that_comes_back_under_a_shut_lid_is_no_runaway(fired, harmless):
    night = fired(FULL_FUSE, harmless, longest_s=12 * 3600.0)
    assert not [alert for alert in night.report.alerts if alert.kind in ("over-temperature", "restarted")]


@pytest.mark.parametrize("lid", ["lid=20min@step5:ramp+10min", "lid=12min@step5:ramp+10min",
                                 "lid=45min@step5:ramp+10min"])
def test_a_lid_that_is_shut_after_a_while_gives_back_what_the_kiln_kept(fired, lid):
    """Brick and glass stay near 500 °C under air of 412: it comes back at 2900 °C/h, as no element heats."""
    night = fired(FULL_FUSE, lid, seed=7, longest_s=9 * 3600.0)
    assert [alert.kind for alert in night.wakes] == ["sudden-drop"]


def test_a_relay_that_welds_while_the_lid_is_open_is_found_once_the_kiln_passes_what_it_had(fired):
    """It must come from 412 °C to the 503 it had and 10 more; at full power that is a quarter of an hour."""
    night = fired(FULL_FUSE, "lid=20min@step5:ramp+10min", "runaway=100min@step5:ramp+20min", seed=7,
                  longest_s=9 * 3600.0)
    shut_s = night.part(5, "ramp").start_s + 30 * MIN
    (told,) = [a for a in night.wakes if a.kind == "over-temperature"]
    assert 0.0 < told.woke_s - shut_s <= 15 * MIN
    assert told.text.do.startswith("Switch off now at the isolator")


def test_power_that_comes_back_after_a_night_is_a_return_to_the_anneal_and_no_runaway(fired):
    night = fired(FULL_FUSE, "power-cut=8h@step4:hold+5min")
    assert [a.kind for a in night.wakes] == ["firing-stopped", "restarted"]


def test_a_climb_straight_through_a_hold_is_told_though_it_is_found_a_step_behind(fired):
    night = fired("full-fuse-6mm", "runaway@step1:ramp+2h", longest_s=8 * 3600.0)
    first = night.alerts("over-temperature")[0]
    assert first.rank is Rank.WAKE
    assert first.text.what.startswith("Kiln may not stop")
    assert "It passed its hold at 670 °C" in first.text.what


def test_a_runaway_in_the_fall_is_one_wake(fired):
    night = fired("full-fuse-6mm", "runaway=40min@step5:ramp+10min")
    climbing = [alert for alert in night.wakes if alert.raised_s < night.fault_s() + 40 * 60]
    assert [alert.kind for alert in climbing] == ["over-temperature"]
