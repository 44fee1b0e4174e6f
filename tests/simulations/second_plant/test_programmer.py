"""How a controller runs its program: clocks, waits, cuts, keys."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulations.plant.controller import Segment
from simulations.second_plant.programmer import Habits, Programmer

PROGRAM = (Segment(600.0, 500.0, 600.0), Segment(None, 300.0, 0.0), Segment(600.0, 100.0, 0.0))
HABITS = Habits("arrival", 4.0, 0.0, False, True, 5.0, False, "goes-on")


def run(habits: Habits, behind_k: float = 0.0, until_s: float = 9000.0, settle_k: float = 0.0) -> Programmer:
    """Return a controller that ran PROGRAM with a kiln ``behind_k`` behind its set-point.

    In a hold the kiln settles to ``settle_k`` below the target, a kelvin in 100 s.
    """
    controller = Programmer(PROGRAM, habits)
    controller.start(0.0, 20.0)
    t_s, here_c, low_k = 0.0, 20.0, behind_k
    while t_s < until_s:
        t_s += 5.0
        setpoint_c = controller.step(t_s, here_c, 5.0)
        if setpoint_c is None:
            break
        if controller.target_c == 500.0:
            low_k = max(settle_k, low_k - 0.05)
        here_c = setpoint_c - low_k if controller.index == 0 else max(setpoint_c, here_c - 1.0)
    return controller


def start_s(controller: Programmer, step: int, part: str) -> float:
    """Return when a part began."""
    return next(p.start_s for p in controller.ran if (p.step, p.part) == (step, part))


def test_parts_come_in_order_and_end_where_the_next_begins():
    ran = run(HABITS).ran
    assert [(p.step, p.part) for p in ran] == [(1, "ramp"), (1, "hold"), (2, "ramp"), (3, "ramp")]
    assert [p.end_s for p in ran[:-1]] == [p.start_s for p in ran[1:]]
    # 480 K at 600 K/h are 2880 s, then the hold's 600 s.
    assert ran[1].start_s == pytest.approx(2880, abs=5)
    assert ran[2].start_s == pytest.approx(3480, abs=10)


def test_the_hold_begins_by_the_clock_it_has():
    # From the set-point's arrival on, the kiln comes nearer by 0.01 K a second: 10 K behind it is near after 600 s.
    clocks = ("arrival", "near", "reached")
    arrival, near, reached = (
        start_s(run(replace(HABITS, clock=clock), behind_k=10.0), 1, "hold") for clock in clocks)
    assert arrival == pytest.approx(2880, abs=5)
    assert near == pytest.approx(2880 + 600, abs=10)
    assert reached == pytest.approx(2880 + 900, abs=10)


def test_a_clock_that_counts_only_in_band_stops_outside_it():
    controller = Programmer((Segment(None, 500.0, 600.0),), replace(HABITS, clock="band"))
    controller.start(0.0, 499.0)
    controller.step(5.0, 499.0, 5.0)
    for n in range(100):
        controller.step(10.0 + 5 * n, 480.0, 5.0)
    assert controller.part == "hold"
    for n in range(121):
        controller.step(600.0 + 5 * n, 499.0, 5.0)
    assert controller.part == "over"


def test_a_set_point_waits_for_a_kiln_that_is_far_behind():
    controller = Programmer(PROGRAM, replace(HABITS, waits_k=15.0))
    controller.start(0.0, 20.0)
    for n in range(1000):
        controller.step(5.0 * n, 20.0, 5.0)
    assert controller.target_c == pytest.approx(35.0, abs=1.0)


def test_a_set_point_that_is_renewed_each_minute_moves_in_steps():
    controller = Programmer(PROGRAM, replace(HABITS, set_every_s=60.0))
    controller.start(0.0, 20.0)
    shown = [controller.step(5.0 * n, 20.0, 5.0) for n in range(1, 61)]
    assert len(set(shown)) in (5, 6)


def test_a_ramp_begins_where_the_kiln_is_or_where_the_last_one_ended():
    for starts_at_kiln, at_c in ((True, 80.0), (False, 100.0)):
        controller = Programmer((Segment(None, 100.0), Segment(60.0, 500.0)), replace(
            HABITS, starts_at_kiln=starts_at_kiln, near_k=30.0))
        controller.start(0.0, 20.0)
        controller.step(5.0, 80.0, 5.0)
        assert controller.index == 1
        assert controller.target_c == at_c


def test_minutes_to_the_target_are_whole():
    controller = Programmer((Segment(120.0, 100.0), Segment(170.0, 205.0)), replace(HABITS, in_minutes=True))
    controller.start(0.0, 20.0)
    while controller.index == 0:
        controller.step(0.0, 100.0, 5.0)
    # 105 K at 170 K/h are 37.06 min: keyed as 37.
    assert controller._rate_c_per_s == pytest.approx(105 / (37 * 60))


def test_it_takes_a_ramp_up_again_from_where_the_kiln_is():
    controller = Programmer(PROGRAM, HABITS)
    controller.start(0.0, 20.0)
    for n in range(300):
        controller.step(5.0 * n, 20.0, 5.0)
    controller.resume(150.0)
    assert controller.step(2000.0, 150.0, 5.0) == pytest.approx(150.8, abs=0.1)


def test_a_hold_cut_short_lengthened_and_off_target():
    for factor, after_s in ((0.5, 300), (0.0, 0), (2.0, 1200)):
        controller = Programmer((Segment(None, 500.0, 600.0),), HABITS)
        controller.start(0.0, 500.0)
        controller.step(5.0, 500.0, 5.0)
        controller.meddling.hold_factor = factor
        t_s = 5.0
        while controller.part == "hold":
            t_s += 5.0
            controller.step(t_s, 500.0, 5.0)
        assert t_s == pytest.approx(5 + after_s, abs=10)
    controller = Programmer((Segment(None, 500.0, 600.0),), HABITS)
    controller.start(0.0, 500.0)
    controller.step(5.0, 500.0, 5.0)
    controller.meddling.hold_off_k = -15.0
    assert controller.step(10.0, 500.0, 5.0) == 485.0
