"""Owners keep no probe that reads far off in a hold, or swings wildly there."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from simulations.second_plant.cases import quiet_case
from simulations.second_plant.installation import MOVED_OVER_K, SWINGS_K, _tried, installed
from simulations.second_plant.regulators import RegulatorBuild

BENCH = quiet_case("clean", 3).bench


def test_a_probe_far_off_in_a_hold_is_brought_to_what_an_owner_lives_with():
    far = replace(BENCH, probe=replace(BENCH.probe, error_k=60.0))
    assert _tried(far)[0] > 35
    for seed in range(4):
        kept = installed(far, Random(seed))
        assert _tried(kept)[0] == pytest.approx(0.0, abs=MOVED_OVER_K + 0.5)


def test_what_it_reads_elsewhere_stays_as_it_comes():
    kept = installed(BENCH, Random(1))
    assert replace(kept.probe, error_k=0.0) == replace(BENCH.probe, error_k=0.0)


def test_a_bare_wire_that_swings_with_the_power_gets_a_sheath():
    bare = replace(BENCH, regulator=RegulatorBuild("on-off", (3.0, 20.0)), probe=replace(
        BENCH.probe, diameter_m=0.0015, lag_s=0.0, sees_elements=0.35))
    assert _tried(bare)[1] > SWINGS_K
    assert _tried(installed(bare, Random(1)))[1] < _tried(bare)[1] / 2
