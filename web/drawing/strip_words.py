"""The words of the strip on a phone, whose cells have no room for them: lines of a log, past, present and next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from html import escape

from web import words
from web.drawing.step_strip_svg import Cell

_MOST_HOLDS = 3
"""So many holds of a firing that has ended are told. [chosen: squeeze, top and anneal, as most plans have]"""
_TONES = {"been": " grey", "now": "", "to come": " coming"}
_BEFORE = {"been": "", "now": "Now: ", "to come": "Next: "}


def told(cells: Sequence[Cell]) -> tuple[Cell, ...]:
    """Return the cells that are told in words: the last that has been, the present one and the next one.

    Of a firing that has ended, and of a stretch of it, the last few holds; the ramps where it has none. Of one that
    broke off, the cell where it did and the one before.
    """
    if cells and cells[-1].broke_off:
        return tuple(cells[-2:])
    been, now, coming = ([cell for cell in cells if cell.state == state] for state in ("been", "now", "to come"))
    if now or coming:
        return (*been[-1:], *now[:1], *coming[:1])
    holds = [cell for cell in been if cell.is_hold]
    return tuple((holds or been)[-_MOST_HOLDS:])


def strip_words(cells: Sequence[Cell], starts: datetime) -> str:
    """Return the told cells as entries of a log, in HTML; ``starts`` is the wall time of second 0."""
    return "".join(
        f'<p class="entry{_tone(cell)}"><span class="when">{escape(words.clock(starts, _at_s(cell)))}</span> '
        f'<span class="what">{_before(cell)}{escape(words.bound(cell.words))}</span></p>'
        for cell in told(cells))


def _before(cell: Cell) -> str:
    return "Broke off: " if cell.broke_off else _BEFORE[cell.state]


def _tone(cell: Cell) -> str:
    return "" if cell.broke_off else _TONES[cell.state]


def _at_s(cell: Cell) -> float:
    """Return the second that stands beside a cell: when it began, or when the firing broke off in it."""
    return cell.end_s if cell.broke_off else cell.start_s
