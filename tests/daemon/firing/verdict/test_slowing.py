"""A fall whose time constant grows, held to closed forms and to scipy's integral."""

from math import exp, log

import pytest
from scipy.integrate import quad

from daemon.firing.verdict.slowing import KNOTS, LOWEST_K, STRETCH, Slowing, by_power

TIME_S = 4 * 3600.0


@pytest.mark.parametrize(("from_k", "to_k"), [(300.0, 20.0), (60.0, 25.0), (21.0, 20.0)])
def test_without_slowing_it_is_newtons_law(from_k, to_k):
    assert by_power(0.0).takes_s(TIME_S, 150.0, from_k, to_k) == pytest.approx(TIME_S * log(from_k / to_k))


@pytest.mark.parametrize("power", [-0.05, 0.1, 0.4])
def test_a_power_has_a_closed_form(power):
    # ∫ τ (at / u) ** p du / u = τ / p · ((at / to) ** p − (at / from) ** p)
    expected = TIME_S / power * ((100 / 20) ** power - (100 / 300) ** power)
    assert by_power(power).takes_s(TIME_S, 100.0, 300.0, 20.0) == pytest.approx(expected, rel=1e-3)


def test_any_curve_is_integrated():
    curve = Slowing(tuple(-0.3 * exp(-n / 6) - 0.01 * n for n in range(KNOTS)))
    expected, _ = quad(lambda x: curve.time_s(TIME_S, 120.0, exp(x)), log(22.0), log(260.0), epsabs=1.0)
    assert curve.takes_s(TIME_S, 120.0, 260.0, 22.0) == pytest.approx(expected, rel=1e-3)


def test_beyond_its_ends_the_curve_is_flat_and_nothing_takes_no_time():
    curve, highest_k = by_power(0.2), LOWEST_K * exp((KNOTS - 1) * STRETCH)
    assert curve.log_time(LOWEST_K / 3) == curve.log_time(LOWEST_K) == 0.0
    assert curve.log_time(3 * highest_k) == curve.log_time(highest_k)
    assert curve.takes_s(TIME_S, 100.0, 20.0, 20.0) == 0.0
