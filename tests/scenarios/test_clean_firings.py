"""A clean firing wakes nobody: whatever the plan, the kiln, the probe, and when start was pressed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge

PLANS = ("full-fuse-6mm", "slump-6mm", "refire-6mm", "decal-6mm-fahrenheit", "slow-cooling")


@pytest.mark.parametrize("kiln", ["top-loader", "fibre-top-loader", "front-loader"])
@pytest.mark.parametrize("plan", PLANS)
def test_every_plan_in_every_kiln_is_quiet(fired, plan, kiln):
    night = fired(plan, kiln=kiln)
    assert night.report.alerts == ()


@pytest.mark.parametrize("around", [
    {"seed": 2}, {"seed": 3}, {"start_s": -1200.0}, {"start_s": 1200.0}, {"offset_k": 12.0}, {"offset_k": -12.0},
    {"noise_k": 2.0}, {"wander_k": 1.0},
], ids=str)
def test_no_seed_start_or_probe_makes_a_wake_of_a_clean_firing(fired, around):
    night = fired("full-fuse", **around)
    assert night.wakes == []
    assert night.report.finished


@pytest.mark.parametrize("thickness_mm", [3.0, 6.0, 8.0])
def test_a_load_that_bears_the_plan_is_quiet(fired, thickness_mm):
    assert fired("slow-cooling", thickness_mm=thickness_mm).report.alerts == ()


@pytest.mark.parametrize("every", [2, 4, 12, 24], ids=lambda every: f"every {5 * every} s")
def test_a_slower_logger_is_as_quiet_and_finds_the_same_parts(fired, every):
    night = fired("full-fuse")
    slow = judge(night.setup, night.samples[::every])
    assert slow.alerts == ()
    assert slow.gaps_s == 0.0
    assert [(p.step, p.part) for p in slow.parts] == [(p.step, p.part) for p in night.report.parts]
    for ours, theirs in zip(night.report.parts, slow.parts, strict=True):
        assert theirs.start_s == pytest.approx(ours.start_s, abs=60.0 + 5.0 * every)


def test_a_reading_every_second_is_judged_as_well(fired):
    night = fired("slow-cooling")
    dense = [sample._replace(t_s=sample.t_s + second, temp_c=sample.temp_c + 0.01 * second)
             for sample in night.samples[:6000] for second in range(5)]
    fast = judge(night.setup, dense)
    assert fast.alerts == ()
    for ours, theirs in zip(night.report.parts, fast.parts[:-1], strict=False):
        assert theirs.start_s == pytest.approx(ours.start_s, abs=60.0)


def test_one_mad_reading_wakes_nobody(fired):
    night = fired("full-fuse")
    for at, mad_c in ((night.part(3, "hold").start_s + 200, 1300.0), (night.part(4, "hold").start_s + 900, -20.0),
                      (night.part(5, "ramp").start_s + 900, 20.0)):
        samples = list(night.samples)
        number = round(at / 5)
        samples[number] = samples[number]._replace(temp_c=mad_c)
        report = judge(night.setup, samples)
        assert [alert for alert in report.alerts if alert.rank is Rank.WAKE] == []
        assert report.peak_c == pytest.approx(night.report.peak_c, abs=0.5)


def test_a_firing_judged_for_thicker_work_looks_but_is_the_same_firing(fired):
    night = fired("full-fuse")
    thick = judge(replace(night.setup, thickness_mm=19.0), night.samples)
    assert [(p.index, p.start_s) for p in thick.parts] == [(p.index, p.start_s) for p in night.report.parts]
