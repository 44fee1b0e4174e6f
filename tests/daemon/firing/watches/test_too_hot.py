"""How a kiln that ran away is told; when it is found is tested beside daemon.firing.watches.over_temperature."""

from __future__ import annotations

from daemon.firing import example_firing
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.watches.over_temperature import KIND
from daemon.firing.watches.too_hot import Runaway


def test_a_kiln_that_stays_hot_is_not_compared_with_a_climb_that_is_over():
    def said(rate_c_per_h):
        finding = Finding(KIND, Rank.WAKE, 0.0, Runaway(790.0, rate_c_per_h, 250.0))
        return KIND.words(finding, example_firing.speaker())

    assert said(700.0).meaning.startswith("No step of the plan climbs faster than 250 °C/h: the power does not")
    assert "250 °C/h" not in said(0.0).meaning
    assert said(0.0).meaning.startswith("It climbed, and no step asked for that: the power may")
    assert said(0.0).acts == said(700.0).acts
