"""The first minutes of a firing: a probe's noise at room temperature is neither a fall nor heat in the glass."""

from __future__ import annotations

from random import Random

from daemon.firing.events import Sample
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.glass.materials import FAMILIES

PLAN = Plan("fuse", "C", (Step(200.0, 800.0, 600.0, "top"), Step(None, 516.0, 3600.0, "anneal"), Step(55.0, 40.0)))


def test_the_noise_of_a_cold_kiln_is_told_as_nothing() -> None:
    noise = Random(4)
    state = begin(Setup(PLAN, FAMILIES["90"]))
    for n in range(48):
        state, _ = step(state, Sample(5.0 * n, 19.0 + noise.gauss(0.0, 0.7)))
        now = standing(state)
        assert now.sentence.startswith("Waiting for the kiln to start."), now.sentence
        assert now.glass_lines == ()
        assert now.rate_c_per_h is None or abs(now.rate_c_per_h) < 60.0


def test_a_climb_is_told_within_minutes_and_the_glass_from_above_any_room() -> None:
    state = begin(Setup(PLAN, FAMILIES["90"]))
    for n in range(240):
        state, _ = step(state, Sample(5.0 * n, 19.0 + 200.0 * 5.0 * n / 3600))
    now = standing(state)
    assert now.sentence.startswith("Climbing")
    assert now.glass_lines
