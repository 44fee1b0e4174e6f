"""Heat into a wall against closed forms of the text books (Carslaw & Jaeger; Incropera & DeWitt; from memory)."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from daemon.firing.energy.wall_heat import GROWS_PER_K, driving_k, into_wall_k

TAU_S = 4 * 3600.0


def _step(minutes, height_k=100.0):
    return into_wall_k([0.0] + [height_k] * minutes, 60.0, TAU_S)


@pytest.mark.parametrize("minutes", [10, 20, 30])
def test_after_a_step_a_thick_wall_takes_what_one_without_end_takes(minutes):
    # Constant surface temperature, semi-infinite solid: q = k ΔT / √(π α t), so q/(k/L) = ΔT √(τ / π t).
    asked_k = 100.0 * sqrt(TAU_S / (pi * minutes * 60.0))
    assert _step(200)[minutes] == pytest.approx(asked_k, rel=0.03)


def test_in_the_end_only_the_steady_loss_is_left():
    assert _step(1440)[-1] == pytest.approx(100.0, rel=1e-3)


def test_a_climb_at_an_even_rate_takes_what_the_text_book_says():
    # Surface temperature b t, semi-infinite solid: q = 2 k b √(t / π α), so q/(k/L) = 2 b √(t τ / π).
    rate_k_per_s = 200.0 / 3600
    taken = into_wall_k([rate_k_per_s * 60.0 * n for n in range(61)], 60.0, TAU_S)
    assert taken[60] == pytest.approx(2 * rate_k_per_s * sqrt(3600.0 * TAU_S / pi), rel=0.01)


def test_all_that_flowed_in_fills_the_wall_and_is_lost():
    # ∫ q dt = K ΔT (t + 2 τ Σ 1/n²π²) = K ΔT (t + τ/3): half of the wall's capacity is filled, τ/2, and what the far
    # face passed on lags by τ/6 (Carslaw & Jaeger, heat through a slab whose far face is kept cold; from memory).
    taken = _step(3000)
    assert sum(taken[1:]) * 60.0 == pytest.approx(100.0 * (3000 * 60.0 + TAU_S / 3), rel=2e-3)


def test_against_a_wall_cut_into_slices():
    """An explicit scheme of 60 slices, warmed by a curve that climbs, holds and falls."""
    slices, curve = 60, [min(n, 120, 300 - n) * 4.0 for n in range(300)]
    step_s = TAU_S / slices**2 * 0.25
    temps, found, at_s, flow = [0.0] * (slices + 1), [], 0.0, 0.0
    for n in range(1, len(curve)):
        while at_s < n * 60.0:
            part = (at_s - (n - 1) * 60.0) / 60.0
            temps[0] = curve[n - 1] + (curve[n] - curve[n - 1]) * part
            inner = [temps[i] + 0.25 * (temps[i - 1] - 2 * temps[i] + temps[i + 1]) for i in range(1, slices)]
            temps[1:slices] = inner
            flow = slices * (1.5 * temps[0] - 2 * temps[1] + 0.5 * temps[2])  # one-sided slope, second order
            at_s += step_s
        found.append(flow)
    taken = into_wall_k(curve, 60.0, TAU_S)
    for n in (30, 100, 150, 178, 240, 299):
        assert taken[n] == pytest.approx(found[n - 1], abs=0.02 * max(found)), n


def test_what_drives_the_heat_is_the_integral_of_the_conductivity():
    steps = [20.0 + 780.0 * (n + 0.5) / 1000 for n in range(1000)]
    assert driving_k(800.0, 20.0) == pytest.approx(sum(1 + GROWS_PER_K * c for c in steps) * 0.78, rel=1e-6)
    assert driving_k(20.0, 20.0) == 0.0
