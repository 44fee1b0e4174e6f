"""Where a firing stands: in its first minutes, and after a time without readings."""

from __future__ import annotations

from random import Random

import pytest

from daemon.firing.events import Sample
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.setup import Setup
from daemon.firing.state import State
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


def _climb(state: State, from_s: int, to_s: int, fault: str | None = None, *, is_read: bool = True) -> State:
    """Go on with a reading every 5 s, of a kiln that climbs at 200 °C/h."""
    for t_s in range(from_s, to_s, 5):
        temp_c = 19.0 + 200.0 * t_s / 3600 if is_read else None
        state, _ = step(state, Sample(float(t_s), temp_c, fault))
    return state


@pytest.mark.parametrize("meanwhile", [(), ("silent", 3000), ("silent", 3300)])
def test_after_a_gap_it_is_told_that_there_are_readings_again_and_never_that_it_is_blind(
        meanwhile: tuple[str, int] | tuple[()]) -> None:
    """Lehrling was off for the last part of twenty minutes, or the chip gave nothing until the end."""
    state = _climb(begin(Setup(PLAN, FAMILIES["90"])), 0, 2400)
    if meanwhile:
        state = _climb(state, 2400, meanwhile[1], meanwhile[0], is_read=False)
        assert "Lehrling is blind" in standing(state).sentence
    state = _climb(state, 3600, 3630)
    now = standing(state)
    [alert] = [alert for alert in now.alerts if alert.cleared_s is None]
    assert alert.kind == "readings-missing"
    assert now.sentence == alert.text.what
    assert now.sentence.startswith("Readings are back after ")
    assert "The last before was 152 °C." in now.sentence
    assert "blind" not in f"{alert.text} {now.other.sentence}"
    assert standing(_climb(state, 3630, 3700)).sentence.startswith("Climbing to 800 °C")


@pytest.mark.parametrize("fault", ["open", "silent"])
def test_a_sensor_that_gives_a_temperature_again_is_told_so_while_its_alert_still_stands(fault: str) -> None:
    state = _climb(begin(Setup(PLAN, FAMILIES["90"])), 0, 2400)
    state = _climb(state, 2400, 2520, fault, is_read=False)
    assert "Lehrling is blind" in standing(state).sentence
    now = standing(_climb(state, 2520, 2535))
    [alert] = [alert for alert in now.alerts if alert.cleared_s is None]
    assert alert.text.what == now.sentence
    assert now.sentence.startswith("Readings are back after 115 s.")
