"""Temperature and rate under one explanation, held against closed forms."""

from __future__ import annotations

from math import exp, log
from statistics import NormalDist

import pytest

from simulations.studies.explanations.filter import begun
from simulations.studies.explanations.laws import Law


def test_a_rate_comes_back_to_its_mean_exponentially():
    # x' = v, v' = (m − v) / τ has x = x0 + m t + (v0 − m) τ (1 − e^(−t/τ)): solved by hand.
    motion = begun(Law(mean=-0.02, sd=0.0, memory_s=200.0, first=-0.10, first_sd=0.0), 500.0, 1.0)
    for _ in range(15):
        motion.advance(20.0)
    assert motion.rate == pytest.approx(-0.02 - 0.08 * exp(-1.5))
    assert motion.temp_c == pytest.approx(500.0 - 0.02 * 300 - 0.08 * 200 * (1 - exp(-1.5)))


def test_straying_spreads_the_temperature_as_an_integrated_ornstein_uhlenbeck_process_does():
    # Var x = σ² τ² (2t/τ − 3 + 4 e^(−t/τ) − e^(−2t/τ)) from rest (Uhlenbeck and Ornstein 1930; from memory).
    sd, tau = 0.02, 200.0
    motion = begun(Law(0.0, sd, tau, 0.0, 0.0), 500.0, 0.0)
    for _ in range(30):
        motion.advance(20.0)
    t = 600.0 / tau
    assert motion.temp_var == pytest.approx(sd**2 * tau**2 * (2 * t - 3 + 4 * exp(-t) - exp(-2 * t)), rel=0.03)
    assert motion.rate_var == pytest.approx(sd**2 * (1 - exp(-2 * t)))


def test_a_reading_costs_what_the_normal_density_says():
    motion = begun(Law(0.0, 0.0, 200.0, 0.0, 0.0), 500.0, 3.0)
    cost, surprise = motion.take(504.0, 1.0)
    assert cost == pytest.approx(-log(NormalDist(500.0, 2.0).pdf(504.0)))
    assert surprise == pytest.approx(4.0)
    # Weighted by precision: 500 with a variance of 3, 504 with one of 1.
    assert motion.temp_c == pytest.approx((500.0 / 3 + 504.0) / (1 / 3 + 1))
    assert motion.temp_var == pytest.approx(1 / (1 / 3 + 1))


def test_an_outlier_costs_no_more_than_six_standard_deviations():
    costs = []
    for off_k in (12.0, 400.0):
        motion = begun(Law(0.0, 0.0, 200.0, 0.0, 0.0), 500.0, 3.0)
        costs.append(motion.take(500.0 + off_k, 1.0)[0])
    assert costs[0] == pytest.approx(costs[1])
