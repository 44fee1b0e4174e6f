"""What is laid over one another: firings in seconds from a common zero. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from web.drawing.decimation import Column
from web.drawing.step_strip_svg import Cell

_LEAST_S = 3600.0
"""No shorter time is drawn [s]. [chosen: an hour is the least that is worth comparing]"""
LETTERS = "ABCDEF"
"""What layers are called by, in their order; a firing's number is another thing. [chosen: as many as are compared]"""


@dataclass(frozen=True)
class Layer:
    """One firing: its columns and cells in seconds from where all are laid together."""

    title: str
    columns: Sequence[Column]
    cells: Sequence[Cell] = ()


def shifted(layer: Layer, zero_s: float) -> Layer:
    """Return a layer whose second ``zero_s`` is 0."""
    return replace(
        layer, columns=[(t - zero_s, low, mid, high) for t, low, mid, high in layer.columns],
        cells=[replace(cell, start_s=cell.start_s - zero_s, end_s=cell.end_s - zero_s, now_s=None)
               for cell in layer.cells])


def hours(t_s: float) -> str:
    """Return a time from the zero as said: ``+1.5 h``."""
    shown_h = round(t_s / 3600, 2)
    return f"{'−' if shown_h < 0 else '+'}{abs(shown_h):g} h"


def whole(layers: Sequence[Layer]) -> tuple[float, float]:
    """Return the first and the last second of all layers; an hour at least."""
    times = [column[0] for layer in layers for column in layer.columns]
    first_s = min(times, default=0.0)
    return first_s, max(first_s + _LEAST_S, max(times, default=0.0))


def cut(layer: Layer, from_s: float, to_s: float) -> Layer:
    """Return what a layer has between two seconds."""
    return replace(
        layer, columns=[column for column in layer.columns if from_s <= column[0] <= to_s],
        cells=[replace(cell, start_s=max(cell.start_s, from_s), end_s=min(cell.end_s, to_s))
               for cell in layer.cells if cell.end_s > from_s and cell.start_s < to_s])
