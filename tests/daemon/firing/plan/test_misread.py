"""A plan as the kiln seems to run it where figures are read wrongly: unit and type of probe."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.plan.misread import COLD_END_C, EMF_MV, TYPES, misread, read_as
from daemon.firing.plan.plan import Plan, Step
from simulations.plant.thermocouple import emf_mv, temp_c

FUSE = Plan("Fuse", "C", (
    Step(220, 620), Step(50, 670, 1800, "squeeze"), Step(250, 800, 600, "top"), Step(None, 516, 3600, "anneal"),
    Step(80, 430), Step(None, 40)))


def test_figures_taken_for_the_other_unit_are_what_such_a_controller_runs():
    # 670 °F is 354.4 °C and 50 °F/h is 27.8 °C/h; 1240 °C is what a °F plan's 1240 would ask (exact conversions).
    (in_f,) = [read.plan for read in misread(FUSE) if read.unit == "F"]
    assert in_f.steps[1].to_c == pytest.approx(354.44, abs=0.01)
    assert in_f.steps[1].rate_c_per_h == pytest.approx(27.78, abs=0.01)
    assert in_f.steps[3].rate_c_per_h is None
    of_f = replace(FUSE, unit="F", steps=(Step(100.0, (1240 - 32) / 1.8),))
    (in_c,) = [read.plan for read in misread(of_f) if read.unit == "C"]
    assert in_c.steps[0].to_c == pytest.approx(1240.0)
    assert in_c.steps[0].rate_c_per_h == pytest.approx(180.0)


def test_a_plan_written_in_f_may_be_keyed_by_its_figures_in_c_too():
    (in_f,) = [read.plan for read in misread(replace(FUSE, unit="F")) if read.unit == "F"]
    assert in_f.steps[2].to_c == pytest.approx((800 - 32) / 1.8)


@pytest.mark.parametrize("kind", sorted(EMF_MV))
def test_the_table_of_voltages_is_that_of_its_90(kind):
    # The bench's polynomials (NIST Monograph 175) are held against the printed table in tests/simulations.
    assert EMF_MV[kind] == tuple(round(emf_mv(kind, 100.0 * n), 3) for n in range(14))


@pytest.mark.parametrize(("true", "shown"), TYPES)
@pytest.mark.parametrize("at_c", [300.0, 516.0, 670.0, 800.0])
def test_a_probe_read_as_another_type_shows_what_its_voltage_means_there(true, shown, at_c):
    mv = emf_mv(true, at_c) - emf_mv(true, COLD_END_C) + emf_mv(shown, COLD_END_C)
    assert read_as(at_c, true, shown) == pytest.approx(temp_c(shown, mv), abs=4.0)
