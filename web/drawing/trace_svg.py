"""A firing as one drawing: the plan a soft band, the measured a thin ink line, gaps left blank.

This file knows nothing of the web. It serves the page's first sight, the print, the card and the picture
in the README; ``trace_plotly.py`` makes the interactive figure from the same :class:`Picture`.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from web.drawing.colours import INKS
from web.drawing.curve_labels import CHAR_PX, HEIGHT_PX, freest
from web.drawing.mark_labels import labels
from web.drawing.scales import Frame, day_marks, temp_ticks, time_ticks
from web.drawing.step_strip_svg import HEIGHT as STRIP_HEIGHT
from web.drawing.step_strip_svg import cells_svg
from web.drawing.straight_pieces import Point, straight_pieces
from web.drawing.trace_model import Mark, Picture, bands, free_runs, pen, rated_runs, words_of

WIDE = (1080, 420)
NARROW = (360, 300)
HALF = (540, 360)
"""Width and height of the drawing on a wide screen, on a phone, and in half of a wide screen beside its words [px].
[chosen: they fit without being scaled]"""

RIGHT, TOP, BOTTOM = 10, 10, 46
"""Margins around the plot [px]; the interactive plot keeps the same, so that nothing jumps. [chosen: room for the
clock’s figures]"""
_LABELLED_FROM_PX = 600
"""In a narrower plot the words of an alert stand in the log below [px]. [chosen: a phone has no room]"""
_WORD_PX = 5.9
"""Width that a character of a mark takes on the average [px]. [chosen: by eye, in the page's font]"""


def svg(picture: Picture, size: tuple[int, int] = WIDE, theme: str = "day", name: str = "trace",
        ground: bool = True) -> str:
    """Return ``picture`` as an SVG element; its cells, where it has any, stand above the trace.

    Parameters
    ----------
    picture
        What to draw.
    size
        Width and height [px].
    theme
        Whose inks the presentation attributes carry; in a page the stylesheet overrules them.
    name
        Prefix of the ids inside, unique in its page.
    ground
        Whether to paint the ground; a page has its own.
    """
    width, height = size
    inks = INKS[theme]
    head = STRIP_HEIGHT + 8 if picture.cells else 0
    frame = Frame(left_of(width), TOP + head, width - RIGHT, height - BOTTOM, picture.span_s, picture.top_c)
    cells = cells_svg(picture.cells, frame, inks, f"{name}-hatch") if picture.cells else ""
    return "".join((
        f'<svg xmlns="http://www.w3.org/2000/svg" class="trace" viewBox="0 0 {width} {height}"'
        f' width="{width}" height="{height}" role="img" font-family="system-ui, sans-serif"'
        f' font-size="11.5"><title>{escape(words_of(picture))}</title>',
        _patterns(name, inks),
        f'<rect width="{width}" height="{height}" fill="{inks["ground"]}"/>' if ground else "",
        cells,
        _ranges(picture, frame, name, inks),
        _hairlines(picture, frame, inks),
        _band(picture, frame, inks),
        _planned(picture, frame, inks),
        _measured(picture, frame, inks),
        _range_names(picture, frame, inks),
        _clock(picture, frame, inks),
        _marks(picture, frame, inks),
        "</svg>",
    ))


def left_of(width: int) -> int:
    """Return the left margin [px] of a drawing ``width`` px wide: the page's own margin for the time."""
    return 64 if width > 600 else 44


def _patterns(name: str, inks: Mapping[str, str]) -> str:
    return (
        f'<defs><pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse"'
        f' patternTransform="rotate(45)"><path class="hatch" d="M0 0V6" stroke="{inks["hatch"]}"'
        f' stroke-width="1.1"/></pattern><pattern id="{name}-dots" width="7" height="7"'
        f' patternUnits="userSpaceOnUse"><circle class="dot" cx="1.5" cy="1.5" r="0.8"'
        f' fill="{inks["hatch"]}"/><circle class="dot" cx="5" cy="5" r="0.8" fill="{inks["hatch"]}"/>'
        f'</pattern></defs>'
    )


def _ranges(picture: Picture, frame: Frame, name: str, inks: Mapping[str, str]) -> str:
    """Return the haze range as dots and the anneal range as hatching, from side to side."""
    patterns = {"haze range": "dots", "anneal range": "hatch"}
    return "".join(
        f'<rect x="{frame.left}" y="{frame.y(one.high_c):.1f}" width="{frame.right - frame.left:.1f}"'
        f' height="{frame.y(one.low_c) - frame.y(one.high_c):.1f}" fill="url(#{name}-{patterns[one.name]})"/>'
        for one in picture.ranges)


def _range_names(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    """Return the names of the ranges, each on its range, over the lines and where the fewest of them pass."""
    lines = [[(frame.x(t_s), frame.y(temp_c)) for t_s, temp_c in stretch]
             for stretch in (*rated_runs(picture), *free_runs(picture))]
    lines += [[(frame.x(t_s), frame.y(temp_c)) for t_s, temp_c in pen(picture.columns) if temp_c is not None]]
    parts = []
    for one in picture.ranges:
        middle = (frame.y(one.high_c) + frame.y(one.low_c)) / 2
        long_px, y = len(one.name) * CHAR_PX, max(middle, frame.top + HEIGHT_PX / 2) + 4
        rights = (frame.right - 6, frame.left + 6 + long_px, (frame.left + frame.right + long_px) / 2)
        box = freest([(x - long_px, y - HEIGHT_PX + 3, x, y + 3) for x in rights], [lines])
        parts.append(_halo(box[2], y, one.name, inks))
    return "".join(parts)


def _hairlines(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    parts = []
    for tick in temp_ticks(frame.top_c, picture.unit):
        y = frame.y(tick.temp_c)
        parts.append(
            f'<path class="hair" d="M{frame.left} {y:.1f}H{frame.right}" stroke="{inks["hair"]}"/>'
            + _text(frame.left - 6, y + 4, tick.words, "end", inks["grey"], "grey")
        )
    parts.append(_text(frame.left - 6, frame.bottom + 4, f"°{picture.unit}", "end", inks["grey"], "grey"))
    return "".join(parts)


def _band(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    """Return the plan's band: as wide as a hold may stray, and too soft to be seen without its line."""
    parts = []
    for outline in bands(picture):
        points = " ".join(f"{frame.x(t):.1f},{frame.y(c):.1f}" for t, c in outline)
        parts.append(f'<polygon class="band" points="{points}" fill="{inks["band"]}"/>')
    return "".join(parts)


def _planned(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    """Return the plan as a thin line along its band, and as dots where it asks for no rate.

    It is in dashes, so that in a gap nobody takes it for what was measured. Where nothing is measured yet it is whole
    and has the ink of what is measured, since it is all there is to see.
    """
    is_alone = not picture.columns
    ink, more = (inks["ink"], " alone") if is_alone else (inks["grey"], "")
    rated, free = ("".join(f"M{frame.x(t0):.1f} {frame.y(c0):.1f}L{frame.x(t1):.1f} {frame.y(c1):.1f}"
                           for (t0, c0), (t1, c1) in runs) for runs in (rated_runs(picture), free_runs(picture)))
    parts = []
    if rated:
        parts.append(f'<path class="planned{more}" d="{rated}" fill="none" stroke="{ink}"'
                     + (' stroke-width="1.2" stroke-linecap="round"/>' if is_alone else
                        ' stroke-width="1" stroke-dasharray="6 3"/>'))
    if free:
        parts.append(f'<path class="free{more}" d="{free}" fill="none" stroke="{ink}" stroke-width="1.6"'
                     ' stroke-dasharray="0.1 6" stroke-linecap="round"/>')
    return "".join(parts)


def _measured(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    """Return the measured line, each piece between gaps with as few points as show it, and the pen's tip."""
    pieces: list[list[Point]] = [[]]
    for t_s, temp_c in pen(picture.columns):
        if temp_c is not None:
            pieces[-1].append((frame.x(t_s), frame.y(temp_c)))
        elif pieces[-1]:
            pieces.append([])
    strokes = ["M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in straight_pieces(piece)) for piece in pieces if piece]
    if not strokes:
        return ""
    line = (
        f'<path class="measured" d="{"".join(strokes)}" fill="none" stroke="{inks["ink"]}" stroke-width="1.6"'
        f' stroke-linejoin="round" stroke-linecap="round"/>'
    )
    tip = picture.columns[-1]
    if picture.running and tip[2] is not None:
        line += f'<circle class="tip" cx="{frame.x(tip[0]):.1f}" cy="{frame.y(tip[2]):.1f}" r="3.5"' \
                f' fill="{inks["ink"]}"/>'
    return line


def _clock(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    """Return the time axis: ticks, their words where there is room, and the days."""
    bottom = frame.bottom
    parts = [f'<path class="base" d="M{frame.left} {bottom}H{frame.right}" stroke="{inks["line"]}"/>']
    for tick in time_ticks(picture.starts, frame.span_s, max(3, int((frame.right - frame.left) / 62))):
        x = frame.x(tick.t_s)
        if frame.left + 8 <= x <= frame.right - 8:
            parts.append(_text(x, bottom + 17, tick.words, "middle", inks["grey"], "grey"))
        parts.append(f'<path class="base" d="M{x:.1f} {bottom}v4" stroke="{inks["line"]}"/>')
    if picture.starts is None:
        return "".join(parts)
    days = day_marks(picture.starts, frame.span_s)
    for here, after in zip(days, (*days[1:], None), strict=True):
        x = frame.x(here.t_s)
        room = (frame.x(after.t_s) if after else frame.right) - x
        words = here.words if room > len(here.words) * _WORD_PX + 8 else here.words.split(",")[0]
        if room > len(words) * _WORD_PX:
            parts.append(_text(x + (4 if here.day else 0), bottom + 35, words, "start", inks["ink"], "word"))
        if here.day:
            parts.append(
                f'<path class="day" d="M{x:.1f} {frame.top}V{bottom + 38}" stroke="{inks["line"]}"'
                f' stroke-dasharray="1 3"/>'
            )
    return "".join(parts)


def _marks(picture: Picture, frame: Frame, inks: Mapping[str, str]) -> str:
    parts = []
    pen_s = picture.columns[-1][0] if picture.columns else 0.0
    for mark in picture.marks:
        x = frame.x(mark.t_s)
        parts.append(_mark(mark, x, frame.x(max(mark.t_s, pen_s if mark.until_s is None else mark.until_s)),
                           frame.bottom, inks))
    if frame.right - frame.left > _LABELLED_FROM_PX:
        places = [frame.x(mark.t_s) for mark in picture.marks]
        parts += [_text(label.x, frame.bottom - 9, label.mark.words, "end" if label.is_turned else "start",
                        inks[label.mark.rank], label.mark.rank)
                  for label in labels(picture.marks, places, frame.left, frame.right)]
    return "".join(parts)


def _mark(mark: Mark, x: float, end: float, y: float, inks: Mapping[str, str]) -> str:
    """Return an alert at the bottom edge: its length as a line, its rank as a shape."""
    ink = inks.get(mark.rank, inks["ink"])
    shape = ""
    if mark.rank == "wake":
        shape = f'<rect class="wake" x="{x - 4.5:.1f}" y="{y - 17:.1f}" width="9" height="9" fill="{ink}"/>'
    elif mark.rank == "look":
        shape = (f'<rect class="look" x="{x - 3.75:.1f}" y="{y - 16:.1f}" width="7.5" height="7.5"'
                 f' fill="{inks["ground"]}" stroke="{ink}" stroke-width="1.6"/>')
    tone = mark.rank if shape else "ink"
    return (f'<g><title>{escape(mark.words)}</title><path class="{tone}-line" d="M{x:.1f} {y}v-8'
            f'M{x:.1f} {y - 1}H{end:.1f}" fill="none" stroke="{ink}" stroke-width="2"/>{shape}</g>')


def _halo(x: float, y: float, words: str, inks: Mapping[str, str]) -> str:
    """Return words with an edge of the ground's colour, to be read over lines."""
    return (f'<text class="grey halo" x="{x:.1f}" y="{y:.1f}" text-anchor="end" fill="{inks["grey"]}"'
            f' stroke="{inks["ground"]}" stroke-width="5" stroke-linejoin="round" paint-order="stroke">'
            f'{escape(words)}</text>')


def _text(x: float, y: float, words: str, anchor: str, ink: str, tone: str) -> str:
    return (f'<text class="{tone}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"'
            f' fill="{ink}">{escape(words)}</text>')
