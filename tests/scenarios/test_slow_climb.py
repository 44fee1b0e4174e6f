"""A kiln with a weak element climbs ever more slowly to its top: hours in the haze range, and no anneal after it."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank

MIN_S = 60.0


@pytest.mark.parametrize("share", [0.6, 0.65])
def test_a_weak_element_wakes_within_the_hour_and_says_how_to_end_the_firing_with_its_anneal(fired, share):
    night = fired("full-fuse-6mm", f"sag={share}@step3:ramp", longest_s=7 * 3600.0)
    (alert,) = night.alerts("not-climbing")
    assert alert.rank is Rank.WAKE
    late_s = alert.woke_s - night.fault_s()
    assert 30 * MIN_S < late_s < 50 * MIN_S  # the climb itself is planned for half an hour
    assert "the glass gets more heat than planned" in alert.text.meaning
    assert "as fast as it goes to 516 °C, hold 60 min; then 80 °C/h to 461 °C" in alert.text.do
    assert "Don't just switch off: the glass needs its anneal" in alert.text.do
