"""Every row gives a firing whose fault has its place in the plan."""

from __future__ import annotations

import pytest

from daemon.firing.alerts.registry import KINDS
from simulations.firing import read_faults
from simulations.studies.faulty.case import faulty_case
from simulations.studies.faulty.table import ROWS


def test_the_same_seed_gives_the_same_firing():
    assert faulty_case("lid", 17) == faulty_case("lid", 17)
    assert faulty_case("lid", 17) != faulty_case("lid", 18)


@pytest.mark.parametrize("row", ROWS)
def test_every_alert_that_a_row_names_is_one(row):
    known = {kind.name for kind in KINDS}
    for expected in faulty_case(row, 1).expected:
        assert known.issuperset((*expected.kinds, *expected.near))


@pytest.mark.parametrize("row", ROWS)
def test_a_faulty_firing_can_be_placed_in_its_plan(row):
    for seed in range(20):
        case = faulty_case(row, seed)
        assert len(read_faults(case.faults, case.plan)) == len(case.faults)
        assert case.expected
        assert case.faults or case.keyed
