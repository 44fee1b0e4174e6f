"""A firing's readings, and what faults of the probe make of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulations.faults import Fault
from simulations.plant.controller import Segment
from simulations.second_plant.builds import Build
from simulations.second_plant.cases import quiet_case
from simulations.second_plant.firing import Plant, fire
from simulations.second_plant.regulators import RegulatorBuild

KILN = Build("fibre", 0.35, 0.2, 0.05, 0.15, 200.0, 4000.0, (0.4, 0.6, 0.0), 500.0, 0.5, 0.5, 0.012, 8.0)
CASE = quiet_case("clean", 1)
BENCH = replace(
    CASE.bench, kiln=KILN, start_s=0.0, start_c=20.0, cycle_s=5.0,
    regulator=RegulatorBuild("pid", (25.0, 700.0, 20.0)), room_c=20.0, mains_swing=0.0, mains_share=1.0,
    habits=replace(CASE.bench.habits, clock="near", near_k=4.0, waits_k=0.0, after_cut="goes-on"),
    logger=replace(CASE.bench.logger, interval_s=5, noise_k=0.2, kicks=0.0, beat_k=0.0))
PROGRAM = (Segment(900.0, 500.0, 900.0), Segment(None, 200.0))


def readings(fault: Fault, interval_s: int = 5):
    """Return a short firing's readings from when a fault began, and the truth."""
    bench = replace(BENCH, logger=replace(BENCH.logger, interval_s=interval_s))
    fired = fire(bench, PROGRAM, (fault,), 6.0, 1)
    at_s = fired.truth.faults[0].at_s
    return [sample for sample in fired.samples if sample.t_s > at_s + 5], fired.truth


def in_hold(name: str, length_s: float | None = None) -> Fault:
    """Return a fault two minutes into the hold."""
    return Fault(name, None, length_s, None, 1, "hold", 120.0)


def test_an_open_probe_gives_no_temperature():
    found, truth = readings(in_hold("open"))
    assert all(s.temp_c is None and s.fault == "open" for s in found)
    assert truth.probe_c[-1] is None


def test_a_frozen_one_gives_one_and_the_same():
    found, _ = readings(in_hold("frozen"))
    assert len({s.temp_c for s in found}) == 1


def test_a_flickering_one_comes_and_goes():
    found, _ = readings(in_hold("flickers"))
    lost = sum(s.temp_c is None for s in found) / len(found)
    assert 0.2 < lost < 0.6


def test_one_in_four_is_coded_zero():
    found, _ = readings(in_hold("zeros"))
    assert sum(s.temp_c == 0.0 for s in found) / len(found) == pytest.approx(0.25, abs=0.02)


def test_a_gap_leaves_no_rows():
    fired = fire(BENCH, PROGRAM, (in_hold("gap", 600.0),), 6.0, 1)
    steps = [b.t_s - a.t_s for a, b in zip(fired.samples, fired.samples[1:], strict=False)]
    assert max(steps) == 605
    assert len(fired.samples) == len(fired.truth.times_s) == len(fired.truth.probe_c)


@pytest.mark.parametrize("interval_s", [1, 10, 60])
def test_readings_come_as_often_as_the_logger_takes_them(interval_s):
    fired = fire(replace(BENCH, logger=replace(BENCH.logger, interval_s=interval_s)), PROGRAM, (), 6.0, 1)
    assert {b.t_s - a.t_s for a, b in zip(fired.samples, fired.samples[1:], strict=False)} == {interval_s}


def test_half_the_step_changes_a_firing_little():
    reached = []
    for step_s in (5.0, 2.5):
        plant = Plant(BENCH, PROGRAM, (), 6.0, step_s)
        row = []
        while plant.t_s < 3600:
            plant.advance()
            if plant.t_s % 600 == 0:
                row.append(plant.probe.reads_c)
        reached.append(row)
    assert reached[1] == pytest.approx(reached[0], abs=2.0)


def test_a_welded_contact_climbs_past_the_target_and_a_dead_mains_falls():
    for name, sign in (("welded", 1), ("power-cut", -1)):
        plant = Plant(BENCH, PROGRAM, (in_hold(name, 600.0),), 6.0)
        while not plant.maker.happened:
            plant.advance()
        before_c = plant.probe.reads_c
        for _ in range(100):
            plant.advance()
        assert sign * (plant.probe.reads_c - before_c) > 20


def test_a_probe_in_sight_of_the_elements_reads_high_in_a_climb_and_low_after_an_unpowered_fall():
    # From memory, as makers know it: +5 to +20 K in a climb, -3 to -17 K just after an unpowered fall, against what
    # it reads late in a hold; it drifts back over half an hour.
    brick = replace(KILN, wall_m=0.1, wall_w_m_k=0.25, wall_kg_m3=800.0, power_w=6000.0)
    bench = replace(
        BENCH, kiln=brick, sensor=replace(BENCH.sensor, zone=1, sees_elements=0.02, depth_m=0.08, diameter_m=0.003),
        probe=replace(BENCH.probe, zone=1, sees_elements=0.3, depth_m=0.08, diameter_m=0.003, lag_s=0.0),
    )
    plant = Plant(bench, (Segment(250.0, 800.0, 900.0), Segment(None, 515.0, 5400.0)), (), 6.0)
    apart, began_s = {}, 0.0
    while plant.controller.is_running or plant.t_s == 0:
        plant.advance()
        began_s = plant.controller.ran[-1].start_s
        key = plant.controller.index, plant.controller.part, round(plant.t_s - began_s)
        apart[key] = plant.probe.reads_c - plant.sensor.reads_c
    late = apart[1, "hold", 5300]
    assert apart[0, "ramp", 7200] - late > 5
    assert apart[1, "hold", 60] - late < -3
    assert apart[1, "hold", 60] < apart[1, "hold", 600] - 0.5 < apart[1, "hold", 5300]
