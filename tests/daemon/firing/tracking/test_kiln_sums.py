"""The mean of a part is that of the kiln: what was read under an opened lid does not count."""

from __future__ import annotations

import pytest

from daemon.firing.tracking.kiln_sums import KilnSums


@pytest.fixture
def sums_of(along, trail_of):
    """Return a function: the sums of readings every ten seconds along corners (s, °C)."""

    def build(*corners):
        readings = along(*corners)
        sums = KilnSums(trail_of(readings))
        for _, temp_c in readings:
            sums.count_in(temp_c)
        return sums

    return build


TOP = (0.0, 800.0), (300.0, 800.0), (310.0, 600.0), (590.0, 600.0), (600.0, 800.0), (1200.0, 800.0)
"""A top of 20 min with the lid open for five; from 300 to 600 s the readings are those of air."""


@pytest.mark.parametrize(("looks", "mean_c"), [
    ([], pytest.approx(800.0 - 200.0 * 28 / 120 - 100.0 / 120, abs=2.0)),
    ([(301.0, 600.0)], 800.0),
    ([(301.0, 600.0), (700.0, 900.0)], 800.0),
    ([(301.0, 450.0), (350.0, 600.0)], 800.0),  # a second look before the readings had settled: each reading once
    ([(301.0, 450.0), (600.0, 1300.0)], pytest.approx(772.0, abs=2.0)),  # one that is not over yet
])
def test_a_mean_is_without_the_looks_inside(sums_of, looks, mean_c):
    sums = sums_of(*TOP)
    for _ in range(2):  # each look is named again at every beat
        sums.leave_out(looks, 1200.0)
    assert sums.mean_c(sums.before(0.0), sums.now(1200.0)) == mean_c


def test_a_look_counts_with_neither_of_the_parts_beside_a_boundary_in_it(sums_of):
    sums = sums_of(*TOP)
    sums.leave_out([(301.0, 600.0)], 1200.0)
    begun = sums.before(450.0)
    assert sums.mean_c(sums.before(0.0), begun) == pytest.approx(800.0)
    assert sums.mean_c(begun, sums.now(1200.0)) == pytest.approx(800.0)
    assert sums.mean_c(sums.before(400.0), begun) is None  # nothing but air


def test_a_look_that_is_no_longer_named_is_forgotten(sums_of):
    sums = sums_of(*TOP)
    sums.leave_out([(301.0, 600.0)], 1200.0)
    sums.leave_out([], 1200.0)
    assert sums.mean_c(sums.before(0.0), sums.now(1200.0)) < 760.0
