"""A hold kept off its target is told as that, whatever the follower makes of it, and by one alert."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank

MIN = 60.0
FULL_FUSE = "full-fuse"


def about_the_hold(night):
    return [a for a in night.report.alerts if a.kind == "hold-off-target" and a.under is None]


@pytest.mark.parametrize("seed", [1, 2])
def test_an_anneal_hold_that_is_too_cold_and_still_does_is_a_look_under_its_own_name(fired, seed):
    night = fired(FULL_FUSE, "hold-off=-16@step4", seed=seed)
    (alert,) = about_the_hold(night)
    # 16 K below 516 °C an hour still relaxes 6 mm: it takes ten minutes.
    assert alert.rank is Rank.LOOK
    assert 0.0 < alert.raised_s - night.fault_s() <= 40 * MIN


@pytest.mark.parametrize("seed", [1, 2])
def test_an_anneal_hold_so_cold_that_it_does_nothing_wakes(fired, seed):
    night = fired(FULL_FUSE, "hold-off=-40@step4", seed=seed)
    wakes = [a for a in night.wakes if a.kind in ("hold-off-target", "hold-cut-short", "firing-stopped")]
    assert wakes
    assert 0.0 < wakes[0].woke_s - night.fault_s() <= 30 * MIN


def test_an_anneal_hold_too_warm_is_a_look_and_no_kiln_that_will_not_cool(fired):
    night = fired(FULL_FUSE, "hold-off=15@step4")
    (alert,) = about_the_hold(night)
    assert alert.rank is Rank.LOOK
    assert all(a.rank is not Rank.WAKE for a in night.report.alerts)


def test_a_hold_four_degrees_off_is_nothing(fired):
    assert about_the_hold(fired(FULL_FUSE, "hold-off=-4@step4")) == []
