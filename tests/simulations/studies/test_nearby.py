"""Small changes of a drawn firing move what they should, and stay within what the bench draws."""

from __future__ import annotations

from math import inf
from random import Random

import pytest

from simulations.faults import parse_all
from simulations.generator import INTERVALS_S, clean_case, harsh_case
from simulations.random_kilns import hold_w
from simulations.studies.faulty.case import faulty_case
from simulations.studies.faulty.table import ROWS
from simulations.studies.kept import differences
from simulations.studies.nearby import MOST_FIELDS, MOVABLE, Tape, nearby, thing_of

STORED_SHARE = 0.536  # of one second's deviation, in the median of five: order statistics


def walked(name, moves, seed=1):
    """Return the firings of a walk of small changes from the drawn one of that name."""
    rng, given, found = Random(seed), {}, []
    for _ in range(moves):
        near = nearby(name, given, rng)
        assert near is not None
        given, case = near
        found.append(case)
    return found


def test_without_given_draws_a_tape_makes_the_firing_that_the_bench_draws():
    assert Tape({}).case("clean-17") == clean_case(17)
    assert Tape({}).case("harsh-17") == harsh_case(17)
    assert all(Tape({}).case(f"{row}-17") == faulty_case(row, 17) for row in ROWS)


def test_a_given_draw_moves_its_own_figure_only():
    drawn = Tape({})
    case = drawn.case("clean-17")
    changes = [differences(case, Tape({place: 0.5}).case("clean-17")) for place in drawn.drawn if not place[2]]
    assert {"noise_k": pytest.approx(0.55 / STORED_SHARE)} in changes  # halfway between 0.1 and 1.0 K
    assert {"wander_k": pytest.approx(0.375)} in changes               # halfway between 0.1 and 0.65 K


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_a_walk_of_changes_never_leaves_what_is_drawn(seed):
    start = clean_case(seed)
    for case in walked(f"clean-{seed}", 40):
        assert (case.plan, case.glass, case.seed, case.kind) == (start.plan, start.glass, start.seed, start.kind)
        assert 0.1 <= case.noise_k * STORED_SHARE <= 1.0
        assert 0.1 <= case.wander_k <= 0.65
        assert abs(case.offset_k) <= 12.0
        assert case.interval_s in INTERVALS_S
        assert -6000 <= case.start_s <= 1200 or 3600 <= case.start_s <= 8 * 3600
        kiln, tuning = case.kiln, case.around.tuning
        if kiln.name.startswith("drawn-"):
            assert 1500.0 <= kiln.power_w <= 12_000.0
            limited = kiln.power_w in (1500.0, 12_000.0)
            assert limited or 0.2 <= hold_w(kiln) / kiln.power_w <= 0.8 + 1e-9
            assert 0.05 <= kiln.wall_m <= 0.125
        assert tuning.integral_s == inf or 250 <= tuning.integral_s <= 1500
        assert sum(case.around.sensor.sees) == pytest.approx(1.0)
        assert len(parse_all(case.habits)) == len(start.habits)


@pytest.mark.slow
def test_a_fault_keeps_to_the_sizes_of_its_row():
    sizes = {parse_all(case.faults)[0].size for case in walked("probe-fallen-3", 60)}
    assert len(sizes) > 3
    assert all(0.25 <= size <= 0.6 for size in sizes)


def test_a_small_change_touches_one_thing():
    assert thing_of({"noise_k": 1.0}) == "noise_k"
    assert thing_of({"kiln.power_w": 1.0, "around.tuning.band_k": 9.0}) == "kiln"
    assert thing_of({"offset_k": 1.0, "around.sensor_offset_k": 9.0}) == "offset_k"
    assert thing_of({}) is None
    assert thing_of({"noise_k": 1.0, "wander_k": 9.0}) is None
    assert thing_of({"seed": 1}) is None
    assert thing_of({"around.probe": None}) is None
    assert thing_of({f"around.{n}": 1 for n in range(MOST_FIELDS + 1)}) is None
    assert thing_of(dict.fromkeys(MOVABLE, 1)) is None
