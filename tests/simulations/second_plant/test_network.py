"""The network of heat capacities: its ledger, and textbook solutions."""

from __future__ import annotations

from math import exp

import pytest

from simulations.second_plant.network import ROOM, Network


def rod(n: int) -> Network:
    """Return a rod of ``n`` nodes that loses heat at its end, with a shortcut from its first node to its last."""
    links = [(k, k + 1) for k in range(n - 1)] + [(0, n - 1), (n - 1, ROOM)]
    net = Network([100.0 + 10 * k for k in range(n)], links, 300.0)
    for link in range(len(net.links)):
        net.conduct(link, 1.0 + 0.3 * link)
    return net


def test_what_is_put_in_is_stored_or_lost():
    net = rod(6)
    before_j = net.stored_j()
    for _ in range(500):
        net.step(7.0, [(2, 40.0)], 20.0)
    put_in_j = 500 * 7.0 * 40.0
    assert net.stored_j() - before_j + net.lost_j == pytest.approx(put_in_j, rel=1e-9)


def test_one_node_cools_as_a_lumped_body_does():
    # Incropera and others, Fundamentals of Heat and Mass Transfer, eq. 5.6 (from memory):
    # (T - T_inf)/(T_i - T_inf) = exp(-t/(R C)); here R C = 600/0.5 = 1200 s.
    net = Network([600.0], [(0, ROOM)], 500.0)
    net.conduct(0, 0.5)
    for _ in range(1800):
        net.step(1.0, [], 20.0)
    assert net.temps_c[0] - 20.0 == pytest.approx(480.0 * exp(-1800 / 1200), rel=1e-3)


def test_a_steady_flow_falls_across_conductances_in_series_as_ohms_law_has_it():
    net = Network([50.0, 50.0, 50.0], [(0, 1), (1, 2), (2, ROOM)], 20.0)
    for link, conductance in enumerate((2.0, 4.0, 0.5)):
        net.conduct(link, conductance)
    for _ in range(2000):
        net.step(10.0, [(0, 30.0)], 20.0)
    assert net.temps_c == pytest.approx([20 + 30 / 0.5 + 30 / 4 + 30 / 2, 20 + 30 / 0.5 + 30 / 4, 20 + 30 / 0.5])


def test_any_step_is_stable():
    net = rod(8)
    for _ in range(20):
        net.step(1e6, [], 20.0)
    assert net.temps_c == pytest.approx([20.0] * 8, abs=1e-3)


def test_a_conductance_that_changes_counts_from_the_next_step_on():
    net = Network([100.0], [(0, ROOM)], 100.0)
    net.step(60.0, [], 20.0)
    assert net.temps_c == [100.0]
    net.conduct(0, 5.0)
    net.step(60.0, [], 20.0)
    assert net.temps_c[0] == pytest.approx((100 * 100 / 60 + 5 * 20) / (100 / 60 + 5))
