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

    Of a firing that has ended, and of a stretch of it, the last few holds; the ramps where it has none.
    """
    been, now, coming = ([cell for cell in cells if cell.state == state] for state in ("been", "now", "to come"))
    if now or coming:
        return (*been[-1:], *now[:1], *coming[:1])
    holds = [cell for cell in been if cell.is_hold]
    return tuple((holds or been)[-_MOST_HOLDS:])


def strip_words(cells: Sequence[Cell], starts: datetime) -> str:
    """Return the told cells as entries of a log, in HTML; ``starts`` is the wall time of second 0."""
    return "".join(
        f'<p class="entry{_TONES[cell.state]}"><span class="when">{escape(words.clock(starts, cell.start_s))}</span> '
        f'<span class="what">{_BEFORE[cell.state]}{escape(words.bound(cell.words))}</span></p>'
        for cell in told(cells))
