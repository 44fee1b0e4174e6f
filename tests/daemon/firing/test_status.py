"""Where a firing stands: in its first minutes, and after a time without readings."""

from __future__ import annotations

from math import exp
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


def test_while_it_stands_that_the_firing_stopped_it_says_where_and_forecasts_nothing() -> None:
    """Held at 516 °C for half an hour, then a free fall: 400 °C/h at first, as a kiln of a time constant of 1.2 h."""
    state = begin(Setup(PLAN, FAMILIES["90"]))
    climb_s, top_s, fall_s, hold_s = 14_040, 600, 1800, 1800
    held_s = climb_s + top_s + fall_s
    broke_s = held_s + hold_s
    before = None
    for t_s in range(0, broke_s + 1500, 5):
        temp_c = 20 + 200 * t_s / 3600 if t_s < climb_s else 800.0 if t_s < climb_s + top_s else \
            max(516.0, 800 - 284 * (t_s - climb_s - top_s) / fall_s) if t_s < broke_s else \
            20 + 496 * exp(-(t_s - broke_s) / 4320)
        state, _ = step(state, Sample(float(t_s), temp_c))
        if t_s == broke_s - 5:
            before = standing(state)
    assert before is not None
    assert before.broke_off is None
    assert before.open_at_s is not None
    now = standing(state)
    assert "firing-stopped" in [alert.kind for alert in now.alerts if alert.cleared_s is None]
    assert now.broke_off is not None
    assert (now.broke_off.part.step, now.broke_off.part.part) == (2, "hold")
    assert now.broke_off.at_s == pytest.approx(broke_s, abs=60)
    assert (now.open_at_s, now.next_step, now.next_at_s) == (None, None, None)


def test_a_hold_that_sank_under_its_target_after_a_free_fall_broke_off_where_the_readings_bend() -> None:
    """A free fall runs out at 515 °C, 1 K under the hold, as on the bench; later the power goes.

    The last reading at 516 °C is 100 s · ln 15 = 271 s after the fall: nine minutes before the end of the hold.
    """
    state = begin(Setup(PLAN, FAMILIES["90"]))
    climb_s, top_s, fall_s, hold_s = 14_040, 600, 2700, 800
    held_s = climb_s + top_s + fall_s
    broke_s = held_s + hold_s
    seen = []
    for t_s in range(0, broke_s + 900, 5):
        temp_c = 20 + 200 * t_s / 3600 if t_s < climb_s else 800.0 if t_s < climb_s + top_s else \
            800 - 270 * (t_s - climb_s - top_s) / fall_s if t_s < held_s else \
            515 + 15 * exp(-(t_s - held_s) / 100) if t_s < broke_s else 20 + 495 * exp(-(t_s - broke_s) / 4320)
        state, _ = step(state, Sample(float(t_s), temp_c))
        if t_s > broke_s and t_s % 60 == 0 and (broke := standing(state).broke_off) is not None:
            seen.append(broke)
    assert {(broke.part.step, broke.part.part) for broke in seen} == {(2, "hold")}
    assert seen[-1].at_s == pytest.approx(broke_s, abs=60)
    assert seen[-1].held_s == pytest.approx(hold_s - 92, abs=60)  # within 5 K from 100 s · ln(15 / 6) = 92 s on


def test_while_blind_no_part_no_plan_and_no_next_is_told_but_where_the_plan_is_by_its_clock() -> None:
    state = _climb(begin(Setup(PLAN, FAMILIES["90"])), 0, 7200)
    seen = standing(state)
    assert (seen.clock, seen.next_part) == (None, "hold")
    assert seen.planned_c == pytest.approx(420.0, abs=5.0)  # 20 °C and two hours at 200 °C/h
    state = _climb(state, 7200, 10_800, "open", is_read=False)
    now = standing(state)
    assert (now.part, now.planned_c, now.next_part, now.next_at_s) == (None, None, None, None)
    assert now.clock is not None
    assert now.clock == (pytest.approx(620.0, abs=5.0), pytest.approx(620.0, abs=5.0))  # an hour later
    [alert] = [alert for alert in now.alerts if alert.cleared_s is None]
    assert "By its clock the plan is at about 6" in alert.text.do
