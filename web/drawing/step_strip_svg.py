"""The strip above a trace: a cell for each part of the plan, as wide as its time, with its words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal

from web.drawing.scales import Frame

HEIGHT = 58
"""Height of the strip [px]. [chosen: three lines of words]"""
LOW = 28
"""Height of the strip on a phone [px]. [chosen: one line of words above the hatching]"""
_FIRST_LINE_PX, _FIRST_LINE_LOW_PX = 17, 14
"""Base line of the first line of words, in a strip of HEIGHT and in a low one [px]. [chosen: by eye]"""
_WORD_PX = 6.5
"""Width that a character takes at most on the average [px]. [chosen: by eye, in the page's font]"""
_LINE_PX = 15
"""Height of a line of words [px]. [chosen: by eye, in the page's font]"""


@dataclass(frozen=True, slots=True)
class Cell:
    """One ramp or hold, been, under way or to come."""

    start_s: float
    end_s: float
    state: Literal["been", "now", "to come"]
    lines: tuple[str, ...]
    """Its words, most wanted first; a cell shows as many as it has room for."""
    short: str = ""
    """What it says where there is room for nothing else."""
    anneal: bool = False
    is_hold: bool = False
    now_s: float | None = None
    """Where the moving edge stands [s], in the cell under way."""
    broke_off: bool = False
    """Whether the firing broke off here and has not been taken up again."""

    @property
    def words(self) -> str:
        """Return all its words in one line."""
        return ", ".join(self.lines)


def strip_svg(cells: Sequence[Cell], span_s: float, width: int, inks: Mapping[str, str], name: str,
              left: int, right: int, from_s: float = 0.0, height: int = HEIGHT) -> str:
    """Return the strip as an SVG element of its own, on the same time axis as the trace under it.

    ``span_s`` is how much of the firing is shown, from ``from_s`` on [s]; ``height`` is HEIGHT or LOW.
    """
    frame = Frame(left, 1, width - right, height, span_s, 1.0, from_s=from_s)
    cells = [cell for cell in cells if cell.end_s > from_s and cell.start_s < from_s + span_s]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="strip" viewBox="0 0 {width} {height + 2}"'
        f' width="{width}" height="{height + 2}" font-size="12" aria-hidden="true"><defs>'
        f'<pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><path class="hatch" d="M0 0V6" stroke="{inks["hatch"]}"'
        f' stroke-width="1.1"/></pattern></defs>{cells_svg(cells, frame, inks, f"{name}-hatch", height)}</svg>'
    )


def cells_svg(cells: Sequence[Cell], frame: Frame, inks: Mapping[str, str], hatch: str, height: int = HEIGHT) -> str:
    """Return the cells as SVG parts, their top at 1 px."""
    parts = [_cell(cell, frame, inks, hatch, height) for cell in cells]
    ends = max((frame.x(c.end_s) for c in cells), default=frame.left)
    parts.append(
        f'<path class="base" d="M{frame.left} 1H{ends:.1f}M{frame.left} {height}H{ends:.1f}" fill="none"'
        f' stroke="{inks["line"]}"/>'
    )
    return "".join(parts)


def _cell(cell: Cell, frame: Frame, inks: Mapping[str, str], hatch: str, height: int) -> str:
    x, end = frame.x(cell.start_s), frame.x(cell.end_s)
    ink, tone = (inks["grey"], "grey") if cell.state == "to come" else (inks["ink"], "word")
    parts = [f'<g class="cell"><title>{escape(cell.words)}</title>']
    if cell.anneal:
        parts.append(f'<rect x="{x:.1f}" y="{height - 9}" width="{max(0.0, end - x):.1f}" height="8.5"'
                     f' fill="url(#{hatch})"/>')
    parts.append(f'<rect x="{x:.1f}" y="1" width="{max(0.0, end - x):.1f}" height="{height - 1}" fill="none"'
                 f' pointer-events="all"/>')
    parts.append(f'<path class="base" d="M{x:.1f} 1V{height}M{end:.1f} 1V{height}" stroke="{inks["line"]}"/>')
    words_x, words_end = x, end
    is_edge_shown = cell.now_s is not None and frame.from_s < cell.now_s < frame.from_s + frame.span_s
    if cell.state == "now" and cell.now_s is not None and is_edge_shown:
        edge = frame.x(cell.now_s)
        words_x, words_end = (x, edge) if edge - x >= end - edge else (edge + 1, end)
        parts.append(f'<path class="edge" d="M{edge:.1f} 0V{height + 1}" stroke="{inks["ink"]}"'
                     f' stroke-width="3"/>')
    most, first_px = (3, _FIRST_LINE_PX) if height == HEIGHT else (1, _FIRST_LINE_LOW_PX)
    for row, words in enumerate(_fitting(cell, words_end - words_x - 8)[:most]):
        parts.append(f'<text class="{tone}" x="{words_x + 5:.1f}" y="{first_px + row * _LINE_PX}" fill="{ink}">'
                     f'{escape(words)}</text>')
    return "".join((*parts, "</g>"))


def _fitting(cell: Cell, room_px: float) -> tuple[str, ...]:
    fitting = tuple(line for line in cell.lines[:3] if len(line) * _WORD_PX <= room_px)
    if fitting and fitting[0] == cell.lines[0]:
        return fitting
    return (cell.short,) if len(cell.short) * _WORD_PX <= room_px else ()
