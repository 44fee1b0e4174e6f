"""Plans at random are plans a maker could write."""

from __future__ import annotations

from random import Random

import pytest

from daemon.firing.plan.plan import parse_plan, write_plan
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.glass.materials import FAMILIES
from simulations.random_plans import WRITERS, on_paper, random_program


@pytest.mark.parametrize("kind", WRITERS)
def test_a_random_plan_can_be_written_read_and_has_its_anneal(kind):
    for seed in range(10):
        program = random_program(Random(seed), kinds=(kind,))
        again = parse_plan(write_plan(program.plan), "test")
        assert [s.to_c for s in again.steps] == pytest.approx([s.to_c for s in program.plan.steps])
        hold = anneal_hold(planned_parts(program.plan), FAMILIES[program.glass])
        assert hold is not None
        assert hold.step == program.anneal


def test_a_plan_reads_as_on_paper():
    plan = on_paper("p", "220/670/30 squeeze, free/516/60 anneal, 55/370")
    assert [(s.rate_c_per_h, s.to_c, s.hold_s, s.purpose) for s in plan.steps] == [
        (220, 670, 1800, "squeeze"), (None, 516, 3600, "anneal"), (55, 370, 0, None)]
    assert on_paper("p", "270/1100", "F").steps[0].to_c == pytest.approx(593.33, abs=0.01)
