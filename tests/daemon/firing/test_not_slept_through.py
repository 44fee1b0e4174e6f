"""Whole firings in which nothing, or a look, told of what the maker had to get up for.

The truth is that of the bench: when the power came back, the controller began again, a wire broke or the lid was
opened.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.report import judge
from simulations.studies.study import case_named


@pytest.mark.parametrize(("name", "kind", "from_end", "within_min"), [
    # 2859 s without power: the controller spreads 160 K over its whole first ramp, 35 °C/h.
    ("power-back-1141000003", "restarted", True, 30),
    # 1882 s without power at a top that was as good as done: it climbs from 705 °C to 810 °C again.
    ("power-back-1141000014", "restarted", True, 15),
    # It begins again in the anneal, which the follower takes for the climb, and goes to its top again. It wakes 25 K
    # above the anneal and 200 K below the top.
    ("restart-1141000012", "restarted", True, 40),
    # The thermocouple opens as the follower takes the dip after a free fall for the cooling after the anneal.
    ("open-1141000010", "sensor-fault", False, 10),
    # The lid is opened after 92 of 660 s at the top.
    ("lid-stays-open-1141000012", "sudden-drop", False, 10),
    # The power goes on the climb. The fall slackens from 735 to 440 °C/h within five minutes, in a kiln that swings.
    ("power-gone-climbing-1143000003", "firing-stopped", False, 10),
    # It begins again at 414 °C, after 50 min: 15 °C/h in its first hours.
    ("restart-falling-1143000008", "restarted", True, 40),
])
def test_the_maker_is_woken(name, kind, from_end, within_min):
    case = case_named(name)
    fired = case.fire()
    [fault] = fired.truth.faults
    due_s = fault.until_s if from_end else fault.at_s
    woke_s = [alert.woke_s for alert in judge(case.setup, case.entries(fired)).alerts
              if alert.kind == kind and alert.woke_s is not None]
    assert any(0.0 <= at_s - due_s <= 60.0 * within_min for at_s in woke_s)


def test_a_cut_past_half_of_the_top_wakes_once_the_fall_has_passed_the_anneal():
    """A heavy kiln: at 550 °C it falls by itself with 120 °C/h, and its plan has 80 next."""
    case = case_named("power-gone-1168000007")
    fired = case.fire()
    anneal_c = case.plan.steps[3].to_c
    at_s = {s.t_s: s.temp_c - case.offset_k for s in fired.samples if s.temp_c is not None}
    [stopped] = [alert for alert in judge(case.setup, case.entries(fired)).alerts if alert.kind == "firing-stopped"]
    assert anneal_c - 40.0 < at_s[stopped.woke_s] < anneal_c
    assert stopped.text.lines[0].to_c == anneal_c


@pytest.mark.parametrize("seed", [1, 4])
def test_an_anneal_lost_to_a_lid_left_part_open_in_the_fall_wakes_while_it_can_be_held(fired, seed):
    """The elements hold the kiln some 20 K below its anneal, and it cools on from there as if slowly."""
    night = fired("full-fuse", "ajar=0.6,99h@below600", seed=seed)
    anneal = next(part for part in night.truth.parts if (part.step, part.part) == (4, "hold"))
    [woke] = [alert for alert in night.report.alerts if alert.woke_s is not None and alert.woke_s < anneal.end_s]
    assert woke.kind == "hold-cut-short"
    assert woke.text.lines
    assert woke.woke_s - anneal.start_s < 30 * 60


@pytest.mark.parametrize(("plan", "faults", "kinds", "within_min"), [
    # The mains blinks at the only climb's top: the whole top is held once more, 27 of 15 min.
    ("slump-6mm", ("restart=3min@step1:hold+12min",), {"hold-overrun"}, 22),
    # The relay welds two and five minutes into the fall from the top.
    ("full-fuse", ("runaway@step4:ramp+2min",), {"over-temperature"}, 8),
    ("full-fuse", ("runaway@step4:ramp+5min",), {"over-temperature"}, 11),
    # It welds as the lid, opened for a look at the top, is shut.
    ("full-fuse", ("lid=60s@step3:hold+200s", "runaway@step3:hold+300s"), {"over-temperature"}, 10),
])
def test_a_climb_back_to_the_top_that_goes_on_wakes(fired, plan, faults, kinds, within_min):
    """Until a quarter of an hour after its lowest it looks like what two looks inside leave."""
    night = fired(plan, *faults, longest_s=30_000.0)
    happened = night.truth.faults[-1]
    due_s = happened.at_s if happened.until_s is None else happened.until_s
    assert any(alert.kind in kinds and alert.woke_s is not None and 0.0 <= alert.woke_s - due_s <= 60.0 * within_min
               for alert in night.report.alerts)


def test_a_cut_early_at_a_top_wakes_though_its_elements_shine_on_the_probe_after_a_look():
    """The lid is opened 60 s into a top of 540 s; the power goes 210 s into it, while 30 K too much are read."""
    quiet = case_named("clean-1190000261")
    case = replace(quiet, faults=("lid=33s@step2:hold+60s", "power-cut@step2:hold+210s"), habits=(), interval_s=5)
    fired = case.fire()
    cut_s = fired.truth.faults[-1].at_s
    woke = next(alert for alert in judge(case.setup, case.entries(fired)).alerts if alert.woke_s is not None)
    assert woke.kind == "firing-stopped"
    assert 0.0 < woke.woke_s - cut_s < 7 * 60


@pytest.mark.parametrize("seed", [3, 5])
def test_a_relay_that_welds_as_a_vent_is_shut_in_the_free_fall_wakes(fired, seed):
    """The air steps up as the vent is shut, and then the kiln climbs: the step may not hide that."""
    night = fired("full-fuse", "ajar=0.15,180s@step4:ramp+100s", "runaway@step4:ramp+300s", kiln="front-loader",
                  seed=seed)
    welded_s = night.truth.faults[-1].at_s
    woke_s = {alert.kind: alert.woke_s for alert in night.report.alerts if alert.woke_s is not None}
    assert 0.0 < woke_s["not-cooling"] - welded_s < 5 * 60


@pytest.mark.parametrize("faults", [("drift=5@step4:hold",), ("hum=3",)])
def test_an_anneal_cut_short_wakes_though_its_reading_creeps_up_or_is_noisy(fired, faults):
    """A hold counts until the reading is below where it stood; neither makes it long enough."""
    night = fired("full-fuse", "hold-short=0.5@step4", *faults)
    [woke] = [alert for alert in night.report.alerts if alert.woke_s is not None]
    assert woke.kind == "hold-cut-short"


def test_an_anneal_cut_short_wakes_though_its_ramp_is_so_slow_that_it_is_seen_an_hour_later(fired):
    """By then its beginning is still remembered, by a reading a minute."""
    night = fired("slow-cooling", "hold-short=0.3@step2", "cooling=0.4@step3:ramp", kiln="front-loader",
                  interval_s=60, thickness_mm=9.0)
    woke = next(alert for alert in night.report.alerts if alert.woke_s is not None)
    assert woke.kind == "hold-cut-short"
    assert woke.woke_s - night.part(2, "hold").start_s > 60 * 60


@pytest.mark.parametrize(("moved_k", "within_min"), [(8, 20), (12, 25)])
def test_a_skipped_anneal_wakes_though_its_probe_reads_too_high(fired, moved_k, within_min):
    """The probe moved on the climb to the top, so that the fall reads longer near the anneal than it was."""
    night = fired("full-fuse", "skip-hold@step4", f"moved={moved_k}@step3:ramp")
    left_s = night.part(5, "ramp").start_s
    assert any(alert.kind == "hold-cut-short" and 0.0 < (alert.woke_s or 0.0) - left_s < 60 * within_min
               for alert in night.report.alerts)


@pytest.mark.parametrize(("faults", "within_min"), [
    (("cooling=4@step5:ramp",), 4), (("cooling=2.5@step5:ramp",), 6),
    (("power-cut@step5:ramp+1min",), 4),  # in the dip of its elements
    (("cooling=4@step5:ramp", "hum=3"), 6),
    (("vent=1,90s@step5:ramp", "cooling=2.5@step5:ramp"), 9),  # a dip of 25 K that is back first
])
def test_a_fall_that_goes_on_wakes_though_it_begins_like_a_dip(fired, faults, within_min):
    night = fired("full-fuse", *faults)
    woke_s = [alert.woke_s for alert in night.report.alerts if alert.woke_s is not None]
    assert woke_s[0] - night.part(5, "ramp").start_s < 60 * within_min


@pytest.mark.parametrize(("fault", "within_min"), [("cooling=4@step5:ramp", 6), ("power-cut@step5:ramp", 5)])
def test_a_fall_that_is_read_once_a_minute_is_a_look_at_first_and_wakes_two_minutes_later(fired, fault, within_min):
    night = fired("full-fuse", fault, interval_s=60)
    [woke] = [alert for alert in night.report.alerts if alert.woke_s is not None]
    began_s = night.part(5, "ramp").start_s
    assert (woke.kind, woke.raised_s < woke.woke_s) == ("cooling-too-fast", True)
    assert woke.woke_s - began_s < 60 * within_min


def test_a_relay_that_welds_below_the_annealing_range_wakes(fired):
    """It climbs on, where a controller's kick at the beginning of a step is over in two minutes."""
    night = fired("full-fuse", "runaway@step6:ramp+20min")
    [fault] = night.truth.faults
    assert fault.at_s - night.part(6, "ramp").start_s == 20 * 60
    assert any(0.0 < (alert.woke_s or 0.0) - fault.at_s < 4 * 60 for alert in night.report.alerts)


@pytest.mark.parametrize("faults", [("heating=2.2@step1:ramp+60min",), ("hum=3", "heating=3@step1:ramp+60min")])
def test_a_climb_more_than_twice_as_fast_as_planned_wakes_in_thick_glass(fired, faults):
    """Once ten minutes of it have been seen."""
    night = fired("full-fuse", *faults, thickness_mm=12.0, longest_s=7200.0)
    [woke] = [alert for alert in night.report.alerts if alert.woke_s is not None]
    assert woke.kind == "heating-too-fast"
    assert 0.0 < woke.woke_s - night.truth.faults[-1].at_s < 12 * 60


@pytest.mark.parametrize(("faults", "within_min"), [
    (("sag=0.5@step3:ramp",), 55),
    # The controller waits for 25 min first, so that the climb gathers pace while it is late.
    (("stuck=25min@step3:ramp+2min", "sag=0.6@step3:ramp"), 70),
])
def test_a_kiln_that_lost_half_of_its_power_wakes_though_its_climb_gathers_pace(fired, faults, within_min):
    night = fired("full-fuse", *faults, kiln="top-loader" if len(faults) == 1 else "front-loader")
    woke = next(alert for alert in night.report.alerts if alert.woke_s is not None)
    assert woke.kind == "not-climbing"
    assert woke.woke_s - night.part(3, "ramp").start_s < 60 * within_min


def test_a_fall_of_1_6_times_from_the_beginning_of_its_ramp_wakes(fired):
    """Its elements fall silent as well, and it goes on."""
    night = fired("full-fuse", "cooling=1.6@step5:ramp")
    woke = next(alert for alert in night.report.alerts if alert.woke_s is not None)
    assert woke.kind == "cooling-too-fast"
    assert woke.woke_s - night.part(5, "ramp").start_s < 8 * 60


def test_a_kiln_whose_maker_is_up_is_told_at_once_to_climb_again_and_by_the_same_alert(fired):
    """Five minutes without power at the top have woken her; the alert may not go on to say that nothing heats."""
    night = fired("slump-6mm", "restart=5min@step1:hold+8min", longest_s=30_000.0)
    [woke] = [alert for alert in night.report.alerts if alert.woke_s is not None]
    assert woke.kind == "restarted"


@pytest.mark.parametrize("fault", ["restart@step5:ramp+35min", "restart@step6:ramp+20min"])
def test_a_second_firing_after_the_anneal_wakes_within_ten_minutes(fired, fault):
    """It begins again at 470 and 411 °C, from where it would go to its top of 800 °C once more."""
    night = fired("full-fuse", fault)
    woke_s = [alert.woke_s for alert in night.report.alerts if alert.kind == "restarted" and alert.woke_s is not None]
    assert any(0.0 < at_s - night.fault_s() < 10 * 60 for at_s in woke_s)
