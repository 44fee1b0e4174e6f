"""Heat through a slab, held to closed forms and to a numerical solution from outside."""

from itertools import pairwise
from math import pi

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from daemon.glass.slab import Slab

DIFFUSIVITY = 4.5e-7
"""m²/s, soda-lime near its annealing range; derived from data pages quoting EN 572."""


def advanced(slab: Slab, from_c: float, to_c: float, step_s: float) -> list[float]:
    slab.advance(from_c, to_c, step_s)
    return slab.temps_c(to_c, slab.amplitudes)


def cooled(depth_m: float, rate_c_per_h: float, seconds: float, step_s: float = 5.0) -> list[float]:
    slab = Slab(depth_m, DIFFUSIVITY, (0.0, 0.5, 1.0))
    face_c, temps = 500.0, []
    for _ in range(round(seconds / step_s)):
        next_c = face_c - rate_c_per_h * step_s / 3600
        temps = advanced(slab, face_c, next_c, step_s)
        face_c = next_c
    return temps


@pytest.mark.parametrize(
    ("thickness_mm", "faces", "rate_c_per_h", "difference_k"),
    [  # R L²/(2κ): Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., ch. III
        (6, 2, 150, 0.4167), (12, 2, 60, 0.6667), (12, 1, 60, 2.6667), (19, 2, 100, 2.785),
        (38, 2, 40, 4.457), (38, 1, 40, 17.827), (50, 2, 10, 1.929),
    ],
)
def test_a_steady_fall_stands_at_the_closed_form(thickness_mm: float, faces: int, rate_c_per_h: float,
                                                 difference_k: float) -> None:
    core, _, face = cooled(thickness_mm / 1000 / faces, rate_c_per_h, 20_000.0)
    assert core - face == pytest.approx(difference_k, rel=1e-3)


def test_a_steady_fall_is_a_parabola() -> None:
    core, half, face = cooled(0.012, 60.0, 20_000.0)
    assert half - face == pytest.approx((1 - 0.25) * (core - face), rel=1e-4)


@pytest.mark.parametrize(("times", "share"), [(1, 0.6203), (2, 0.8603), (3, 0.9486)])
def test_the_start_follows_the_series(times: int, share: float) -> None:
    # 1 − Σ (−1)^k 32/((2k+1)π)³ exp(…), Carslaw & Jaeger ch. III; evaluated at multiples of τ₁ = 4L²/(π²κ).
    depth_m, rate = 0.019, 40.0
    tau_s = 4 * depth_m**2 / (pi**2 * DIFFUSIVITY)
    steady = rate / 3600 * depth_m**2 / (2 * DIFFUSIVITY)
    core, _, face = cooled(depth_m, rate, times * tau_s, step_s=times * tau_s / 200)
    assert (core - face) / steady == pytest.approx(share, abs=5e-4)


def test_the_core_lags_a_sudden_step_by_the_series() -> None:
    # Core still has 0.7723 of the step at κt/L² = 0.2: Crank, The Mathematics of Diffusion, ch. 4 (from memory).
    depth_m = 0.0095
    slab = Slab(depth_m, DIFFUSIVITY, (0.0, 1.0))
    slab.advance(500.0, 450.0, 1e-3)
    rest_s = 0.2 * depth_m**2 / DIFFUSIVITY
    for _ in range(50):
        core, _ = advanced(slab, 450.0, 450.0, rest_s / 50)
    assert (core - 450.0) / 50.0 == pytest.approx(0.7723, abs=2e-3)


def test_two_cooled_faces_at_twice_the_thickness_are_one_face() -> None:
    assert cooled(0.024 / 2, 75.0, 4_000.0) == cooled(0.012, 75.0, 4_000.0)


def test_the_step_may_be_any_length_on_a_straight_trace() -> None:
    fine, coarse = cooled(0.012, 60.0, 3_600.0, 1.0), cooled(0.012, 60.0, 3_600.0, 60.0)
    assert coarse == pytest.approx(fine, abs=1e-9)


def test_no_depth_is_further_from_the_face_than_the_bound_and_the_bound_is_no_more_than_twice() -> None:
    # The modes' shapes are at most 1, the lumped one's at most the whole steady parabola L²/(2κ) for 1 K/s.
    depth_m = 0.019
    nodes = tuple(k / 40 for k in range(41))
    slab = Slab(depth_m, DIFFUSIVITY, nodes)
    face_c = 500.0
    for step_s, to_c in ((0.02, 440.0), (5.0, 440.0), (60.0, 400.0), (600.0, 410.0), (1.0, 402.0), (1e-3, 460.0)):
        temps = advanced(slab, face_c, to_c, step_s)
        face_c = to_c
        furthest_k = max(abs(temp_c - to_c) for temp_c in temps)
        assert furthest_k <= slab.reach_k + 1e-9
        *modes, lumped = slab.amplitudes
        assert slab.reach_k == pytest.approx(sum(map(abs, modes)) + abs(lumped) * depth_m**2 / (2 * DIFFUSIVITY))
    still = Slab(depth_m, DIFFUSIVITY, nodes)
    still.advance(500.0, 500.0 - 40.0, 3600.0 * 10)
    # In a steady fall of 4 K/h the core is R L²/(2κ) from the face; the lumped mode is counted whole as well.
    assert 1.0 <= still.reach_k / (4.0 / 3600 * depth_m**2 / (2 * DIFFUSIVITY)) <= 2.1


def test_what_the_kept_modes_leave_out_is_in_the_lumped_one_at_once() -> None:
    # Its shape is that of the steady parabola for 1 K/s less the shares of the kept modes, 2(−1)^k L²/(κ w³) with
    # w = (2k+1)π/2; in the core that is L²/κ · (1/2 − Σ 2(−1)^k/w³), in the face nothing.
    depth_m = 0.019
    slab = Slab(depth_m, DIFFUSIVITY, (0.0, 1.0))
    rest = depth_m**2 / DIFFUSIVITY * (0.5 - sum(
        2 * (-1) ** k / ((2 * k + 1) * pi / 2) ** 3 for k in range(len(slab.amplitudes) - 1)))
    assert slab.shapes[0][-1] == pytest.approx(rest)
    assert slab.shapes[1][-1] == pytest.approx(0.0, abs=1e-9)
    slab.advance(500.0, 450.0, 1e6)
    # Long after a change of rate the lumped mode alone is −rate: 50 K in 1e6 s.
    assert slab.amplitudes[-1] == pytest.approx(50.0 / 1e6)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_any_trace_agrees_with_a_numerical_solution(seed: int) -> None:
    """Method of lines with 120 cells and a stiff integrator (scipy's BDF) on a ragged trace."""
    rng = np.random.default_rng(seed)
    depth_m = 0.012
    times = np.concatenate([[0.0], np.cumsum(rng.uniform(1.0, 60.0, 60))])
    faces = 520.0 + np.concatenate([[0.0], np.cumsum(rng.normal(0.0, 6.0, 60))])
    n = 120
    h = depth_m / n

    def slope(t: float, temps: np.ndarray) -> np.ndarray:
        face = np.interp(t, times, faces)
        padded = np.concatenate([[temps[1]], temps, [face]])
        return DIFFUSIVITY * (padded[:-2] - 2 * padded[1:-1] + padded[2:]) / h**2

    jacobian = (np.diag(np.full(n, -2.0)) + np.diag(np.ones(n - 1), 1) + np.diag(np.ones(n - 1), -1))
    jacobian[0, 1] = 2.0  # the core is the mirror of itself
    found = solve_ivp(slope, (0, times[-1]), np.full(n, faces[0]), method="BDF", t_eval=times[1:],
                      max_step=20.0, rtol=1e-6, atol=1e-5, jac=jacobian * DIFFUSIVITY / h**2)
    slab = Slab(depth_m, DIFFUSIVITY, (0.0, 0.5, 1.0))
    ours = [
        advanced(slab, float(c0), float(c1), float(t1 - t0))
        for (t0, t1), (c0, c1) in zip(pairwise(times), pairwise(faces), strict=True)
    ]
    core = np.array([row[0] for row in ours])
    middle = np.array([row[1] for row in ours])
    assert np.max(np.abs(core - found.y[0])) < 0.15
    assert np.max(np.abs(middle - found.y[n // 2])) < 0.15
