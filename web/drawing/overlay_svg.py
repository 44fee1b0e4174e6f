"""Several firings laid over one another: each has its name at its own curve and a dash of its own, never a colour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from html import escape
from textwrap import wrap

from daemon.glass.exposure import HAZE_C
from web.drawing.colours import INKS
from web.drawing.curve_labels import CHAR_PX, HEIGHT_PX, Box, CurveLabel, Point, freest, place
from web.drawing.overlay_layers import LETTERS, Layer, cut, hours, whole
from web.drawing.scales import Frame, TempTick, temp_ticks, top_of
from web.drawing.step_strip_svg import HEIGHT as STRIP_HEIGHT
from web.drawing.step_strip_svg import cells_svg
from web.drawing.straight_pieces import straight_pieces
from web.drawing.trace_svg import BOTTOM, RIGHT, TOP, left_of

_STROKES = (
    'stroke-width="2.2"', 'stroke-width="1.6" stroke-dasharray="9 4"', 'stroke-width="1.6" stroke-dasharray="2 4"',
    'stroke-width="1.6" stroke-dasharray="12 4 2 4"', 'stroke-width="1.6" stroke-dasharray="5 3"',
    'stroke-width="3" stroke-dasharray="0.1 7" stroke-linecap="round"',
)
"""How the line of each firing is drawn: the first one firm and thick, the others in dashes and dots."""
_STEPS_H = (0.1, 0.25, 0.5, 1, 2, 3, 4, 6, 12, 24)
"""Steps between ticks of the axis of hours [h]. [chosen: round ones]"""
_WIDE_FROM_PX = 600
"""From this width on a drawing has strips and longer names [px]. [chosen: no phone is held so wide]"""
_MOST_STRIPS = 3
"""So many firings have their strips above the curves. [chosen: more would push the curves off the screen]"""
_NAME_WIDE, _NAME_NARROW = 28, 16
"""Longest line of a name at a curve on a desk and on a phone [characters]. [chosen: by eye, with six firings]"""
_MOST_LINES = 2
"""A name that needs more lines at a curve is its letter there: it stands whole above the drawing. [chosen: by eye]"""
_HAZE = "haze range"
_EDGE_PX = 16
"""A tick this near the edge has its words at its left [px]. [chosen: half of the words' width]"""
_LEAST_K = 3.0
"""Least room above and below the traces [K]. [chosen: as the drawing looks well]"""


def overlay_svg(layers: Sequence[Layer], unit: str, zero: str, size: tuple[int, int], name: str,
                shown: tuple[float, float] | None = None, *, strips: bool = True, summary: str = "") -> str:
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
        Width and height of the curves [px]; a wide drawing of few firings has their strips above.
    name
        Prefix of its ids.
    shown
        The stretch to be drawn alone, as large as there is room for [s from the zero]; None for all of it.
    strips
        Whether the strips are wanted where there is room.
    summary
        What it shows, for who does not see it; of firings where it is empty.
    """
    width, height = size
    inks = INKS["day"]
    first_s, last_s = shown or whole(layers)
    low_c: float | None = None
    top_c = top_of([c[3] for layer in layers for c in layer.columns if c[3] is not None])
    if shown is not None:
        layers = [cut(layer, first_s, last_s) for layer in layers]
        seen = [c[2] for layer in layers for c in layer.columns if c[2] is not None] or [0.0, top_c]
        room_k = max(_LEAST_K, 0.06 * (max(seen) - min(seen)))
        low_c, top_c = max(0.0, min(seen) - room_k), max(seen) + room_k
    has_strips = strips and width > _WIDE_FROM_PX and len(layers) <= _MOST_STRIPS
    head = len(layers) * (STRIP_HEIGHT + 6) if has_strips else 0
    frame = Frame(left_of(width), TOP + head, width - RIGHT, height + head - BOTTOM, last_s - first_s, top_c,
                  low_c or 0.0, first_s)
    curves = [_pieces(layer, frame) for layer in layers]
    haze, haze_words, taken = _haze(frame, curves, name, inks)
    names = [_names(layer.title, number, width) for number, layer in enumerate(layers)]
    labels = place(curves, names, (frame.left, frame.top - 8, frame.right, frame.bottom), taken)
    return "".join((
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trace" viewBox="0 0 {width} {height + head}" width="{width}"'
        f' height="{height + head}" role="img" font-family="system-ui, sans-serif" font-size="11.5">'
        f"<title>{escape(summary or f'The curves of {len(layers)} firings, laid together at {zero}')}</title>",
        _patterns(name, inks),
        *(_strips(layers, frame, inks, name) if has_strips else ()),
        haze,
        *_axes(frame, temp_ticks(top_c, unit, low_c), unit, zero, inks),
        *(_line(curve, layer.title, number, inks)
          for number, (curve, layer) in enumerate(zip(curves, layers, strict=True))),
        haze_words,
        *(_label(label, inks) for label in labels if label is not None),
        "</svg>",
    ))


def _patterns(name: str, inks: Mapping[str, str]) -> str:
    return (f'<defs><pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse"'
            f' patternTransform="rotate(45)"><path class="hatch" d="M0 0V6" stroke="{inks["hatch"]}"'
            f' stroke-width="1.1"/></pattern><pattern id="{name}-dots" width="7" height="7"'
            f' patternUnits="userSpaceOnUse"><circle class="dot" cx="1.5" cy="1.5" r="0.8" fill="{inks["hatch"]}"/>'
            f'<circle class="dot" cx="5" cy="5" r="0.8" fill="{inks["hatch"]}"/></pattern></defs>')


def _haze(frame: Frame, curves: Sequence[Sequence[Sequence[Point]]], name: str,
          inks: Mapping[str, str]) -> tuple[str, str, list[Box]]:
    """Return the range in which haze forms as dots, its name where the fewest curves pass, and the name's box."""
    low_c, high_c = max(HAZE_C[0], frame.low_c), min(HAZE_C[1], frame.top_c)
    if low_c >= high_c:
        return "", "", []
    high, low = frame.y(high_c), frame.y(low_c)
    y, long_px = (high + low) / 2 + 4, len(_HAZE) * CHAR_PX
    box = freest([(x - long_px, y - HEIGHT_PX + 3, x, y + 3) for x in (
        frame.right - 6, frame.left + 6 + long_px, (frame.left + frame.right + long_px) / 2)], curves)
    return (f'<rect x="{frame.left}" y="{high:.1f}" width="{frame.right - frame.left:.1f}" height="{low - high:.1f}"'
            f' fill="url(#{name}-dots)"/>',
            f'<text class="grey halo" x="{box[2]:.1f}" y="{y:.1f}" text-anchor="end" fill="{inks["grey"]}"'
            f' stroke="{inks["ground"]}" stroke-width="5" stroke-linejoin="round" paint-order="stroke">{_HAZE}'
            "</text>",
            [box])


def _strips(layers: Sequence[Layer], frame: Frame, inks: Mapping[str, str], name: str) -> list[str]:
    parts = []
    for number, layer in enumerate(layers):
        y = number * (STRIP_HEIGHT + 6)
        drawn = cells_svg(layer.cells, replace(frame, top=1), inks, f"{name}-hatch") if layer.cells else ""
        parts.append(f'<g transform="translate(0 {y})">{drawn}<text class="word" x="{frame.left - 12}" y="34"'
                     f' text-anchor="middle" font-weight="650" fill="{inks["ink"]}">{LETTERS[number]}</text>'
                     f"{_sample(frame.left - 52, 30, 28, number, inks)}</g>")
    return parts


def _axes(frame: Frame, ticks: Sequence[TempTick], unit: str, zero: str, inks: Mapping[str, str]) -> list[str]:
    parts = []
    for tick in ticks:
        y = frame.y(tick.temp_c)
        parts.append(f'<path class="hair" d="M{frame.left} {y:.1f}H{frame.right}" stroke="{inks["hair"]}"/>'
                     + _text(frame.left - 6, y + 4, tick.words, "end", inks["grey"]))
    if all(frame.y(tick.temp_c) < frame.bottom - HEIGHT_PX for tick in ticks):
        parts.append(_text(frame.left - 6, frame.bottom + 4, f"°{unit}", "end", inks["grey"]))
    parts.append(f'<path class="base" d="M{frame.left} {frame.bottom}H{frame.right}" stroke="{inks["line"]}"/>')
    room = max(3, int((frame.right - frame.left) / 62))
    step_h = next((h for h in _STEPS_H if frame.span_s / (h * 3600) <= room), _STEPS_H[-1])
    at_h = -(-frame.from_s // (step_h * 3600)) * step_h
    taken_to = 0.0
    while at_h * 3600 - frame.from_s <= frame.span_s:
        x = frame.x(at_h * 3600)
        said = "0" if abs(at_h) < step_h / 2 else hours(at_h * 3600)
        width = len(said) * CHAR_PX
        at_end, at_begin = x > frame.right - _EDGE_PX, x - width / 2 < frame.left  # there the unit has its place
        begin = x - (width if at_end else 0 if at_begin else width / 2)
        parts.append(f'<path class="base" d="M{x:.1f} {frame.bottom}v4" stroke="{inks["line"]}"/>')
        if begin > taken_to:
            parts.append(_text(x, frame.bottom + 17, said, "end" if at_end else "start" if at_begin else "middle",
                               inks["grey"]))
            taken_to = begin + width
        at_h += step_h
    if not 0.0 <= -frame.from_s <= frame.span_s:
        return parts
    x = frame.x(0.0)
    turned = x > (frame.left + frame.right) / 2
    parts.append(f'<path class="day" d="M{x:.1f} {frame.top}V{frame.bottom + 22}" stroke="{inks["line"]}"'
                 f' stroke-dasharray="1 3"/>'
                 + _text(x + (-4 if turned else 4), frame.bottom + 34, zero, "end" if turned else "start",
                         inks["ink"], "word"))
    return parts


def _text(x: float, y: float, words: str, anchor: str, ink: str, tone: str = "grey") -> str:
    return (f'<text class="{tone}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}">{escape(words)}'
            "</text>")


def _pieces(layer: Layer, frame: Frame) -> list[list[Point]]:
    """Return a curve's pieces between gaps, each with as few points as show it."""
    across, down = (frame.right - frame.left) / frame.span_s, (frame.bottom - frame.top) / (frame.top_c - frame.low_c)
    pieces: list[list[Point]] = [[]]
    for t_s, _, mid_c, _ in layer.columns:
        if mid_c is not None:
            temp_c = mid_c if mid_c > frame.low_c else frame.low_c
            pieces[-1].append((frame.left + (t_s - frame.from_s) * across,
                               frame.bottom - (temp_c - frame.low_c) * down))
        elif pieces[-1]:
            pieces.append([])
    return [straight_pieces(piece) for piece in pieces if piece]


def _line(pieces: Sequence[Sequence[Point]], title: str, number: int, inks: Mapping[str, str]) -> str:
    strokes = ["M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in piece) for piece in pieces]
    return (f'<path class="measured" d="{"".join(strokes)}" fill="none" stroke="{inks["ink"]}"'
            f' {_STROKES[number]} stroke-linejoin="round"><title>{LETTERS[number]}'
            f" {escape(title)}</title></path>") if strokes else ""


def _names(title: str, number: int, width: int) -> tuple[str, ...]:
    """Return the forms of a curve's name: letter and title in as many lines as they need, then the letter alone."""
    letter = LETTERS[number]
    lines = wrap(f"{letter} {title}", _NAME_WIDE if width > _WIDE_FROM_PX else _NAME_NARROW, break_long_words=False)
    return ("\n".join(lines), letter) if len(lines) <= _MOST_LINES else (letter,)


def _label(label: CurveLabel, inks: Mapping[str, str]) -> str:
    """Return a curve's name, and a short line from it to the curve."""
    first, *further = label.words.split("\n")
    letter, rest = first[:1], first[1:]
    (x, y), (x0, y0), (x1, y1) = label.foot, label.near, label.at
    lines = "".join(f'<tspan x="{x:.1f}" dy="{HEIGHT_PX:g}">{escape(line)}</tspan>' for line in further)
    return (f'<path class="base" d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="{inks["line"]}"/>'
            f'<text class="word halo label" x="{x:.1f}" y="{y:.1f}" fill="{inks["ink"]}" stroke="{inks["ground"]}"'
            ' stroke-width="4" stroke-linejoin="round" paint-order="stroke">'
            f'<tspan font-weight="650">{letter}</tspan>{escape(rest)}{lines}</text>')


def _sample(x: float, y: float, long_px: int, number: int, inks: Mapping[str, str]) -> str:
    return (f'<path class="measured" d="M{x} {y}h{long_px}" fill="none" stroke="{inks["ink"]}"'
            f' {_STROKES[number]}/>')


def sample_svg(number: int) -> str:
    """Return a short stretch of a layer's line, to stand beside its name."""
    return (f'<svg class="sample" width="34" height="10" viewBox="0 0 34 10" aria-hidden="true">'
            f"{_sample(0, 5, 34, number, INKS['day'])}</svg>")
