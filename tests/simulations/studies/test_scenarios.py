"""The named firings: each runs, what is to go wrong does, and its truth hangs together."""

from __future__ import annotations

from itertools import pairwise

import pytest

from daemon.firing.alerts.registry import KINDS
from simulations.faults import parse_all
from simulations.plant.builds import PRESETS
from simulations.studies.onsets import Course, onset_s
from simulations.studies.scenarios import SCENARIOS


def test_there_are_at_least_forty():
    assert len(SCENARIOS) >= 40


def test_every_alert_that_a_scenario_names_is_one():
    known = {kind.name for kind in KINDS}
    for scenario in SCENARIOS.values():
        assert known.issuperset(scenario.may_look)
        for expected in scenario.case.expected:
            assert known.issuperset((*expected.kinds, *expected.near)), scenario.case.name


def test_no_scenario_has_the_name_of_a_kiln():
    assert not set(SCENARIOS) & set(PRESETS)


@pytest.mark.parametrize("name", SCENARIOS)
def test_a_scenario_runs_and_what_is_to_go_wrong_does(name):
    case = SCENARIOS[name].case
    fired = case.fire()
    truth, asked = fired.truth, parse_all((*case.faults, *case.habits))
    # A wire that is wrong from the start is a fault of the whole firing.
    assert sorted(f.name for f in truth.faults) == sorted(f.name for f in asked)
    for before, after in pairwise(truth.parts):
        assert before.end_s is not None
        assert before.start_s < before.end_s <= after.start_s
    assert len(truth.glass_c) == len(truth.probe_c) == len(truth.times_s) == len(fired.samples)
    course = Course(case, fired)
    for expected in case.expected:
        at_s = onset_s(expected, course)
        assert at_s is not None, expected
        assert at_s < fired.samples[-1].t_s
    assert all(a.t_s < b.t_s for a, b in pairwise(fired.samples))
