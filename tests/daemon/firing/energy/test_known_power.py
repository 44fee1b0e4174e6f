"""When the power is known to be off or full, by the plan and the curve."""

from __future__ import annotations

import pytest

from daemon.firing.energy.known_power import Power, known_power
from daemon.firing.events import Part
from daemon.firing.plan.plan import parse_plan
from daemon.firing.plan.schedule import planned_parts

PLANNED = planned_parts(parse_plan(
    'title = "x"\nunit = "C"\n[[step]]\nrate = 200\nto = 600\n[[step]]\nrate = "free"\nto = 800\nhold_min = 30\n'
    '[[step]]\nrate = "free"\nto = 500\nhold_min = 30\n[[step]]\nrate = 100\nto = 300\n', "a test"))
CLIMB, FREE, TOP, FALL, ANNEAL, COOLING = range(6)


def at(index, into_s, temp_c, rate_c_per_h, *, length_s=7200.0):
    """Return what is known of the power at one moment of a part."""
    asked = PLANNED[index]
    parts = [Part(asked.index, asked.step, asked.part, 1000.0, 1000.0 + length_s)]
    return known_power([1000.0 + into_s], [temp_c], [rate_c_per_h], PLANNED, parts)[0]


def test_a_free_fall_has_no_power_and_a_free_climb_all_of_it():
    assert at(FALL, 900.0, 650.0, -500.0) is Power.OFF
    assert at(FREE, 600.0, 700.0, 300.0) is Power.FULL


def test_a_kiln_that_keeps_to_its_rate_tells_nothing_and_one_that_lags_does():
    assert at(CLIMB, 3600.0, 300.0, 199.0) is Power.UNKNOWN
    assert at(CLIMB, 3600.0, 300.0, 150.0) is Power.FULL
    assert at(COOLING, 3600.0, 400.0, -99.0) is Power.UNKNOWN
    assert at(COOLING, 3600.0, 400.0, -60.0) is Power.OFF


@pytest.mark.parametrize("index", [TOP, ANNEAL])
def test_a_hold_tells_nothing(index):
    assert at(index, 900.0, PLANNED[index].to_c, 0.0) is Power.UNKNOWN


def test_near_the_target_and_near_a_boundary_nothing_is_known():
    assert at(FREE, 600.0, 785.0, 300.0) is Power.UNKNOWN
    assert at(FREE, 60.0, 650.0, 300.0) is Power.UNKNOWN
    assert at(FREE, 7190.0, 700.0, 300.0) is Power.UNKNOWN
    assert at(FALL, 900.0, 515.0, -300.0) is Power.UNKNOWN


def test_a_climb_that_stands_is_a_controller_that_waits():
    assert at(FREE, 1800.0, 700.0, 5.0) is Power.UNKNOWN


def test_after_the_plan_s_end_the_power_is_off_and_after_a_plan_that_was_left_nothing_is_known():
    last, earlier = PLANNED[COOLING], PLANNED[ANNEAL]
    ended = [Part(last.index, last.step, "ramp", 0.0, 1000.0)]
    assert known_power([1300.0, 1700.0], [290.0, 280.0], [-50.0, -50.0], PLANNED, ended) == [
        Power.UNKNOWN, Power.OFF]
    left = [Part(earlier.index, earlier.step, "hold", 0.0, 1000.0)]
    assert known_power([1700.0], [280.0], [-50.0], PLANNED, left) == [Power.UNKNOWN]
    assert known_power([1700.0], [280.0], [-50.0], (), left) == [Power.UNKNOWN]
