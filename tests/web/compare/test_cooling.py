"""The comparison says the rates of the cooling steps that a firing's own page says."""

from __future__ import annotations

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from web.compare.cooling import with_steps
from web.compare.measures import measures
from web.firings.plan_and_run import legs, rows

PLANNED = planned_parts(Plan("Slump", "C", (
    Step(200.0, 640.0, 600.0), Step(None, 516.0, 1800.0, "anneal"), Step(80.0, 461.0), Step(150.0, 406.0),
    Step(None, 40.0))))
ANNEAL, FIRST, NEXT = PLANNED[3], PLANNED[4], PLANNED[5]
TRACE = tuple((60.0 * minute, 516.0 - 2.0 * minute) for minute in range(200))
"""Falls at 120 °C/h all the way."""


def compared(*run: Part, planned=PLANNED):
    measured = measures(TRACE, 516.0)
    assert measured is not None
    return with_steps(measured, legs(planned, run, 20_000.0, ended=True), planned, ANNEAL)


def ran(part, rate, start_s, end_s):
    return Part(part.index, part.step, part.part, start_s, end_s, rate)


def test_the_rates_are_those_of_the_steps_as_the_table_says_them():
    run = (ran(FIRST, -143.0, 0.0, 1400.0), ran(NEXT, -152.0, 1400.0, 2700.0))
    found = compared(*run)
    assert (found.first_fall_c_per_h, found.next_fall_c_per_h) == (143.0, 152.0)
    table = rows(legs(PLANNED, run, 20_000.0, ended=True), 20_000.0, "C")
    assert [row.got.replace("\u00a0", " ") for row in table] == ["143 °C/h", "152 °C/h"]


def test_a_step_in_two_stretches_counts_by_their_lengths():
    found = compared(ran(FIRST, -80.0, 0.0, 900.0), ran(FIRST, -140.0, 1200.0, 1500.0))
    assert found.first_fall_c_per_h == pytest.approx((80.0 * 900 + 140.0 * 300) / 1200)


def test_a_step_that_was_not_seen_has_no_rate():
    assert compared(ran(NEXT, -150.0, 0.0, 1300.0)).first_fall_c_per_h is None


def test_a_free_fall_from_the_anneal_is_measured_by_the_trace():
    free = planned_parts(Plan("Crash", "C", (
        Step(200.0, 640.0, 600.0), Step(None, 516.0, 1800.0, "anneal"), Step(None, 40.0))))
    assert compared(planned=free).first_fall_c_per_h == pytest.approx(120.0, rel=0.01)
