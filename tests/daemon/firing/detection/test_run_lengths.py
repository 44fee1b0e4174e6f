"""How often a slope over a window cries wolf, against a published approximation of run lengths.

The watches hold slopes over windows of several lengths against the plan: a generalised likelihood ratio test whose
windows are limited (Lai, J. R. Statist. Soc. B 57, 1995). There is no cumulative sum in it, so the tables for those
(Page, Biometrika 41, 1954; Brook & Evans, Biometrika 59, 1972) say nothing of it.
"""

from __future__ import annotations

from math import erfc, exp, log, pi, sqrt
from random import Random

import pytest

from daemon.firing.trace.recent import Trail

EVERY_S = 30.0
NOISE_C = 0.6  # what a trail believes before it has measured anything, and no median of three at this spacing
READINGS = 60_000


def nu(x: float) -> float:
    """Return Siegmund's correction for a boundary seen at readings only (Sequential Analysis, 1985, eq. 4.37)."""
    total = sum(0.5 * erfc(x * sqrt(n) / 2 / sqrt(2)) / n for n in range(1, 400))
    return 2.0 / x**2 * exp(-2.0 * total)


def expected_alarms(threshold: float, window: int, readings: int) -> float:
    """Return how often a slope over ``window`` white readings passes ``threshold`` standard errors either way.

    The slope's standardised course has the autocorrelation 1 − 3h/window near none (its weights jump by half the
    window at either end), and such a Gaussian course passes a high level β·b·φ(b)·ν(b·√(2β)) times a reading
    (Siegmund 1985, ch. IV; Pickands, Trans. Amer. Math. Soc. 145, 1969).
    """
    beta = 3.0 / window
    density = exp(-threshold**2 / 2) / sqrt(2 * pi)
    return 2 * readings * beta * threshold * density * nu(threshold * sqrt(2 * beta))


@pytest.mark.parametrize(("x", "value"), [(0.5, 0.747), (1.0, 0.560), (2.0, 0.315)])
def test_the_correction_is_the_published_one(x, value):
    # ν(x) ≈ exp(−0.583 x) for small x, Siegmund 1985, eq. 10.37; within 1 % up to 2.
    assert nu(x) == pytest.approx(value, rel=0.02)
    assert log(nu(x)) / x == pytest.approx(-0.583, abs=0.015)


@pytest.mark.parametrize(("threshold", "window"), [(3.0, 20), (3.2, 40)])
def test_a_slope_over_a_window_cries_wolf_as_seldom_as_theory_says(threshold, window):
    rng, trail, alarms, quiet_until = Random(f"{threshold} {window}"), Trail(), 0, 0
    for i in range(READINGS):
        t_s = EVERY_S * i
        trail.offer(t_s, rng.gauss(500.0, NOISE_C))
        if i < window:
            continue
        line = trail.line(t_s - EVERY_S * (window - 1))
        assert line is not None
        if abs(line.slope_c_per_s) > threshold * trail.slope_error(line, 0.0, 1.0) and i >= quiet_until:
            alarms, quiet_until = alarms + 1, i + window  # what follows belongs to the same
    # The trail's error takes the span for the number of steps, which is strict by (n + 1)/(n − 1).
    expected = expected_alarms(threshold * sqrt((window + 1) / (window - 1)), window, READINGS)
    assert expected > 20
    assert abs(alarms - expected) < 3.0 * sqrt(expected) + 0.1 * expected
