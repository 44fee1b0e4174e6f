"""One firing as a small picture: readings, where parts begin, what went wrong, and a tick for every alert."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from html import escape
from math import ceil
from typing import NamedTuple

from daemon.firing.durations import firing_clock
from daemon.firing.events import Sample
from web.drawing.colours import INKS

WIDTH, HEIGHT, PAD = 420, 190, 14
"""Width, height and margin of a picture [px]. [chosen: three across fill a wide window]"""
_TITLE = 40
"""Room for the title of a sheet of them [px]. [chosen: a line and its margins]"""
_HEAD = 34
"""Room for the heading and the first line of names [px]. [chosen: as small as they can be read]"""
_LINE = 11
"""Height of a line of words [px]. [chosen: that of the smallest words]"""
_POINTS = 160
"""A firing is drawn by so many columns, each from its lowest to its highest reading. [chosen: some 2 px each]"""
_ROOM = 1.35
"""The axis ends so many times above the highest temperature, to leave room for the alerts' names.
[chosen: they need a quarter of the height]"""
_NAMED = 5
"""So many alerts are named; more have their tick only. [chosen: as many lines as that room has]"""
_LEAST_READINGS = 2
"""Fewer readings are not drawn. [chosen: one has no line]"""
_TIMES_S = (300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0, 14_400.0, 28_800.0, 43_200.0)
_TEMPS_K = (5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
"""Steps that an axis may have [s and K]. [chosen: round figures]"""
_SCALE = 30
"""Room at the left for the figures of temperature [px]. [chosen: three digits and a margin]"""
_MOST_TIMES, _MOST_TEMPS = 7, 4
"""An axis has at most so many figures. [chosen: they stay apart]"""


class Tick(NamedTuple):
    """An alert as a picture shows it; one that wakes is drawn heavy."""

    kind: str
    at_s: float
    is_wake: bool


class Level(NamedTuple):
    """A stretch at one temperature, such as a hold's target."""

    from_s: float
    to_s: float
    temp_c: float


def sheet(cells: Sequence[str], title: str, columns: int) -> str:
    """Return pictures, each the SVG of one with its upper left corner at 0, 0, as one SVG with a title."""
    ink = INKS["day"]
    rows = -(-len(cells) // columns)
    width, height = columns * WIDTH, _TITLE + rows * HEIGHT
    placed = (
        f'<g transform="translate({WIDTH * (n % columns)} {_TITLE + HEIGHT * (n // columns)})">{cell}</g>'
        for n, cell in enumerate(cells)
    )
    return "".join((
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" font-family="system-ui, sans-serif" font-size="11" fill="{ink["ink"]}">',
        f"<title>{escape(title)}</title>", f'<rect width="{width}" height="{height}" fill="{ink["ground"]}"/>',
        f'<text x="{PAD}" y="24" font-size="14">{escape(title)}</text>', *placed, "</svg>\n",
    ))


@dataclass(frozen=True)
class Picture:
    """One firing, or a stretch of it.

    Attributes
    ----------
    heading, note
        Words above it, to the left and, in grey, to the right.
    samples
        The readings to draw.
    begins_s
        Where parts begin: hairlines [s].
    wrong_s
        Where something goes wrong: broken lines [s].
    levels
        What was planned: thin lines.
    ticks
        The alerts.
    highest_c
        The axis has room for this at least [°C].
    lowest_c
        Where the axis begins [°C].
    has_axes
        Whether times and temperatures are written beside it.
    """

    heading: str
    samples: Sequence[Sample]
    ticks: Sequence[Tick] = ()
    note: str = ""
    begins_s: Sequence[float] = ()
    wrong_s: Sequence[float] = ()
    levels: Sequence[Level] = ()
    highest_c: float = 0.0
    lowest_c: float = 0.0
    has_axes: bool = False
    _read: list[Sample] = field(init=False, repr=False)
    _top_c: float = field(init=False, repr=False)
    """Where the axis ends [°C]."""

    def __post_init__(self) -> None:
        """Keep the readings that have a temperature, and how high the axis must be."""
        read = [s for s in self.samples if s.temp_c is not None]
        highest_c = max(self.highest_c, self.lowest_c + 1.0, *(s.temp_c or 0.0 for s in read))
        object.__setattr__(self, "_read", read)
        object.__setattr__(self, "_top_c", self.lowest_c + _ROOM * (highest_c - self.lowest_c))

    def svg(self) -> Iterator[str]:
        """Yield its SVG, the upper left corner at 0, 0."""
        ink = INKS["day"]
        yield f'<text x="{PAD}" y="14">{escape(self.heading)}</text>'
        if len(self._read) < _LEAST_READINGS:
            return
        yield from (self._upright(at_s, f'stroke="{ink["hair"]}"') for at_s in self.begins_s if at_s > self._first_s)
        yield from (self._upright(at_s, f'stroke="{ink["ink"]}" stroke-dasharray="2 3"') for at_s in self.wrong_s)
        if self.note:
            yield f'<text x="{WIDTH - PAD}" y="14" text-anchor="end" fill="{ink["grey"]}">{escape(self.note)}</text>'
        for level in self.levels:
            from_s, to_s = max(level.from_s, self._first_s), min(level.to_s, self._last_s)
            if from_s < to_s:
                yield (f'<path d="M{self._x(from_s):.0f} {self._y(level.temp_c):.1f}H{self._x(to_s):.0f}" '
                       f'stroke="{ink["look"]}"/>')
        strokes = "L".join(f"{self._x(at_s):.1f} {self._y(low_c):.1f}V{self._y(high_c):.1f}"
                           for at_s, low_c, high_c in self._columns())
        yield f'<path d="M{strokes}" fill="none" stroke="{ink["grey"]}" stroke-width="1.3" stroke-linejoin="round"/>'
        if self.has_axes:
            yield from self._axes(ink["grey"])
        yield from (self._tick(tick, n, ink["ink"]) for n, tick in enumerate(self.ticks))

    @property
    def _first_s(self) -> float:
        return self._read[0].t_s

    @property
    def _last_s(self) -> float:
        return self._read[-1].t_s

    def _x(self, t_s: float) -> float:
        """Return where a time lies from the left [px]."""
        left = _SCALE if self.has_axes else PAD
        return left + (t_s - self._first_s) / (self._last_s - self._first_s) * (WIDTH - left - PAD)

    def _y(self, temp_c: float) -> float:
        """Return where a temperature lies from above [px]; beyond the axis it is drawn at its end."""
        share = (min(max(temp_c, self.lowest_c), self._top_c) - self.lowest_c) / (self._top_c - self.lowest_c)
        return HEIGHT - PAD - share * (HEIGHT - _HEAD - PAD)

    def _upright(self, at_s: float, stroke: str) -> str:
        """Return an upright line at a time [s]."""
        return f'<path d="M{self._x(at_s):.0f} {_HEAD}V{HEIGHT - PAD}" {stroke}/>'

    def _axes(self, ink: str) -> Iterator[str]:
        """Yield figures of time below and of temperature at the left."""
        for at_s in _round_steps(self._first_s, self._last_s, _TIMES_S, _MOST_TIMES):
            yield (f'<text x="{self._x(at_s):.0f}" y="{HEIGHT - 3}" font-size="9" text-anchor="middle" '
                   f'fill="{ink}">{firing_clock(at_s)}</text>')
        highest_c = self.lowest_c + (self._top_c - self.lowest_c) / _ROOM
        for temp_c in _round_steps(self.lowest_c, highest_c, _TEMPS_K, _MOST_TEMPS):
            yield (f'<text x="{_SCALE - 4}" y="{self._y(temp_c) + 3:.0f}" text-anchor="end" font-size="9" '
                   f'fill="{ink}">{temp_c:.0f}</text>')

    def _tick(self, tick: Tick, n: int, ink: str) -> str:
        """Return the tick of the ``n``-th alert, with its name while there is room."""
        x, level = self._x(tick.at_s), _HEAD + _LINE * (n % _NAMED)
        anchor = "end" if x > WIDTH / 2 else "start"
        words = f'<text x="{x - 4 if anchor == "end" else x + 4:.0f}" y="{level + 8}" text-anchor="{anchor}">' \
                f"{escape(tick.kind)}</text>" if n < _NAMED else ""
        return f'<path d="M{x:.0f} {level}v12" stroke="{ink}" stroke-width="{3 if tick.is_wake else 1}"/>{words}'

    def _columns(self) -> Iterator[tuple[float, float, float]]:
        """Yield (second, lowest °C, highest °C) of about _POINTS columns."""
        width = max(1, len(self._read) // _POINTS)
        for i in range(0, len(self._read), width):
            temps = [s.temp_c for s in self._read[i:i + width] if s.temp_c is not None]
            yield self._read[i].t_s, min(temps), max(temps)


def _round_steps(low: float, high: float, steps: Sequence[float], most: int) -> list[float]:
    """Return the multiples of the smallest of ``steps`` of which at most ``most`` lie between two figures."""
    step = next((step for step in steps if (high - low) / step < most), steps[-1])
    return [step * n for n in range(ceil(low / step), int(high // step) + 1)]
