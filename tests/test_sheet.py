"""At the moment of each photograph of docs/sheet.py the alert it is named after really stands, or is over."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def nights():
    """Return docs/nights.py, which is in no package."""
    sys.path.insert(0, str(ROOT / "docs"))
    try:
        import nights
    finally:
        sys.path.pop(0)
    return nights


NAMES = ("power-off", "runaway", "lid-open", "cooling-too-fast", "sensor-failed", "anneal-cut-short", "just-over",
         "power-back")


def test_every_night_is_tried_here(nights):
    assert tuple(nights.NIGHTS) == NAMES


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_alert_has_woken_and_stands_or_is_over_when_the_photograph_is_taken(nights, name):
    night = nights.NIGHTS[name]
    from_s, to_s = night.dark or (0.0, 0.0)
    seen = [sample for sample in night.fired().samples
            if sample.t_s <= night.at_s and not from_s < sample.t_s < to_s]
    found = judge(Setup(night.plan(), FAMILIES["90"], 6.0), seen).alerts
    woken = [alert for alert in found if alert.rank is Rank.WAKE and alert.woke_s is not None]
    assert [alert.kind for alert in woken] == [night.kind]
    assert (woken[0].cleared_s is not None) is night.is_over


@pytest.mark.slow
def test_the_night_with_twelve_alerts_has_twelve(nights):
    from simulations.firing import read_faults, simulate

    plan = nights.NIGHTS["power-off"].plan()
    fired = simulate(plan, faults=read_faults(nights.TWELVE, plan), seed=nights.SEED, longest_s=24_000.0)
    assert len(judge(Setup(plan, FAMILIES["90"], 6.0), fired.samples).alerts) == 12
