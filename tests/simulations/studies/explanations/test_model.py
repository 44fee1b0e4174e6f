"""Which explanation fits the readings best, on courses made by hand."""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from simulations.studies.explanations.model import Explanations

FUSE = Plan("Fuse", "C", (Step(240.0, 800.0, 1800.0), Step(60.0, 516.0, 3600.0), Step(60.0, 400.0)))
CLIMB, TOP, COOLING = 1, 2, 3
"""States of the follower."""




@pytest.fixture
def explained(still):
    """Return a function: what the explanations say of each beat of a course."""
    def run(temp_c, state, for_s):
        model = Explanations(planned_parts(FUSE))
        view = still(FUSE, state)
        said = []
        for beat in range(int(for_s / 20)):
            # A fixed zigzag of 0.2 K stands for noise.
            said.append(model.see(beat * 20.0, temp_c(beat * 20.0) + (0.2, -0.1, -0.1)[beat % 3], view))
        return said
    return run


def test_a_hold_that_holds_needs_no_fault(explained):
    said = explained(lambda t_s: 800.0, TOP, 1200)
    assert all(one.kind is None and one.margin_nats < 0 for one in said)


def test_lost_power_in_a_hold_is_told_with_its_onset(explained):
    # Newton's law of cooling, two hours, from 600 s on.
    said = explained(lambda t_s: 20 + 780 * exp(-max(0.0, t_s - 600) / 7200), TOP, 900)
    assert said[29].kind is None
    assert said[-1].kind == "firing-stopped"
    assert said[-1].since_s == pytest.approx(600, abs=60)
    assert said[-1].margin_nats > 8


def test_a_lid_is_told_from_lost_power_by_how_fast_it_falls(explained):
    # 60 K within a time constant of 60 s.
    said = explained(lambda t_s: 800 - 60 * (1 - exp(-max(0.0, t_s - 600) / 60)), TOP, 780)
    assert said[-1].kind == "sudden-drop"


def test_a_lid_that_is_shut_again_is_told_no_longer(explained):
    def course(t_s):
        deepest_k = 60 * (1 - exp(-min(60.0, max(0.0, t_s - 600)) / 60))
        return 800 - (60 * (1 - exp(-max(0.0, t_s - 600) / 60)) if t_s < 660 else
                      deepest_k * exp(-(t_s - 660) / 60))
    said = explained(course, TOP, 1200)
    assert any(one.kind == "sudden-drop" for one in said[30:36])
    assert said[-1].kind is None


def test_a_stall_is_told_and_a_climb_is_not(explained):
    assert all(one.kind is None for one in explained(lambda t_s: 500 + 240 * t_s / 3600, CLIMB, 2400))
    said = explained(lambda t_s: 500 + 240 * min(t_s, 1200.0) / 3600, CLIMB, 3600)
    assert said[-1].fault == said[-1].kind == "not-climbing"


def test_a_fall_at_the_planned_rate_when_the_hold_is_over_is_the_plans(explained):
    # The follower still sees the hold.
    said = explained(lambda t_s: 800 - 60 * max(0.0, t_s - 1800) / 3600, TOP, 3000)
    assert said[-1].kind is None


def test_a_fall_four_times_as_fast_as_planned_is_told(explained):
    said = explained(lambda t_s: 560 - (60 * t_s + 180 * max(0.0, t_s - 600)) / 3600, COOLING, 1200)
    assert said[29].kind is None
    assert said[-1].kind == "cooling-too-fast"
    assert said[-1].since_s == pytest.approx(600, abs=60)
    assert all(one.kind is None for one in explained(lambda t_s: 560 - 60 * t_s / 3600, COOLING, 1800))


def test_a_kiln_that_climbs_where_the_plan_falls_is_told(explained):
    said = explained(lambda t_s: 600 - 60 * min(t_s, 600) / 3600 + 400 * max(0.0, t_s - 600) / 3600, COOLING, 1000)
    assert said[-1].kind in ("not-cooling", "restarted")
    assert said[-1].margin_nats > 8


def test_nothing_is_said_of_a_cold_kiln_or_before_the_plan(explained):
    assert explained(lambda t_s: 80.0, CLIMB, 200) == [None] * 10
    assert explained(lambda t_s: 800.0, 0, 200) == [None] * 10
