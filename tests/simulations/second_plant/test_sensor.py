"""A sensor as a fin: the textbook's excess at its tip, and what it reads in climb and fall."""

from __future__ import annotations

from dataclasses import replace
from math import cosh, exp, sqrt

import pytest

from simulations.second_plant.builds import Build
from simulations.second_plant.kiln import Kiln
from simulations.second_plant.sensor import ROD_J_M3_K, Sensor, SensorBuild

KILN = Build("brick", 0.45, 0.25, 0.09, 0.25, 800.0, 5000.0, (0.4, 0.6, 0.0), 700.0, 0.5, 0.5, 0.02, 8.0)
SENSOR = SensorBuild(1, 0.06, 0.003, 20.0, 0.0, 0.3, 10.0, 0.0, 0.0, 1.0)


def uniform(temp_c: float, foot_c: float) -> Kiln:
    """Return a kiln at one temperature whose walls have another inside."""
    kiln = Kiln(KILN, 0.006, 0.5, 20.0, temp_c)
    for nodes in kiln._walls:
        for node in nodes:
            kiln.network.temps_c[node] = foot_c
    return kiln


def test_the_tip_has_the_foots_excess_over_cosh_m_l():
    # Incropera and others, table 3.4, adiabatic tip (from memory): theta_L/theta_b = 1/cosh(mL), m² = 4h/(kD).
    kiln = uniform(600.0, 500.0)
    sensor = Sensor(SENSOR, kiln)
    tip_c, h = sensor.surrounding()
    assert h == pytest.approx(10 + 0.85 * 4 * 5.670374e-8 * 873.15**3)
    assert tip_c == pytest.approx(600 - 100 / cosh(sqrt(4 * h / (20 * 0.003)) * 0.06))


def test_it_settles_with_the_time_constant_of_its_rod():
    kiln = uniform(600.0, 600.0)
    sensor = Sensor(SENSOR, kiln)
    _, h = sensor.surrounding()
    for node in range(len(kiln.network.temps_c)):
        kiln.network.temps_c[node] = 610.0
    time_s = ROD_J_M3_K * 0.003 / 4 / h
    sensor.step(time_s)
    assert sensor.reads_c == pytest.approx(610 - 10 * exp(-1), abs=0.15)  # h itself has grown by 1 %


def test_a_thick_tube_lags_more_than_a_bare_wire():
    kiln = uniform(600.0, 600.0)
    wire = Sensor(replace(SENSOR, diameter_m=0.001), kiln)
    tube = Sensor(replace(SENSOR, diameter_m=0.008, lag_s=60.0), kiln)
    kiln.network.temps_c[:] = [650.0] * len(kiln.network.temps_c)
    for _ in range(12):
        wire.step(5.0)
        tube.step(5.0)
    assert wire.reads_c > 645 > 625 > tube.reads_c


def test_one_that_sees_the_elements_reads_higher_in_a_climb_than_after_an_unpowered_fall():
    kiln = Kiln(KILN, 0.006, 0.5, 20.0, 20.0)
    blind, seeing = Sensor(SENSOR, kiln), Sensor(replace(SENSOR, sees_elements=0.12), kiln)
    apart = []
    for n in range(2400):
        kiln.step(5.0, [KILN.power_w * share if n < 1500 else 0.0 for share in KILN.shares])
        blind.step(5.0)
        seeing.step(5.0)
        apart.append(seeing.reads_c - blind.reads_c)
    assert apart[1499] > 5
    assert apart[1499] - apart[-1] > 5


def test_error_and_gain_are_added_to_what_it_has():
    sensor = Sensor(replace(SENSOR, error_k=3.0, gain=1.01), uniform(500.0, 500.0))
    sensor.step(5.0)
    assert sensor.reads_c == pytest.approx(508.0)


def test_one_that_falls_out_reads_nearer_its_foot():
    kiln = uniform(600.0, 400.0)
    sensor = Sensor(SENSOR, kiln)
    for _ in range(60):
        sensor.step(5.0)
    before_c = sensor.reads_c
    sensor.fallen = 0.6
    for _ in range(60):
        sensor.step(5.0)
    assert sensor.reads_c < before_c - 30
