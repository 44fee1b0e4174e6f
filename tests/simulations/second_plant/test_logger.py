"""What the box makes of the probe."""

from __future__ import annotations

from dataclasses import replace
from statistics import pstdev

import pytest

from simulations.second_plant.logger import Logger, LoggerBuild

QUIET = LoggerBuild(5, 0.25, 0.0, 0.0, 1000.0, 0.0, 0.0, 100.0, 0.0)


def test_readings_stand_on_the_steps_of_the_display():
    assert Logger(QUIET, 1).read(0.0, 500.13, switched=False).temp_c == 500.25


def test_five_readings_are_kept_as_their_median_with_lowest_and_highest():
    samples = [Logger(replace(QUIET, noise_k=1.0, step_k=1 / 128), seed).read(0.0, 500.0, switched=False)
               for seed in range(4000)]
    assert all(s.low_c <= s.temp_c <= s.high_c for s in samples)
    # The median of five normal readings has 0.536 of the deviation of one (David & Nagaraja, Order Statistics).
    assert pstdev(s.temp_c for s in samples) == pytest.approx(0.536, rel=0.05)


def test_the_wander_returns():
    logger = Logger(replace(QUIET, wander_k=0.5, returns_s=600.0, step_k=1 / 128), 3)
    found = []
    for n in range(40_000):
        logger.advance(5.0)
        found.append(logger.read(5.0 * n, 500.0, switched=False).temp_c - 500)
    assert pstdev(found) == pytest.approx(0.5, rel=0.2)
    assert max(abs(k) for k in found) < 3


def test_a_kick_comes_only_as_the_contactor_switches():
    logger = Logger(replace(QUIET, interval_s=10, kicks=1.0), 1)
    assert logger.read(0.0, 500.0, switched=False).temp_c == 500
    assert abs(logger.read(0.0, 500.0, switched=True).temp_c - 500) >= 5


def test_a_frozen_reading_stays_until_it_thaws():
    logger = Logger(replace(QUIET, noise_k=1.0), 1)
    first = logger.frozen(0.0, 500.0)
    assert logger.frozen(5.0, 520.0).temp_c == first.temp_c
    logger.thaw()
    assert logger.frozen(10.0, 520.0).temp_c > 510


def test_the_same_seed_gives_the_same_readings():
    build = replace(QUIET, noise_k=1.0, wander_k=0.5)
    assert Logger(build, 5).read(0.0, 500.0, switched=False) == Logger(build, 5).read(0.0, 500.0, switched=False)
    assert Logger(build, 5).read(0.0, 500.0, switched=False) != Logger(build, 6).read(0.0, 500.0, switched=False)
