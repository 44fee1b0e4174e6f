"""Where the name of each curve stands in a drawing of several: at its own curve, over no other name. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from operator import add, sub

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right and bottom edge [px]."""

CHAR_PX = 6.6
"""Width that a character of a name takes at most on the average [px]. [chosen: by eye, in the page's font]"""
HEIGHT_PX = 14.0
"""Height of a line of a name [px]. [chosen: of the drawing's letters]"""
_RISE_PX = 11.0
"""The letters' base line below the top of their box [px]. [chosen: by eye, in the page's font]"""
_APART_PX = 3.0
"""Names stay this far from each other [px]. [chosen: by eye]"""
_LEADER_PX = 6.0
"""A name stands this far from its curve [px]. [chosen: near enough to belong to it]"""
_STEP_PX = 11.0
"""Places along a curve that are tried [px]. [chosen: less than the height of a name]"""
_CELL_PX = 5.0
"""The drawing is looked at in cells this large [px]. [chosen: finer than a name is high]"""
_OVER_OTHER, _OVER_OWN, _NEAR_OTHER, _FAR_OTHER = 30.0, 6.0, 1.5, 0.25
"""What a cell with a curve costs: another one or its own under the name, another within 10 px and within 30 px.
[chosen: by eye, with three and six firings]"""
_NEAR_PX, _FAR_PX = 10.0, 30.0
"""How far around a name other curves are looked for [px]. [chosen: by eye]"""
_SHORTER = 200.0
"""What a shorter form of the name costs. [chosen: a name over a few cells of another curve says more than its letter
alone]"""
_NAMELESS = 1000.0
"""What a curve without a name costs. [chosen: more than any place of a name]"""


@dataclass(frozen=True, slots=True)
class CurveLabel:
    """A name in its place: its words, its box, and the point of its curve that it stands at."""

    words: str
    """One line or several."""
    box: Box
    at: Point

    @property
    def foot(self) -> Point:
        """Return where the words begin, on the base line of their first line [px]."""
        return self.box[0], self.box[1] + _RISE_PX

    @property
    def near(self) -> Point:
        """Return the point of the box that is nearest to the curve's point [px]."""
        left, top, right, bottom = self.box
        return min(max(self.at[0], left), right), min(max(self.at[1], top), bottom)


def place(curves: Sequence[Sequence[Sequence[Point]]], names: Sequence[Sequence[str]], frame: Box,
          taken: Sequence[Box] = ()) -> tuple[CurveLabel | None, ...]:
    """Return a label for each curve, none over another or over what is taken; None for one that has no room.

    Parameters
    ----------
    curves
        Each as its pieces between gaps; the points of a piece from left to right [px].
    names
        Of each curve the forms of its name, the most wanted first; a form may have several lines.
    frame
        The labels stay within.
    taken
        Boxes where other words stand already.

    Notes
    -----
    The first curves have the best places, and may leave none for those that lie beside them. So the curves are gone
    through in their order and backwards, and the better one is taken.
    """
    dense = [[point for piece in curve for point in _dense(piece)] for curve in curves]
    maps = [_Cells(frame).passed_by(points) for points in dense]
    everything = _Cells(frame)
    for one in maps:
        everything = everything.joined(one, add)
    others = [everything.joined(own, sub) for own in maps]
    orders = (range(len(curves)), range(len(curves) - 1, -1, -1))
    priced = [_in_order(order, dense, maps, others, names, frame, taken) for order in orders]
    return min(priced, key=lambda one: one[0])[1]


def _in_order(order: Sequence[int], dense: Sequence[Sequence[Point]], maps: Sequence[_Cells],
              others: Sequence[_Cells], names: Sequence[Sequence[str]], frame: Box,
              taken: Sequence[Box]) -> tuple[float, tuple[CurveLabel | None, ...]]:
    """Return what the labels cost in all where they are placed in this order, and the labels."""
    blocked, found, cost = list(taken), dict[int, CurveLabel | None](), 0.0
    for at in order:
        found[at], price = _best(dense[at], maps[at], others[at], names[at], frame, blocked)
        cost += price
        if (label := found[at]) is not None:
            blocked.append(label.box)
    return cost, tuple(found[at] for at in range(len(found)))


def _best(points: Sequence[Point], own: _Cells, others: _Cells, forms: Sequence[str], frame: Box,
          blocked: Sequence[Box]) -> tuple[CurveLabel | None, float]:
    """Return the cheapest label of a curve over nothing blocked, and what it costs; None where there is no room."""
    best, least = None, float("inf")
    for shortness, words in enumerate(forms):
        if least <= shortness * _SHORTER:
            break
        for label in _candidates(points, words, frame):
            if any(_overlap(label.box, box) for box in blocked):
                continue
            price = _price(label.box, own, others, shortness * _SHORTER, least)
            if price < least:
                best, least = label, price
    return best, (_NAMELESS if best is None else least)


def freest(boxes: Sequence[Box], curves: Sequence[Sequence[Sequence[Point]]]) -> Box:
    """Return the first of ``boxes`` with the fewest points of curves in it."""
    points = [point for curve in curves for piece in curve for point in _dense(piece)]
    return min(boxes, key=lambda box: sum(box[0] <= x <= box[2] and box[1] <= y <= box[3] for x, y in points))


def _dense(piece: Sequence[Point]) -> Iterator[Point]:
    """Yield the points of a piece with more between them, none further from the next than a cell."""
    yield from piece[:1]
    for (x0, y0), (x1, y1) in pairwise(piece):
        parts = int(max(abs(x1 - x0), abs(y1 - y0)) / _CELL_PX) + 1
        for n in range(1, parts + 1):
            yield x0 + (x1 - x0) * n / parts, y0 + (y1 - y0) * n / parts


def _candidates(points: Sequence[Point], words: str, frame: Box) -> Iterator[CurveLabel]:
    """Yield where a name may stand along its curve."""
    last: Point | None = None
    for point in points:
        if last is not None and max(abs(point[0] - last[0]), abs(point[1] - last[1])) < _STEP_PX:
            continue
        last = point
        lines = words.split("\n")
        for box in _around(point, max(map(len, lines)) * CHAR_PX, len(lines) * HEIGHT_PX):
            if box[0] >= frame[0] and box[1] >= frame[1] and box[2] <= frame[2] and box[3] <= frame[3]:
                yield CurveLabel(words, box, point)


def _around(point: Point, long_px: float, high_px: float) -> Iterator[Box]:
    """Yield the boxes of a name right and left of a point: beside it, above it and below it."""
    x, y = point
    for left in (x + _LEADER_PX, x - _LEADER_PX - long_px):
        for top in (y - high_px / 2, y - _LEADER_PX - high_px, y + _LEADER_PX):
            yield left, top, left + long_px, top + high_px


def _overlap(one: Box, other: Box) -> bool:
    return (one[0] < other[2] + _APART_PX and one[2] > other[0] - _APART_PX
            and one[1] < other[3] + _APART_PX and one[3] > other[1] - _APART_PX)


def _price(box: Box, own: _Cells, others: _Cells, price: float, least: float) -> float:
    """Return what a place costs: curves under the name, and others near it, which it could be taken for.

    Begins with ``price``, and stops where that is no less than ``least``, the best place's so far.
    """
    for around_px, weight in ((0.0, _OVER_OTHER), (_NEAR_PX, _NEAR_OTHER), (_FAR_PX, _FAR_OTHER)):
        if price >= least:
            return price
        price += weight * others.within(
            (box[0] - around_px, box[1] - around_px, box[2] + around_px, box[3] + around_px))
    return price + _OVER_OWN * own.within(box) if price < least else price


class _Cells:
    """How many curves pass each cell of a drawing, kept as sums so that a box is counted at once."""

    def __init__(self, frame: Box, sums: list[list[int]] | None = None) -> None:
        self._frame = frame
        self._columns = int((frame[2] - frame[0]) / _CELL_PX) + 1
        self._rows = int((frame[3] - frame[1]) / _CELL_PX) + 1
        self._sums = sums or [[0] * (self._columns + 1) for _ in range(self._rows + 1)]

    def passed_by(self, points: Sequence[Point]) -> _Cells:
        """Return these with one curve added."""
        grid = [[0] * (self._columns + 1) for _ in range(self._rows + 1)]
        for column, row in {(self._column(x), self._row(y)) for x, y in points}:
            grid[row + 1][column + 1] = 1
        rows = [list(accumulate(row)) for row in grid]
        sums = accumulate(rows, lambda above, row: list(map(add, above, row)))
        return self.joined(_Cells(self._frame, list(sums)), add)

    def joined(self, other: _Cells, how: Callable[[int, int], int]) -> _Cells:
        """Return these with the curves of another drawing of the same frame added, or taken away."""
        return _Cells(self._frame, [list(map(how, mine, theirs))
                                    for mine, theirs in zip(self._sums, other._sums, strict=True)])

    def within(self, box: Box) -> int:
        """Return how many cells with a curve a box holds, one with two curves counted twice."""
        left, right = self._column(box[0]), self._column(box[2]) + 1
        top, bottom = self._row(box[1]), self._row(box[3]) + 1
        return (self._sums[bottom][right] - self._sums[top][right] - self._sums[bottom][left]
                + self._sums[top][left])

    def _column(self, x: float) -> int:
        return min(self._columns - 1, max(0, int((x - self._frame[0]) / _CELL_PX)))

    def _row(self, y: float) -> int:
        return min(self._rows - 1, max(0, int((y - self._frame[1]) / _CELL_PX)))
