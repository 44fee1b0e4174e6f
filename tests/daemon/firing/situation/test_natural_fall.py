"""How a kiln falls without power: learned from Newton's law of cooling, and when that fall has ended."""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.natural_fall import NaturalFall, is_unpowered
from tests.daemon.firing.conftest import line_of

PARTS = planned_parts(Plan("Fuse", "C", (
    Step(200.0, 800.0, 600.0), Step(None, 516.0, 3600.0), Step(60.0, 400.0), Step(300.0, 100.0))))
FALL, ANNEAL = PARTS[2], PARTS[3]
TAU_H = 2.0


def newton_c(t_s: float) -> float:
    """Return a body that cools from 800 °C to a room of 20 °C with TAU_H (Newton's law of cooling)."""
    return 20.0 + 780.0 * exp(-t_s / 3600.0 / TAU_H)


def fall(natural: NaturalFall, curve, from_s: float, to_s: float, part, *, is_under_air: bool = False) -> None:
    """Show it every beat of a curve."""
    for second in range(int(from_s), int(to_s), 20):
        natural.see(float(second), curve(float(second)), line_of(curve, float(second)), part,
                    is_under_air=is_under_air)


def test_a_free_fall_ends_where_the_kiln_is_heated_again():
    natural = NaturalFall()
    fall(natural, newton_c, 200.0, 3000.0, FALL)  # down to 534 °C
    assert natural.ended_s == 2980.0
    fall(natural, newton_c, 3000.0, 3400.0, FALL)  # as before, though its end is near
    assert natural.ended_s == 3380.0
    held_c = newton_c(3400.0)
    fall(natural, lambda t_s: held_c, 3600.0, 4800.0, ANNEAL)
    assert natural.ended_s == 3380.0


def test_a_fall_that_begins_later_in_the_hold_is_another_one():
    natural = NaturalFall()
    fall(natural, newton_c, 200.0, 3400.0, FALL)
    fall(natural, lambda t_s: newton_c(t_s - 3000.0), 6600.0, 7200.0, ANNEAL)
    assert natural.ended_s == 3380.0


def test_a_kiln_that_was_heated_is_caught_until_its_next_planned_free_fall():
    natural = NaturalFall()
    fall(natural, newton_c, 200.0, 3400.0, FALL)
    assert not natural.is_caught
    held_c = newton_c(3400.0)
    fall(natural, lambda t_s: held_c, 3600.0, 3800.0, ANNEAL)
    assert natural.is_caught
    fall(natural, lambda t_s: newton_c(t_s - 400.0), 3800.0, 4000.0, ANNEAL)  # its power is cut
    assert natural.is_caught
    fall(natural, newton_c, 200.0, 400.0, FALL)
    assert not natural.is_caught


def test_a_vent_opened_for_some_minutes_is_not_taken_for_the_kilns_own_fall():
    def vented_c(t_s: float) -> float:
        return newton_c(t_s) - (0.6 * min(t_s - 600.0, 240.0) if t_s > 600.0 else 0.0)
    natural = NaturalFall()
    fall(natural, vented_c, 200.0, 3600.0, FALL)
    assert natural.ended_s == 3580.0


def test_the_air_under_a_vent_teaches_nothing_so_that_the_slower_fall_after_it_is_still_one_without_power():
    """Under the vent the air falls five times as fast as Newton's law lets the kiln fall; then the kiln is read."""
    natural = NaturalFall()
    fall(natural, lambda t_s: newton_c(5.0 * t_s), 200.0, 600.0, FALL, is_under_air=True)
    assert natural.per_h is None
    assert natural.ended_s == 580.0
    fall(natural, newton_c, 600.0, 3400.0, FALL)
    assert natural.per_h == pytest.approx(1 / TAU_H, rel=0.02)
    assert natural.ended_s == 3380.0


def test_near_the_end_of_a_fall_that_taught_nothing_the_slowest_kiln_is_meant():
    """At 520 °C a kiln with a time constant of 5 h falls by 100 °C/h; half of that is still no power."""
    for rate_c_per_h, ended_s in ((60.0, 980.0), (40.0, 580.0)):
        natural = NaturalFall()
        fall(natural, lambda t_s: newton_c(5.0 * t_s), 200.0, 600.0, FALL, is_under_air=True)
        fall(natural, lambda t_s, rate=rate_c_per_h: 536.0 - rate * (t_s - 600.0) / 3600.0, 600.0, 1000.0, FALL,
             is_under_air=True)
        assert natural.ended_s == ended_s


def test_a_kiln_that_was_never_without_power_has_no_such_end():
    natural = NaturalFall()
    fall(natural, lambda t_s: 510.0, 200.0, 1200.0, ANNEAL)
    assert natural.ended_s is None


@pytest.mark.parametrize(("part", "unpowered"), [(PARTS[0], False), (FALL, True), (ANNEAL, False), (PARTS[4], False),
                                                 (PARTS[5], True)])
def test_a_free_ramp_and_one_that_no_kiln_keeps_are_without_power(part, unpowered):
    # 300 °C/h down to 100 °C: a kiln with a time constant of 5 h falls by 16 °C/h there.
    assert is_unpowered(part) is unpowered
