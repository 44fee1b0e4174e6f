"""Firings at random: the same seed the same firing, and nothing wrong in a clean one."""

from __future__ import annotations

from random import Random

import pytest

from daemon.errors import BadInput
from daemon.firing.plan.plan import parse_plan, write_plan
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.glass.materials import FAMILIES
from simulations.faults import parse_all
from simulations.firing import read_faults
from simulations.generator import clean_case, harsh_case
from simulations.programs import WRITERS, on_paper, random_program
from simulations.studies.delay_targets import PROMISED
from simulations.studies.faulty import faulty_case
from simulations.studies.rows import ROWS
from simulations.studies.study import Study, case_named

LEGITIMATE = {"vent", "ajar", "lid", "hold-long", "gap", "spikes", "power-cut", "swing", "hum"}


def test_the_same_seed_gives_the_same_firing():
    assert clean_case(17) == clean_case(17)
    assert faulty_case("lid", 17) == faulty_case("lid", 17)
    assert clean_case(17) != clean_case(18)
    once, again = case_named("cooling-1.6-3").fire(), case_named("cooling-1.6-3").fire()
    assert once.samples == again.samples
    assert once.truth == again.truth


@pytest.mark.parametrize("kind", WRITERS)
def test_a_random_plan_can_be_written_read_and_has_its_anneal(kind):
    for seed in range(10):
        program = random_program(Random(seed), kinds=(kind,))
        again = parse_plan(write_plan(program.plan), "test")
        assert [s.to_c for s in again.steps] == pytest.approx([s.to_c for s in program.plan.steps])
        hold = anneal_hold(planned_parts(program.plan), FAMILIES[program.glass])
        assert hold is not None
        assert hold.step == program.anneal


def test_a_clean_firing_has_nothing_wrong_and_asks_for_nothing():
    for seed in range(200):
        for case in (clean_case(seed), harsh_case(seed)):
            assert not case.faults
            assert not case.expected
            assert {fault.name for fault in parse_all(case.habits)} <= LEGITIMATE
            assert all(f.length_s and f.length_s < 30 for f in parse_all(case.habits) if f.name == "power-cut")


def test_clean_firings_have_the_legitimate_nastiness_in_them():
    cases = [clean_case(seed) for seed in range(400)]
    assert any(case.start_s < -600 for case in cases)
    assert any(case.start_s > 3600 for case in cases)
    assert any(case.around.habits.stretch > 1.6 for case in cases)
    assert any(case.thickness_mm > 20 for case in cases)
    assert any(case.around.start_c for case in cases)
    assert {1, 5, 60} == {case.interval_s for case in cases}
    assert {"C", "F"} == {case.plan.unit for case in cases}
    assert {fault.name for case in cases for fault in parse_all(case.habits)} >= LEGITIMATE - {"hum"}


@pytest.mark.parametrize("row", ROWS)
def test_a_faulty_firing_can_be_placed_in_its_plan(row):
    for seed in range(20):
        case = faulty_case(row, seed)
        assert len(read_faults(case.faults, case.plan)) == len(case.faults)
        assert case.expected
        assert case.faults or case.keyed


def test_every_promised_row_is_there():
    assert {name.removesuffix("-woke") for name in PROMISED} <= set(ROWS)


def test_studies_of_other_seeds_share_no_firing():
    one, two = Study(50, 10, 100, 1).names(), Study(50, 10, 100, 2).names()
    assert len(set(one)) == len(one) == 160
    assert not set(one) & set(two)


def test_an_unknown_firing_lists_the_known():
    with pytest.raises(BadInput, match=r"cooling-1\.3"):
        case_named("gremlin-3")


def test_a_plan_reads_as_on_paper():
    plan = on_paper("p", "220/670/30 squeeze, free/516/60 anneal, 55/370")
    assert [(s.rate_c_per_h, s.to_c, s.hold_s, s.purpose) for s in plan.steps] == [
        (220, 670, 1800, "squeeze"), (None, 516, 3600, "anneal"), (55, 370, 0, None)]
    assert on_paper("p", "270/1100", "F").steps[0].to_c == pytest.approx(593.33, abs=0.01)
