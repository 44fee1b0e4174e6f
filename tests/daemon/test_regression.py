"""Running sums give what numpy and scipy give from the readings themselves, after days as on the first."""

from __future__ import annotations

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from daemon.regression import RunningSums


def uneven(seed: int, count: int, start_s: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Return unevenly spaced times [s] and a noisy, wandering temperature [°C]."""
    rng = np.random.default_rng(seed)
    times = start_s + np.cumsum(rng.uniform(0.5, 12.0, count))
    temps = 400 + 300 * np.sin(times / 9000) + np.cumsum(rng.normal(0, 0.3, count)) + rng.normal(0, 0.8, count)
    return times, temps


def kept(times, temps, **sizes) -> RunningSums:
    sums = RunningSums(**{"keep_s": 7200.0, **sizes})
    for t_s, temp_c in zip(times, temps, strict=True):
        sums.add(float(t_s), float(temp_c))
    return sums


@pytest.mark.parametrize("start_s", [0.0, -1200.0, 1.764e9])
@pytest.mark.parametrize("seed", range(4))
def test_a_line_is_the_least_squares_line(seed, start_s):
    times, temps = uneven(seed, 500, start_s)
    sums, rng = kept(times, temps), np.random.default_rng(seed)
    for _ in range(30):
        i = int(rng.integers(0, 490))
        j = int(rng.integers(i + 3, 501))
        line, fit = sums.line_between(i, j), scipy.stats.linregress(times[i:j], temps[i:j])
        slope, offset = np.polyfit(times[i:j] - times[i], temps[i:j], 1)
        assert line.slope_c_per_s == pytest.approx(fit.slope, rel=1e-7, abs=1e-9)
        assert line.slope_c_per_s == pytest.approx(slope, rel=1e-7, abs=1e-9)
        assert line.at(float(times[i])) == pytest.approx(offset, abs=1e-6)
        assert line.number == j - i
        assert line.span_s == times[j - 1] - times[i]
        assert line.mean_c == pytest.approx(temps[i:j].mean(), abs=1e-9)
        residuals = temps[i:j] - (slope * (times[i:j] - times[i]) + offset)
        assert line.sse == pytest.approx(float(residuals @ residuals), rel=1e-5, abs=1e-7)
        # The textbook standard error of a slope is √(SSE / (n − 2) / Sxx); scipy gives the same from our SSE.
        sxx = float(((times[i:j] - times[i:j].mean()) ** 2).sum())
        assert (line.sse / (line.number - 2) / sxx) ** 0.5 == pytest.approx(fit.stderr, rel=1e-4, abs=1e-9)


def test_days_later_the_sums_are_as_exact_as_on_the_first_evening():
    times, temps = uneven(7, 30_000)  # some 50 hours
    sums = kept(times, temps)
    assert len(sums.times) < 12_000
    assert sums.times == times[-len(sums.times):].tolist()
    for count in (3, 40, 300, len(sums.times)):
        line = sums.line_between(len(sums.times) - count, len(sums.times))
        fit = scipy.stats.linregress(times[-count:], temps[-count:])
        assert line.slope_c_per_s == pytest.approx(fit.slope, rel=1e-7, abs=1e-10)


def test_what_is_young_enough_is_never_forgotten():
    times, temps = uneven(3, 5000)
    sums = RunningSums(keep_s=600.0, most=50)
    for number, (t_s, temp_c) in enumerate(zip(times, temps, strict=True)):
        sums.add(float(t_s), float(temp_c))
        young = int(np.searchsorted(times[:number + 1], t_s - 600.0))
        assert len(sums.times) >= number + 1 - young
        assert sums.times[-1] - sums.times[0] <= 2 * 600.0 + 12.0 or len(sums.times) <= 50


def test_totals_are_sums_of_degrees():
    times, temps = uneven(5, 9000)
    sums = kept(times, temps)
    for back_s in (0.0, 100.0, 3000.0, 7000.0):
        from_s = float(times[-1]) - back_s
        chosen = temps[times >= from_s]
        total, count = sums.total(from_s)
        assert count == len(chosen)
        assert total == pytest.approx(float(chosen.sum()), abs=1e-6)
    assert sums.total(float(times[-1]) + 1.0) == (0.0, 0)


@given(st.integers(0, 2))
def test_two_readings_make_no_line(count):
    sums = kept(range(count), [20.0] * count)
    assert sums.line_between(0, count) is None


def test_a_flat_line_has_no_slope_and_no_residual():
    line = kept(range(0, 500, 5), [516.0] * 100).line_between(0, 100)
    assert (line.slope_c_per_s, line.sse, line.mean_c) == (0.0, 0.0, 516.0)


def brute_gain(times, temps, k: int) -> float:
    """Return by how much numpy's own fit with a bend at reading ``k`` beats its straight line [K²]."""
    t = times - times[0]
    straight = np.column_stack([np.ones_like(t), t])
    bent = np.column_stack([straight, np.maximum(0.0, t - t[k])])
    def sse(design):
        fit, *_ = np.linalg.lstsq(design, temps, rcond=None)
        rest = temps - design @ fit
        return float(rest @ rest)
    return sse(straight) - sse(bent)


@pytest.mark.parametrize("seed", range(3))
def test_a_bend_gains_what_a_fit_with_a_bend_gains(seed):
    times, temps = uneven(seed, 200)
    sums = kept(times, temps)
    i, j = 40, 160
    whole = sums.line_between(i, j)
    for k in range(i + 3, j - 3, 7):
        expected = brute_gain(times[i:j], temps[i:j], k - i)
        assert sums.bend_gain(i, j, k, whole) == pytest.approx(expected, rel=1e-5, abs=1e-6)
