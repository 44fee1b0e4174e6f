"""What the plant adds to kiln and controller: the room's day, the box, and where the junction is."""

from __future__ import annotations

from dataclasses import replace
from math import exp

import pytest

from simulations.faults import parse_all
from simulations.plant.builds import PRESETS
from simulations.plant.controller import Segment
from simulations.plant.kiln import STEP_S
from simulations.plant.placement import Placement
from simulations.plant.plant import Plant
from simulations.plant.surroundings import Surroundings

BUILD = PRESETS["tabletop"]
PROGRAM = (Segment(300, 600, 36_000),)


def plant(*faults: str, start_s: float = 1e6, kind: str = "K", **around) -> Plant:
    return Plant(BUILD, PROGRAM, parse_all(faults), start_s, Surroundings(**around), kind)


def run(what: Plant, until_s: float) -> Plant:
    while what.t_s < until_s:
        what.advance()
    return what


def test_room_and_mains_follow_the_day():
    warm = run(plant(room_c=20.0, room_swing_k=5.0), 6 * 3600.0 + STEP_S)
    assert warm.kiln.room_c == pytest.approx(25.0, abs=0.01)
    cold = run(plant(room_c=20.0, room_swing_k=5.0, day_s=12 * 3600.0), 6 * 3600.0 + STEP_S)
    assert cold.kiln.room_c == pytest.approx(15.0, abs=0.01)


def test_elements_give_the_mains_share_and_half_of_it_where_half_are_out():
    def given_j(*faults: str, **around) -> float:
        # The relay is welded, so that power is all there is.
        return run(plant("runaway@0s", *faults, **around), 600.0).kiln.in_j

    full_j = 600.0 * BUILD.power_w
    assert given_j() == pytest.approx(full_j)
    assert given_j(mains_share=0.8) == pytest.approx(0.8 * full_j)
    assert given_j("sag=0.5@0s", mains_share=0.8) == pytest.approx(0.4 * full_j)
    assert given_j("power-cut=5min@5min") == pytest.approx(full_j / 2)
    # 10 % more at the warmest hour, where the day begins here.
    assert given_j(mains_swing=0.1, day_s=6 * 3600.0) == pytest.approx(1.1 * full_j, rel=0.001)


def test_the_box_is_warmer_than_the_room_and_the_head_half_way_to_the_shell():
    cold = plant(room_c=20.0)
    assert (cold.cold_junction_c, cold.head_c) == (24.0, 20.0)
    cold.kiln.wall_c[-1] = 70.0
    assert cold.cold_junction_c == pytest.approx(24.0 + 0.08 * 50.0)
    assert cold.head_c == pytest.approx(45.0)


def test_type_k_orders_within_two_hours_shows_it_in_the_middle_and_loses_it_above():
    used = plant(hysteresis_k=4.0)
    for _ in range(round(2 * 3600 / STEP_S)):
        share = used._ordering(400.0)
    assert share == pytest.approx(1 - exp(-1.0), abs=0.001)
    assert used._ordering(225.0) == pytest.approx(share / 2, rel=0.001)  # half way from 200 to 250 °C
    assert used._ordering(600.0) == pytest.approx(share / 2, rel=0.001)  # half way from 650 down to 550 °C
    assert used._ordering(190.0) == 0.0
    before = used._order
    for _ in range(round(600 / STEP_S)):
        assert used._ordering(700.0) == 0.0
    assert used._order == pytest.approx(before * exp(-1.0), rel=0.01)


def test_a_probe_that_fell_out_reads_its_share_of_the_wall_and_comes_back():
    hot = run(plant("fallen=0.5,10min@60s", start_c=600.0), 60.0)
    hot.kiln.wall_c[-2] = 100.0
    run(hot, 60.0 + 30.0)
    share = 1 - (1 - STEP_S / 30.0) ** 6  # 30 s of a time constant of 30 s, in steps
    assert hot.junction_c == pytest.approx(
        hot.probe.temp_c + 0.5 * share * (hot.kiln.wall_c[-2] - hot.probe.temp_c), abs=0.5)
    run(hot, 60.0 + 600.0 + 300.0)
    assert hot.junction_c == pytest.approx(hot.probe.temp_c, abs=0.5)


@pytest.mark.parametrize(("faults", "kind", "wired"), [
    ((), "N", ("N", "N", False, False)), (("set-to-n",), "K", ("K", "N", False, False)),
    (("set-to-s",), "K", ("K", "S", False, False)), (("n-set-to-k",), "K", ("N", "K", False, False)),
    (("reversed",), "K", ("K", "K", True, False)), (("copper-lead",), "K", ("K", "K", False, True)),
])
def test_faults_of_the_wiring_are_there_from_the_first_reading(faults, kind, wired):
    found = plant(*faults, kind=kind).wiring
    assert (found.kind, found.set_to, found.is_reversed, found.has_copper_lead) == wired


def test_the_controller_starts_when_it_is_started():
    late, early = plant("start-late=10min", start_s=0.0), plant("start-early=10min", start_s=0.0)
    assert (late.t_s, early.t_s) == (0.0, -600.0)
    assert run(late, 700.0).ran[0].start_s == 600.0
    assert run(early, 0.0).ran[0].start_s == -600.0


def test_it_is_over_when_the_program_has_run_or_never_will():
    never = run(plant("never-started"), 3 * 3600.0)
    assert not never.over
    assert run(never, 3 * 3600.0 + STEP_S).over
    cut = run(plant("power-cut=10min@60s", start_s=0.0), 120.0)
    assert not cut.over, "the mains will be back"
    assert run(plant("power-cut@60s", start_s=0.0), 120.0).over


def test_glass_and_shelf_are_the_load_of_this_firing():
    heavy = plant(load_share=2.0)
    assert (heavy.build.glass_kg, heavy.build.shelf_kg) == (2 * BUILD.glass_kg, 2 * BUILD.shelf_kg)


def test_the_kilns_own_cut_out_ends_a_runaway_for_good():
    strong = Plant(replace(BUILD, power_w=4000.0, element_kg=1.2), PROGRAM, parse_all(["runaway@0s"]), 1e6)
    run(strong, 3 * 3600.0)
    assert strong.is_cut_out
    given_j = strong.kiln.in_j
    run(strong, 5 * 3600.0)
    assert strong.kiln.in_j == given_j


def test_a_probes_gain_and_drift_are_in_what_it_shows():
    true, off = plant(start_c=600.0), plant(start_c=600.0, probe=Placement(gain=1.01, drift_k_per_h=2.0))
    run(true, 3600.0)
    run(off, 3600.0)
    assert off.junction_c == pytest.approx(1.01 * true.junction_c + 2.0, abs=0.01)
