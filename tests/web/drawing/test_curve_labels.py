"""Names of curves: each at its own curve, none over another or out of the drawing, with three and six firings."""

from __future__ import annotations

import itertools
import math
import random

import pytest

from web.drawing.curve_labels import freest, place

WIDE, NARROW = (64.0, 10.0, 1070.0, 374.0), (44.0, 10.0, 350.0, 254.0)


def curve(frame, chance):
    """Return an invented firing: up, a top, down, a hold, out; with a gap now and then."""
    left, top, right, bottom = frame
    at = sorted(chance.uniform(0.0, 1.0) for _ in range(4))
    height = bottom - chance.uniform(0.8, 1.0) * (bottom - top)
    corners = [(0.0, bottom), (at[0], height), (at[1], height), (at[2], (bottom + height) / 2),
               (at[3], (bottom + height) / 2), (1.0, bottom - 5)]
    points = [(left + (right - left) * x, y) for x, y in corners]
    if chance.random() < 0.4:
        return [points[:3], points[3:]]
    return [points]


def overlap(a, b):
    return a[0] < b[2] and a[2] > b[0] and a[1] < b[3] and a[3] > b[1]


def distance(box, pieces):
    """Return how far a box is from the nearest corner-to-corner point of its own curve."""
    best = math.inf
    for piece in pieces:
        for (x0, y0), (x1, y1) in itertools.pairwise(piece):
            for n in range(201):
                x, y = x0 + (x1 - x0) * n / 200, y0 + (y1 - y0) * n / 200
                best = min(best, math.hypot(max(box[0] - x, 0, x - box[2]), max(box[1] - y, 0, y - box[3])))
    return best


@pytest.mark.parametrize("frame", [WIDE, NARROW], ids=["wide", "narrow"])
@pytest.mark.parametrize("count", [2, 3, 6])
def test_every_curve_has_its_name_beside_it_and_no_two_names_overlap(frame, count):
    for seed in range(12):
        chance = random.Random(seed)
        curves = [curve(frame, chance) for _ in range(count)]
        names = [(f"{n} Lamp shade, full fuse", f"{n}") for n in range(1, count + 1)]
        taken = (frame[2] - 70, 60.0, frame[2], 76.0)
        found = place(curves, names, frame, [taken])
        assert all(label is not None for label in found)
        boxes = [label.box for label in found]
        assert not [pair for pair in itertools.combinations([*boxes, taken], 2) if overlap(*pair)]
        for label, pieces in zip(found, curves, strict=True):
            assert frame[0] <= label.box[0] < label.box[2] <= frame[2]
            assert frame[1] <= label.box[1] < label.box[3] <= frame[3]
            assert distance(label.box, pieces) < 12


def test_a_name_stands_where_its_curve_is_alone():
    same = [(64.0, 370.0), (400.0, 40.0)]
    apart = [[[*same, (1070.0, 60.0)]], [[*same, (1070.0, 360.0)]]]
    for label in place(apart, [("1 A", "1"), ("2 B", "2")], WIDE):
        assert label.at[0] > 450.0


def test_curves_that_lie_over_each_other_still_have_a_name_each():
    line = [[(64.0, 370.0), (1070.0, 40.0)]]
    found = place([line] * 6, [(f"{n} Tile", f"{n}") for n in range(6)], WIDE)
    assert all(found)
    assert not [p for p in itertools.combinations([label.box for label in found], 2) if overlap(*p)]


def test_where_the_long_name_has_no_room_the_number_stands():
    small = (0.0, 0.0, 60.0, 40.0)
    [label] = place([[[(0.0, 20.0), (60.0, 20.0)]]], [("1 Lamp shade panel", "1")], small)
    assert label.words == "1"


def test_a_curve_without_a_point_has_no_name():
    assert place([[], [[(100.0, 100.0), (200.0, 90.0)]]], [("1 A",), ("2 B",)], WIDE)[0] is None


def test_of_several_places_the_first_that_the_fewest_curves_pass_is_taken():
    line = [[[(0.0, 50.0), (200.0, 50.0)]], [[(0.0, 10.0), (100.0, 10.0)]]]
    boxes = [(10.0, 0.0, 40.0, 60.0), (10.0, 40.0, 40.0, 60.0), (110.0, 0.0, 140.0, 60.0), (150.0, 0.0, 180.0, 20.0)]
    assert freest(boxes, line) == boxes[3]
    assert freest(boxes[:3], line) == boxes[1]
