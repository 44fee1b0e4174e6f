"""A line with fewer points is the same line to the eye."""

from __future__ import annotations

import math
import random

import pytest

from web.drawing.straight_pieces import WITHIN_PX, straight_pieces


def off(points, kept):
    """Return how far, up or down, the straight pieces through ``kept`` pass from the points at most."""
    worst, here = 0.0, 0
    for x, y in points:
        while here < len(kept) - 2 and kept[here + 1][0] < x:
            here += 1
        (x0, y0), (x1, y1) = kept[here], kept[here + 1]
        if x1 > x0:
            worst = max(worst, abs(y0 + (y1 - y0) * (x - x0) / (x1 - x0) - y))
    return worst


@pytest.mark.parametrize("seed", range(20))
def test_no_point_is_passed_further_off_than_asked(seed):
    chance = random.Random(seed)
    points = [(x / 2, 150 + 140 * math.sin(x / 90) + chance.uniform(-1, 1) * (seed % 3)) for x in range(2000)]
    kept = straight_pieces(points)
    assert kept[0] == points[0]
    assert kept[-1] == points[-1]
    assert set(kept) <= set(points)
    assert off(points, kept) <= WITHIN_PX + 1e-9


def test_a_straight_line_is_its_two_ends_and_a_corner_stays():
    up = [(float(x), float(x)) for x in range(500)]
    assert straight_pieces(up) == [up[0], up[-1]]
    assert straight_pieces([*up, *((500.0 + x, 499.0) for x in range(300))])[1:-1] == [(499.0, 499.0)]


def test_a_step_at_one_place_stays_a_step():
    assert straight_pieces([(0, 5), (1, 5), (1, 90), (2, 90), (3, 90)]) == [(0, 5), (1, 5), (1, 90), (3, 90)]


@pytest.mark.parametrize("points", [[], [(1.0, 2.0)], [(1.0, 2.0), (3.0, 4.0)]])
def test_two_points_or_fewer_stay(points):
    assert straight_pieces(points) == points
