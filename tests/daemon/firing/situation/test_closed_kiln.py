"""How hot a closed kiln would still be while air falls through its vents, by Newton's law of cooling."""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.closed_kiln import ClosedKiln
from tests.daemon.firing.conftest import line_of

PARTS = planned_parts(Plan("Fuse", "C", (
    Step(200.0, 800.0, 600.0), Step(None, 516.0, 3600.0), Step(60.0, 400.0), Step(300.0, 100.0))))
FALL, ANNEAL, LAST = PARTS[2], PARTS[3], PARTS[5]
TAU_H = 2.0
VENT_S = 10_000.0


def falls(from_c: float, from_s: float, tau_h: float):
    """Return a body that cools from ``from_c`` to a room of 20 °C, as a function of the second."""
    return lambda t_s: 20.0 + (from_c - 20.0) * exp(-(t_s - from_s) / 3600.0 / tau_h)


def show(closed: ClosedKiln, curve, from_s: float, to_s: float, part, per_h=1.0 / TAU_H) -> None:
    """Show it every beat of a curve."""
    for second in range(int(from_s), int(to_s), 20):
        closed.see(float(second), curve(float(second)), line_of(curve, float(second)), part, per_h)


def vented(tau_h: float = 0.7, fall_s: float = 3000.0) -> ClosedKiln:
    """Let the kiln fall freely, hold it at 516 °C, then open its vents for 20 min."""
    closed = ClosedKiln()
    show(closed, falls(800.0, 0.0, TAU_H), 200.0, 200.0 + fall_s, FALL)
    show(closed, lambda t_s: 516.0, 4000.0, 7000.0, ANNEAL)
    show(closed, falls(516.0, VENT_S, tau_h), VENT_S + 180.0, VENT_S + 1200.0, LAST, per_h=1.0 / tau_h)
    return closed


def closed_c(t_s: float, tau_h: float = 0.7) -> float:
    """Return what a closed kiln has, from where the fall through the vents was seen first."""
    return falls(falls(516.0, VENT_S, tau_h)(VENT_S + 180.0), VENT_S + 180.0, TAU_H)(t_s)


def test_it_falls_by_its_own_rate_while_the_air_falls_faster():
    assert vented().temp_c == pytest.approx(closed_c(VENT_S + 1180.0), abs=0.1)


def test_air_may_come_back_as_far_as_that():
    closed = vented()
    show(closed, lambda t_s: closed_c(t_s) + 9.0, VENT_S + 1400.0, VENT_S + 3000.0, LAST)
    assert closed.temp_c == pytest.approx(closed_c(VENT_S + 2980.0), abs=0.1)


def test_what_gets_hotter_is_heated():
    closed = vented()
    show(closed, lambda t_s: closed_c(t_s) + 11.0, VENT_S + 1400.0, VENT_S + 1420.0, LAST)
    assert closed.temp_c is None


@pytest.mark.parametrize(("tau_h", "is_told"), [(0.7, True), (1.4, True), (1.7, False), (2.0, False)])
def test_only_a_fall_faster_than_the_kilns_own_is_through_vents(tau_h, is_told):
    assert (vented(tau_h).temp_c is not None) is is_told


@pytest.mark.parametrize(("fall_s", "is_told"), [(860.0, False), (920.0, True)])
def test_a_fall_of_less_than_a_quarter_of_an_hour_teaches_nothing(fall_s, is_told):
    assert (vented(fall_s=fall_s).temp_c is not None) is is_told


def test_a_fall_that_still_goes_on_teaches_nothing():
    closed = ClosedKiln()
    show(closed, falls(800.0, 0.0, TAU_H), 200.0, 3200.0, FALL)
    show(closed, falls(500.0, 3200.0, 0.7), 3400.0, 4000.0, FALL)
    assert closed.temp_c is None
