"""Clean firings at random: the same seed the same firing, and nothing wrong in it."""

from __future__ import annotations

from simulations.faults import parse_all
from simulations.generator import clean_case, harsh_case

LEGITIMATE = {
    "vent", "ajar", "lid", "hold-long", "hold-short", "restart", "gap", "spikes", "power-cut", "swing", "hum"}


def test_the_same_seed_gives_the_same_firing():
    assert clean_case(17) == clean_case(17)
    assert clean_case(17) != clean_case(18)


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
    assert any(case.around.tuning.stretch > 1.6 for case in cases)
    assert any(case.thickness_mm > 20 for case in cases)
    assert any(case.around.start_c for case in cases)
    assert {1, 5, 10, 15, 20, 30, 60} == {case.interval_s for case in cases}
    assert {"C", "F"} == {case.plan.unit for case in cases}
    assert {fault.name for case in cases for fault in parse_all(case.habits)} >= LEGITIMATE - {"hum"}
