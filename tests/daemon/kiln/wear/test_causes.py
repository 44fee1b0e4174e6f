"""How likely each cause is, against the integral done by scipy."""

from math import exp

import pytest
from scipy import integrate, stats

from daemon.kiln.wear.causes import Difference, chances

WEAK, LOSES, MOVED = (
    (Difference(-0.12, 0.03), Difference(0.0, 0.05), Difference(0.2, 0.7)),
    (Difference(-0.09, 0.03), Difference(0.09, 0.03), Difference(0.2, 0.7)),
    (Difference(0.0, 0.03), Difference(0.0, 0.05), Difference(5.0, 0.7)))


@pytest.mark.parametrize(("seen", "cause"), [(WEAK, "elements"), (LOSES, "lining"), (MOVED, "probe")])
def test_each_change_has_its_own_trace(seen, cause):
    found = chances(seen)
    assert found[cause] > 0.8
    assert sum(found.values()) == pytest.approx(1)


def test_the_odds_of_weak_elements_are_those_of_the_integral():
    """∫ N(d; m·u, s²) · half-normal(m; 0.12) dm over N(d; 0, s²), by scipy.integrate.quad."""
    seen = WEAK[0]
    integral, _ = integrate.quad(
        lambda size: stats.norm.pdf(seen.by, -size, seen.off) * stats.halfnorm.pdf(size, scale=0.12), 0, 1)
    found = chances((seen, None, None))
    assert found["elements"] / found["chance"] == pytest.approx(integral / stats.norm.pdf(seen.by, 0, seen.off),
                                                               rel=1e-4)


def test_less_power_alone_leaves_open_what_it_is():
    found = chances((Difference(-0.12, 0.03), None, None))
    assert found["lining"] > 0.3
    assert found["elements"] > 0.3


def test_nothing_seen_is_chance():
    found = chances((Difference(0.0, 0.01), Difference(0.0, 0.01), Difference(0.0, 0.1)))
    assert found["chance"] > 0.7
    assert exp(0) == pytest.approx(sum(found.values()))
