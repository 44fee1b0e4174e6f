"""Which alerts have room for their words in a drawing, and on which side of their mark."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from web.drawing.trace_model import Mark

WORD_PX = 6.2
"""Width that a character of a mark takes at most on the average [px]. [chosen: by eye, in the page's font]"""
_SHAPE_PX, _APART_PX = 7.0, 9.0
"""Half the width of a mark with its edge, and the distance of words from their mark [px]. [chosen: by eye]"""
_RANKS = ("wake", "look")
"""Ranks that are labelled, the more urgent first."""


@dataclass(frozen=True, slots=True)
class Label:
    """The words of one mark: where they begin or end across [px]."""

    mark: Mark
    x: float
    is_turned: bool
    """Whether they end at ``x``, left of their mark; else they begin there."""

    @property
    def span(self) -> tuple[float, float]:
        """Return from where to where the words reach [px]."""
        long_px = len(self.mark.words) * WORD_PX
        return (self.x - long_px, self.x) if self.is_turned else (self.x, self.x + long_px)


def labels(marks: Sequence[Mark], places: Sequence[float], left: float, right: float) -> tuple[Label, ...]:
    """Return the labels that lie over no other label and over no mark, within ``left`` and ``right`` [px].

    Parameters
    ----------
    marks, places
        The alerts, and where each stands across [px].
    left, right
        The edges of the plot [px].

    Notes
    -----
    Get-ups come first, then those for the morning, each from the left. One without room stays a mark; its words are
    in the log below, and under the pointer.
    """
    taken = [(x - _SHAPE_PX, x + _SHAPE_PX) for x in places]
    found: list[Label] = []
    for rank in _RANKS:
        for mark, x in sorted(zip(marks, places, strict=True), key=lambda pair: pair[1]):
            if mark.rank != rank:
                continue
            for is_turned in (False, True):
                label = Label(mark, x - _APART_PX if is_turned else x + _APART_PX, is_turned)
                begin, end = label.span
                if begin >= left and end <= right and all(end <= a or begin >= b for a, b in taken):
                    found.append(label)
                    taken.append((begin, end))
                    break
    return tuple(found)
