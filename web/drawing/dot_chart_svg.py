"""A figure over the months: one dot a firing, by its date, with the days on which a part was changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from html import escape
from math import ceil, floor, log10

from web.drawing.date_ticks import date_ticks

WIDE, NARROW = (600, 210), (360, 220)
"""Width and height for a desk and for a phone [px]. [chosen: a phone's width, and half a desk's beside the words]"""
_LEFT, _RIGHT, _TOP, _BOTTOM = {WIDE: 56, NARROW: 44}, 12, 42, 28
"""Margins round the dots [px]; the left one is the sheet's own. [chosen: room for the ticks' words, and above for
the unit and the changes]"""
_ROOM = {WIDE: 7, NARROW: 4}
"""Ticks of the dates at most. [chosen: their words lie apart]"""
_LETTER_PX = 7.8
"""Width of a letter of the drawing's words [px]. [chosen: "25 Nov" in 13 px type is 46 px wide in DejaVu Sans, the
widest face that a Pi falls back to]"""
_BETWEEN_PX = 10.0
"""Between two words of one line at least [px]. [chosen: so that they read as two]"""
_MOST_TICKS = 4
"""Steps between ticks of the figure at most. [chosen: few hairlines]"""


@dataclass(frozen=True, slots=True)
class Dot:
    """A firing's figure, ``low`` and ``high`` its spread where it has one; ``when`` is aware, in the owner's zone.

    ``is_open`` draws an open square instead of a filled circle.
    """

    when: datetime
    value: float
    words: str
    low: float | None = None
    high: float | None = None
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """A day on which a part was changed, and its word."""

    day: date
    words: str


@dataclass(frozen=True, slots=True)
class Axis:
    """What is drawn upwards.

    Attributes
    ----------
    title
        The figure and its unit, above the axis.
    least_span
        The axis spans at least this, so that a hair's difference is not drawn as a mountain.
    base
        The figure that means no difference, drawn as a firmer line; None where there is none.
    from_zero
        Whether it begins at nought.
    limit
        A figure above which a firing counts, drawn as a dashed line; None where there is none.
    """

    title: str
    least_span: float
    base: float | None = None
    from_zero: bool = False
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class _Frame:
    """The rectangle of the dots [px], and the spans of days and figures in it."""

    size: tuple[int, int]
    first: date
    days: int
    low: float
    high: float

    @property
    def left(self) -> float:
        return _LEFT[self.size]

    @property
    def right(self) -> float:
        return self.size[0] - _RIGHT

    @property
    def bottom(self) -> float:
        return self.size[1] - _BOTTOM

    def x(self, day: float) -> float:
        """Return where a day, counted from ``first``, stands across [px]."""
        return self.left + 8 + (self.right - self.left - 16) * day / self.days

    def x_of(self, day: date) -> float:
        return self.x((day - self.first).days)

    def y(self, value: float) -> float:
        """Return where a figure stands down [px]."""
        return self.bottom - (self.bottom - _TOP) * (value - self.low) / (self.high - self.low)


def dots_svg(dots: Sequence[Dot], changes: Sequence[Change], axis: Axis, size: tuple[int, int] = WIDE) -> str:
    """Return the drawing of a figure over firings, by date.

    Parameters
    ----------
    dots
        In order of time; at least one.
    changes
        Those outside the firings' dates are left out, but for one before the first.
    axis
        What is drawn upwards.
    size
        WIDE or NARROW.
    """
    ticks = round_ticks([v for dot in dots for v in (dot.value, dot.low, dot.high) if v is not None], axis)
    first, last = dots[0].when.date(), dots[-1].when.date()
    shown = [change for change in changes if first - timedelta(days=31) <= change.day <= last + timedelta(days=31)]
    first = min([first, *(change.day for change in shown)])
    last = max([last, *(change.day for change in shown)])
    frame = _Frame(size, first, max(2, (last - first).days), ticks[0], ticks[-1])
    return "".join((
        f'<svg xmlns="http://www.w3.org/2000/svg" class="dots" viewBox="0 0 {size[0]} {size[1]}" width="{size[0]}"'
        f' height="{size[1]}" role="img" font-size="13"><title>{escape(_summary(dots, axis))}</title>',
        f'<text class="grey" x="{frame.left:.0f}" y="13">{escape(axis.title)}</text>',
        *hairlines([(frame.y(value), value) for value in ticks], frame.left, frame.right, axis),
        *(f'<path class="ink-line" stroke-dasharray="3 3" d="M{frame.left} {frame.y(limit):.1f}H{frame.right}"/>'
          for limit in (axis.limit,) if limit is not None),
        *_dates(frame, last), *_changes(frame, shown),
        *(_dot(frame, number, dot) for number, dot in enumerate(dots)), "</svg>"))


def _summary(dots: Sequence[Dot], axis: Axis) -> str:
    values = [dot.value for dot in dots]
    low, high, latest = (figure(round(value)) for value in (min(values), max(values), values[-1]))
    return f"{axis.title}, {len(dots)} firings: from {low} to {high}, latest {latest}"


def round_ticks(figures: Sequence[float], axis: Axis) -> list[float]:
    """Return round figures that enclose all of ``figures``, few of them."""
    values = [*figures, *(extra for extra in (axis.base, axis.limit) if extra is not None)]
    low, high = (0.0 if axis.from_zero else min(values)), max(values)
    if high - low < axis.least_span:
        middle = (low + high) / 2
        low = low if axis.from_zero else middle - axis.least_span / 2
        high = low + axis.least_span
    step = _round_step((high - low) / _MOST_TICKS)
    first, last = floor(low / step + 1e-9), ceil(high / step - 1e-9)
    return [step * n for n in range(first, last + 1)]


def _round_step(least: float) -> float:
    """Return the least of 1, 2, 5, 10, ... that is no smaller than ``least``."""
    power = 10.0 ** floor(log10(least))
    return next(power * times for times in (1, 2, 5, 10) if power * times >= least * (1 - 1e-9))


def hairlines(rows: Sequence[tuple[float, float]], left: float, right: float, axis: Axis) -> list[str]:
    """Return the lines of the ticks upwards with their figures; ``rows`` are (where down [px], figure)."""
    return [f'<path class="{"base" if value == axis.base else "hair"}" d="M{left} {y:.1f}H{right}"/>'
            f'<text class="grey" x="{left - 6:.0f}" y="{y + 4.5:.1f}" text-anchor="end">{figure(value)}</text>'
            for y, value in rows]


def _dates(frame: _Frame, last: date) -> list[str]:
    found, free_px = [], 0.0
    for day, words in date_ticks(frame.first, last, _ROOM[frame.size]):
        x, half_px = frame.x_of(day), len(words) * _LETTER_PX / 2
        found.append(f'<path class="base" d="M{x:.1f} {frame.bottom:.0f}v4"/>')
        at = min(x, frame.size[0] - half_px)
        if at - half_px >= free_px:
            found.append(f'<text class="grey" x="{at:.1f}" y="{frame.bottom + 20:.0f}" text-anchor="middle">'
                         f"{words}</text>")
            free_px = at + half_px + _BETWEEN_PX
    return found


def _changes(frame: _Frame, changes: Sequence[Change]) -> list[str]:
    """Return the line of each change, its word above where there is room for it."""
    found, free_px = [], 0.0
    for change in changes:
        x, wide_px = frame.x_of(change.day), len(change.words) * _LETTER_PX
        found.append(f'<path class="ink-line" stroke-dasharray="3 3" d="M{x:.1f} {_TOP - 8}V{frame.bottom:.0f}"/>')
        at = max(0.0, min(x - wide_px / 2, frame.right - wide_px))
        if at >= free_px:
            found.append(f'<text class="word" x="{at:.1f}" y="{_TOP - 12}">{escape(change.words)}</text>')
            free_px = at + wide_px + _BETWEEN_PX
    return found


def _dot(frame: _Frame, number: int, dot: Dot) -> str:
    day = (dot.when.date() - frame.first).days + (dot.when.hour + dot.when.minute / 60) / 24
    x = frame.x(min(day, frame.days))
    spread = "" if dot.low is None or dot.high is None else (
        f'<path class="spread" d="M{x:.1f} {frame.y(dot.low):.1f}V{frame.y(dot.high):.1f}"/>')
    return spread + mark_svg(x, frame.y(dot.value), number, dot.words, is_open=dot.is_open)


def mark_svg(x: float, y: float, number: int, words: str, *, is_open: bool) -> str:
    """Return the mark of the firing ``number`` at a place [px], with its words."""
    tag, shape = shape_svg(x, y, is_open=is_open)
    return f'<{tag} {shape} data-dot="{number}"><title>{escape(words)}</title></{tag}>'


def shape_svg(x: float, y: float, *, is_open: bool) -> tuple[str, str]:
    """Return the element and the attributes of a mark at a place [px]: a filled circle, or an open square."""
    if is_open:
        return "rect", f'class="tip open" x="{x - 4:.1f}" y="{y - 4:.1f}" width="8" height="8"'
    return "circle", f'class="tip" cx="{x:.1f}" cy="{y:.1f}" r="4"'


def figure(value: float) -> str:
    """Return a tick's figure, with a minus as it is set, and none before a nought."""
    return f"{round(value, 6) or 0.0:.10g}".replace("-", "−")
