"""Two figures of each firing against each other, a mark a firing: filled or open, so that it needs no colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from web.drawing.dot_chart_svg import NARROW, WIDE, Axis, figure, hairlines, mark_svg, round_ticks, shape_svg

_LEFT, _RIGHT, _TOP, _BOTTOM = {WIDE: 56, NARROW: 44}, 16, 28, 46
"""Margins round the marks [px]; the left one is the sheet's own. [chosen: as in the charts by date, and below room
for the figures and their unit]"""
_TALLER_PX = 30
"""It is this much taller than a chart by date [px]. [derived: the two lines of words below less one of dates]"""


@dataclass(frozen=True, slots=True)
class Mark:
    """A firing: where it stands, its words, and whether it is drawn open."""

    x: float
    y: float
    words: str
    is_open: bool


def scatter_svg(marks: Sequence[Mark], across: Axis, up: Axis, summary: str, size: tuple[int, int] = WIDE,
                here: tuple[float, float] | None = None) -> str:
    """Return the drawing.

    Parameters
    ----------
    marks
        The firings; at least one.
    across, up
        What is drawn to the right and upwards.
    summary
        What the drawing shows, in a sentence, for who does not see it.
    size
        WIDE or NARROW, of ``dot_chart_svg``.
    here
        A place that is no firing, to the right and upwards, where two broken lines cross; None draws none.
    """
    width, height = size[0], size[1] + _TALLER_PX
    left, right, bottom = _LEFT[size], width - _RIGHT, height - _BOTTOM
    also = [] if here is None else [here]
    columns = round_ticks([*(m.x for m in marks), *(x for x, _ in also)], across)
    rows = round_ticks([*(m.y for m in marks), *(y for _, y in also)], up)

    def x_of(value: float) -> float:
        return left + 8 + (right - left - 16) * (value - columns[0]) / (columns[-1] - columns[0])

    def y_of(value: float) -> float:
        return bottom - (bottom - _TOP) * (value - rows[0]) / (rows[-1] - rows[0])

    return "".join((
        f'<svg xmlns="http://www.w3.org/2000/svg" class="dots" viewBox="0 0 {width} {height}" width="{width}"'
        f' height="{height}" role="img" font-size="13"><title>{escape(summary)}</title>',
        f'<text class="grey" x="{left}" y="13">{escape(up.title)}</text>',
        *hairlines([(y_of(value), value) for value in rows], left, right, up),
        *(f'<path class="base" d="M{x_of(value):.1f} {bottom}v4"/><text class="grey" x="{x_of(value):.1f}"'
          f' y="{bottom + 18}" text-anchor="middle">{figure(value)}</text>' for value in columns),
        f'<text class="grey" x="{right}" y="{bottom + 38}" text-anchor="end">{escape(across.title)}</text>',
        *(f'<path class="here" d="M{x_of(x):.1f} {_TOP}V{bottom}M{left} {y_of(y):.1f}H{right}"/>' for x, y in also),
        *(mark_svg(x_of(m.x), y_of(m.y), n, m.words, is_open=m.is_open) for n, m in enumerate(marks)), "</svg>"))


def sample_svg(*, is_open: bool) -> str:
    """Return one mark by itself, for the words that say what it means."""
    return (f'<svg class="sample-mark" viewBox="0 0 14 14" width="14" height="14" aria-hidden="true">'
            f"<{' '.join(shape_svg(7, 7, is_open=is_open))}/></svg>")
