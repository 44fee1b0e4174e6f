"""The bench's slab against closed forms."""

from __future__ import annotations

from math import cos, exp, pi

import pytest

from simulations.plant.slab import DIFFUSIVITY_M2_S, Slab, through


def fluxed(x: float, fo: float) -> float:
    """Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., §3.8 (3): slab 0 < x < 1, flux in at x = 1.

    In units of (flux × thickness / conductivity); time as κt/l².
    """
    tail = sum((-1) ** n / n**2 * exp(-n * n * pi * pi * fo) * cos(n * pi * x) for n in range(1, 200))
    return fo + (3 * x * x - 1) / 6 - 2 / pi**2 * tail


@pytest.mark.parametrize("fo", [0.05, 0.1, 0.3, 1.0])
def test_a_slab_heated_at_one_face_warms_as_the_series_says(fo):
    thickness_mm, rate = 10.0, 0.02  # K/s of the mean: a constant flux of rate × ρ c l
    l_m = thickness_mm / 1000
    scale = rate * l_m**2 / DIFFUSIVITY_M2_S
    slab, steps = Slab(thickness_mm, 1, 0.0), 2000
    dt_s = fo * l_m**2 / DIFFUSIVITY_M2_S / steps
    for n in range(1, steps + 1):
        slab.follow(dt_s, rate * n * dt_s)
    assert slab.surface_c / scale == pytest.approx(fluxed(1.0, fo), abs=0.004)
    assert slab.core_c / scale == pytest.approx(fluxed(0.0, fo), abs=0.004)


@pytest.mark.parametrize(("thickness_mm", "faces", "rate_c_per_h"), [(6, 1, 55), (12, 2, 200), (19, 1, 30)])
def test_on_a_long_ramp_surface_and_core_stand_half_rate_depth_squared_over_diffusivity_apart(
    thickness_mm, faces, rate_c_per_h,
):
    # Carslaw & Jaeger §3.3, surface rising steadily: difference = rate × depth² / (2 κ).
    times = [60.0 * n for n in range(120)]
    surface, core = through(times, [500 - rate_c_per_h * t / 3600 for t in times], thickness_mm, faces)
    depth_m = thickness_mm / 1000 / faces
    expected = rate_c_per_h / 3600 * depth_m**2 / (2 * DIFFUSIVITY_M2_S)
    assert core[-1] - surface[-1] == pytest.approx(expected, rel=0.01)


def test_a_slab_left_alone_evens_out_with_the_time_constant_of_its_first_mode():
    # Insulated both sides, the slowest cosine decays as exp(-π² κ t / l²): Carslaw & Jaeger §3.3.
    slab = Slab(10.0, 1, 0.0)
    slab.cells_c = [cos(pi * (n + 0.5) / 12) for n in range(12)]
    tau_s = 0.01**2 / (pi**2 * DIFFUSIVITY_M2_S)
    for _ in range(400):
        slab.follow(tau_s / 400, 0.0)
    assert slab.cells_c[0] / cos(pi * 0.5 / 12) == pytest.approx(exp(-1.0), rel=0.01)


def test_the_mean_is_kept_and_a_thin_slab_has_no_inside():
    slab = Slab(20.0, 1, 100.0)
    for n in range(50):
        slab.follow(5.0, 100.0 + 3 * n)
    assert sum(slab.cells_c) / 12 == pytest.approx(slab.mean_c)
    surface, core = through([0, 5, 10, 15], [20, 21, 22, 23], 0.1)
    assert surface[-1] - core[-1] == pytest.approx(0.0, abs=0.01)


def test_halving_the_step_changes_nothing_that_matters():
    def after(dt_s: float) -> tuple[float, float]:
        slab = Slab(12.0, 1, 20.0)
        for n in range(1, round(3600 / dt_s) + 1):
            slab.follow(dt_s, 20 + 250 * n * dt_s / 3600)
        return slab.surface_c, slab.core_c
    assert after(5.0) == pytest.approx(after(2.5), abs=0.01)
