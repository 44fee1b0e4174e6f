"""The two bodies against closed forms and a reference solver."""

from math import exp

import pytest
from scipy.integrate import solve_ivp

from daemon.firing.energy.thermal import Heat, Thermal, falling, heated, losing_k_per_s, walls_along

KILN = Thermal(1 / 2500, 1 / 9000, 1 / 15_000, 1 / 22_000)


def test_one_body_falls_as_newton_says():
    """Newton's law of cooling [source: Incropera et al., lumped capacitance: exp(−t/τ)]."""
    alone = Thermal(0.0, 0.0, 0.0, 1 / 7200)
    curve = falling(alone, Heat(520.0, 20.0), [0.0, 3600.0, 7200.0, 36_000.0], 20.0)
    assert curve == pytest.approx([20 + 500 * exp(-t / 7200) for t in (0, 3600, 7200, 36_000)], abs=0.6)


def test_with_power_it_comes_to_where_power_and_loss_are_equal():
    alone = Thermal(0.0, 0.0, 0.0, 1 / 7200)
    assert heated(alone, Heat(20.0, 20.0), 500 / 7200, 100_000.0, 20.0).chamber_c == pytest.approx(520.0, abs=0.1)


@pytest.mark.parametrize("power_k_per_s", [0.0, 0.15])
def test_both_bodies_follow_a_reference_solver(power_k_per_s):
    def rises(_, both):
        heat = Heat(*both)
        return [power_k_per_s - losing_k_per_s(KILN, heat, 21.0),
                KILN.store_gains_per_s * (heat.chamber_c - heat.walls_c)
                - KILN.store_loses_per_s * (heat.walls_c - 21.0)]

    reference = solve_ivp(rises, (0, 20_000), [780.0, 420.0], rtol=1e-9, atol=1e-9).y[:, -1]
    assert heated(KILN, Heat(780.0, 420.0), power_k_per_s, 20_000.0, 21.0) == pytest.approx(reference, abs=0.7)


def test_walls_follow_a_steady_chamber_to_their_share():
    trace = [(60.0 * i, 600.0) for i in range(3000)]
    gains, loses = KILN.store_gains_per_s, KILN.store_loses_per_s
    walls = walls_along(KILN, [(0.0, 20.0), (30.0, 600.0), *trace[1:]], 20.0)
    assert walls[-1] == pytest.approx((gains * 600 + loses * 20) / (gains + loses), abs=0.1)
