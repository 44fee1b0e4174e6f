"""Several firings laid over one another: told apart by how a line is drawn, never by colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape

from web.drawing.colours import INKS
from web.drawing.decimation import Column
from web.drawing.scales import Frame, TempTick, temp_ticks, top_of
from web.drawing.step_strip_svg import HEIGHT as STRIP_HEIGHT
from web.drawing.step_strip_svg import Cell, cells_svg
from web.drawing.trace_svg import BOTTOM, RIGHT, TOP, left_of

DASHES = ("", "9 4", "2 4", "12 4 2 4", "5 3", "1 6")
_STEPS_H = (0.1, 0.25, 0.5, 1, 2, 3, 4, 6, 12, 24)
"""Steps between ticks of the axis of hours [h]. [chosen: round ones]"""
_NUMBER_PX = 16
"""Numbers of traces stand this far apart [px]. [chosen: the width of a figure and some air]"""
_EDGE_PX = 16
"""A tick this near the edge has its words at its left [px]. [chosen: half of the words' width]"""
_LEAST_K = 3.0
"""Least room above and below the traces [K]. [chosen: as the drawing looks well]"""
_LEAST_S = 3600.0
"""No shorter time is drawn [s]. [chosen: an hour is the least that is worth comparing]"""


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


def overlay_svg(layers: Sequence[Layer], unit: str, zero: str, size: tuple[int, int], name: str,
                shown: tuple[float, float] | None = None) -> str:
    """Return the drawing of all layers over a common zero.

    Parameters
    ----------
    layers
        In seconds from the zero.
    unit
        "C" or "F".
    zero
        What stands at the zero, in words.
    size
        Width and height of the trace [px]; a wide one has the strips above it.
    name
        Prefix of its ids.
    shown
        The stretch to be drawn alone, as large as there is room for [s from the zero]; None for all of it.
    """
    width, height = size
    inks = INKS["day"]
    first_s, last_s = shown or whole(layers)
    span_s = last_s - first_s
    low_c: float | None = None
    top_c = top_of([c[3] for layer in layers for c in layer.columns if c[3] is not None])
    if shown is not None:
        layers = [cut(layer, first_s, last_s) for layer in layers]
        seen = [c[2] for layer in layers for c in layer.columns if c[2] is not None] or [0.0, top_c]
        room_k = max(_LEAST_K, 0.06 * (max(seen) - min(seen)))
        low_c, top_c = max(0.0, min(seen) - room_k), max(seen) + room_k
    head = len(layers) * (STRIP_HEIGHT + 6) if width > 600 else 0
    frame = Frame(left_of(width), TOP + head, width - RIGHT, height + head - BOTTOM, span_s, top_c, low_c or 0.0)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trace" viewBox="0 0 {width} {height + head}" width="{width}"'
        f' height="{height + head}" role="img" font-family="system-ui, sans-serif" font-size="11.5">'
        f"<title>{escape(f'{len(layers)} firings laid together at {zero}')}</title>",
        f'<defs><pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><path class="hatch" d="M0 0V6" stroke="{inks["hatch"]}" stroke-width="1.1"/>'
        "</pattern></defs>",
    ]
    if head:
        parts += _strips(layers, frame, first_s, inks, name)
    parts += _axes(frame, first_s, temp_ticks(top_c, unit, low_c), zero, inks)
    for number, layer in enumerate(layers):
        parts.append(_line(layer, frame, first_s, number, inks))
    return "".join((*parts, "</svg>"))


def _strips(layers: Sequence[Layer], frame: Frame, first_s: float, inks: Mapping[str, str], name: str) -> list[str]:
    parts = []
    for number, layer in enumerate(layers):
        y = number * (STRIP_HEIGHT + 6)
        cells = [replace(c, start_s=c.start_s - first_s, end_s=c.end_s - first_s) for c in layer.cells]
        drawn = cells_svg(cells, replace(frame, top=1), inks, f"{name}-hatch") if cells else ""
        parts.append(f'<g transform="translate(0 {y})">{drawn}{_number(frame.left - 12, 34, number, inks)}'
                     f'{_sample(frame.left - 46, 30, number, inks)}</g>')
    return parts


def _axes(frame: Frame, first_s: float, ticks: Sequence[TempTick], zero: str, inks: Mapping[str, str]) -> list[str]:
    parts = []
    for tick in ticks:
        y = frame.y(tick.temp_c)
        parts.append(f'<path class="hair" d="M{frame.left} {y:.1f}H{frame.right}" stroke="{inks["hair"]}"/>'
                     f'<text class="grey" x="{frame.left - 6}" y="{y + 4:.1f}" text-anchor="end"'
                     f' fill="{inks["grey"]}">{tick.words}</text>')
    parts.append(f'<path class="base" d="M{frame.left} {frame.bottom}H{frame.right}" stroke="{inks["line"]}"/>')
    room = max(3, int((frame.right - frame.left) / 62))
    step_h = next((h for h in _STEPS_H if frame.span_s / (h * 3600) <= room), _STEPS_H[-1])
    at_h = -(-first_s // (step_h * 3600)) * step_h
    while at_h * 3600 - first_s <= frame.span_s:
        x = frame.x(at_h * 3600 - first_s)
        said = "0" if at_h == 0 else hours(at_h * 3600)
        anchor = "end" if x > frame.right - _EDGE_PX else "middle"
        parts.append(f'<path class="base" d="M{x:.1f} {frame.bottom}v4" stroke="{inks["line"]}"/>'
                     f'<text class="grey" x="{x:.1f}" y="{frame.bottom + 17}" text-anchor="{anchor}"'
                     f' fill="{inks["grey"]}">{said}</text>')
        at_h += step_h
    if not 0.0 <= -first_s <= frame.span_s:
        return parts
    x = frame.x(-first_s)
    turned = x > (frame.left + frame.right) / 2
    parts.append(f'<path class="day" d="M{x:.1f} {frame.top}V{frame.bottom + 22}" stroke="{inks["line"]}"'
                 f' stroke-dasharray="1 3"/><text class="word" x="{x + (-4 if turned else 4):.1f}"'
                 f' y="{frame.bottom + 34}" text-anchor="{"end" if turned else "start"}" fill="{inks["ink"]}">'
                 f"{escape(zero)}</text>")
    return parts


def _line(layer: Layer, frame: Frame, first_s: float, number: int, inks: Mapping[str, str]) -> str:
    strokes, down = [], False
    peak: tuple[float, float] | None = None
    for t_s, _, mid_c, _ in layer.columns:
        if mid_c is not None:
            strokes.append(f"{'L' if down else 'M'}{frame.x(t_s - first_s):.1f} {frame.y(mid_c):.1f}")
            if peak is None or mid_c > peak[1]:
                peak = (t_s, mid_c)
        down = mid_c is not None
    if peak is None:
        return ""
    dash = f' stroke-dasharray="{DASHES[number]}"' if DASHES[number] else ""
    x, y = frame.x(peak[0] - first_s) + number * _NUMBER_PX, max(frame.top + 9, frame.y(peak[1]) - 6)
    return (f'<path class="measured" d="{"".join(strokes)}" fill="none" stroke="{inks["ink"]}"'
            f' stroke-width="1.6"{dash} stroke-linejoin="round"><title>{escape(layer.title)}</title></path>'
            + _number(x, y, number, inks))


def _number(x: float, y: float, number: int, inks: Mapping[str, str]) -> str:
    return (f'<text class="word" x="{x:.1f}" y="{y:.1f}" text-anchor="middle" font-weight="650" fill="{inks["ink"]}">'
            f"{number + 1}</text>")


def _sample(x: float, y: float, number: int, inks: Mapping[str, str]) -> str:
    dash = f' stroke-dasharray="{DASHES[number]}"' if DASHES[number] else ""
    return (f'<path class="measured" d="M{x} {y}h24" fill="none" stroke="{inks["ink"]}" stroke-width="1.6"{dash}/>')


def sample_svg(number: int) -> str:
    """Return a short stretch of a layer's line, to stand beside its name."""
    return (f'<svg class="sample" width="34" height="10" viewBox="0 0 34 10" aria-hidden="true">'
            f"{_sample(0, 5, number, INKS['day']).replace('h24', 'h34')}</svg>")
