"""A hold kept off its target is told as that, whatever the follower makes of it, and by one alert."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank

MIN = 60.0
FULL_FUSE = "full-fuse"


def about_the_hold(night):
    return [a for a in night.report.alerts if a.kind == "hold-off-target" and a.under is None]


@pytest.mark.parametrize("seed", [1, 2])
def test_an_anneal_hold_far_too_cold_wakes_under_its_own_name(fired, seed):
    night = fired(FULL_FUSE, "hold-off=-16@step4", seed=seed)
    (alert,) = about_the_hold(night)
    assert alert.rank is Rank.WAKE
    assert 0.0 < alert.woke_s - night.fault_s() <= 12 * MIN


def test_an_anneal_hold_too_warm_is_a_look_and_no_kiln_that_will_not_cool(fired):
    night = fired(FULL_FUSE, "hold-off=15@step4")
    (alert,) = about_the_hold(night)
    assert alert.rank is Rank.LOOK
    assert all(a.rank is not Rank.WAKE for a in night.report.alerts)


def test_a_hold_four_degrees_off_is_nothing(fired):
    assert about_the_hold(fired(FULL_FUSE, "hold-off=-4@step4")) == []
