"""What there is to draw of a firing, whoever draws it: the server's SVG or the interactive plot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from daemon.firing.alerts.registry import kind_title
from daemon.firing.events import Alert, Sample
from daemon.firing.plan.plan import to_unit
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.glass.exposure import HAZE_C
from daemon.glass.materials import Glass
from web.drawing.decimation import Column, thin
from web.drawing.scales import top_of
from web.drawing.step_strip_svg import Cell

NOISE_C = 4.0
"""What a column may reach beyond itself and its neighbours before that is drawn [°C]. [chosen: a ripple is no
fault]"""
TOLERANCE_C = 6.0
"""Half the height of the plan's band [°C]: about what a hold may stray by before Lehrling speaks of it. [chosen: as
wide as a band can be seen]"""
TOLERANCE_S = 180.0
"""Half the width of the plan's band [s]: how closely the kiln's place in its plan is known. [chosen: three
minutes]"""


LEAST_SEEN_K = 20.0
"""A range of which the axis shows less is not drawn [K]. [derived: the axis goes 6 % beyond the highest temperature,
so of a range that was reached it shows more; a narrower strip could not be told from a line]"""


@dataclass(frozen=True, slots=True)
class Range:
    """A range of temperatures that is marked across a drawing, as far as its axis goes [°C]."""

    name: str
    low_c: float
    high_c: float


@dataclass(frozen=True, slots=True)
class Mark:
    """An alert as a tick at the bottom edge."""

    t_s: float
    until_s: float | None
    rank: str
    words: str


@dataclass(frozen=True)
class Picture:
    """What there is to draw of one firing; all times in seconds of the firing, temperatures in °C."""

    columns: Sequence[Column] = ()
    """Measured, thinned: (t_s, low, mid, high), the temperatures None where there is none."""
    plan: Sequence[tuple[float, float]] = ()
    """Corner points of the plan as aligned with the kiln; it may step at one second."""
    free: Sequence[tuple[float, float]] = ()
    """Spans of time in which the plan asks for no rate; no band is drawn there."""
    marks: Sequence[Mark] = ()
    anneal_c: tuple[float, float] | None = None
    haze_c: tuple[float, float] | None = None
    starts: datetime | None = None
    """Wall time of second 0, in the owner's zone; None draws an axis of hours since the start."""
    unit: str = "C"
    running: bool = False
    """Whether the pen is still on the paper."""
    cells: Sequence[Cell] = ()
    peak_c: float | None = None
    """The firing's peak as it was judged [°C]; None takes the highest column's middle for it."""

    @property
    def span_s(self) -> float:
        """Return how long the time axis is [s]: to the end of the plan or of the trace, an hour at least."""
        last_s = self.columns[-1][0] if self.columns else 0.0
        planned_s = self.plan[-1][0] if self.plan else 0.0
        return max(3600.0, planned_s, last_s * (1.0 if self.plan or not self.running else 1.1))

    @property
    def top_c(self) -> float:
        """Return the upper end of the temperature axis [°C]."""
        return top_of([c for _, c in self.plan] + [c[3] for c in self.columns if c[3] is not None])

    @property
    def ranges(self) -> tuple[Range, ...]:
        """Return the haze range and the anneal range, as far as each can be seen; leave out one that can't be."""
        top_c = self.top_c
        return tuple(Range(name, span_c[0], min(span_c[1], top_c))
                     for name, span_c in (("haze range", self.haze_c), ("anneal range", self.anneal_c))
                     if span_c is not None and min(span_c[1], top_c) - span_c[0] >= LEAST_SEEN_K)


def picture_of(samples: Sequence[Sample], plan_points: Sequence[tuple[float, float]],
               alerts: Sequence[Alert], glass: Glass | None, *, starts: datetime | None = None,
               unit: str = "C", columns: int = 900) -> Picture:
    """Return the picture of a whole firing from its stored readings."""
    return Picture(
        columns=thin(samples, columns), plan=plan_points, marks=marks_of(alerts),
        anneal_c=(glass.band_low_c, glass.band_high_c) if glass else None,
        haze_c=HAZE_C if glass else None, starts=starts, unit=unit,
    )


def marks_of(alerts: Sequence[Alert]) -> tuple[Mark, ...]:
    """Return the ticks of ``alerts``, those that are consequences of another left out."""
    return tuple(
        Mark(a.woke_s if a.woke_s is not None else a.raised_s, a.cleared_s, a.rank.value, kind_words(a.kind))
        for a in alerts if a.under is None
    )


def kind_words(kind: str) -> str:
    """Return an alert's kind as people read it: ``cooling too fast``."""
    return kind_title(kind)


def pen(columns: Sequence[Column]) -> list[tuple[float, float | None]]:
    """Return the measured line as points (second, °C); None lifts the pen.

    A column is drawn as its middle, so that a steep ramp is a line and not a stair; a dip or a spike
    within it, beyond what its neighbours and NOISE_C explain, is drawn in full.
    """
    points: list[tuple[float, float | None]] = []
    mids = [column[2] for column in columns]
    for i, (t_s, low_c, mid_c, high_c) in enumerate(columns):
        if low_c is None or mid_c is None or high_c is None:
            points.append((t_s, None))
            continue
        near = [c for c in mids[max(0, i - 1):i + 2] if c is not None]
        if low_c < min(near) - NOISE_C:
            points.append((t_s, low_c))
        if high_c > max(near) + NOISE_C:
            points.append((t_s, high_c))
        points.append((t_s, mid_c))
    return points


def words_of(picture: Picture) -> str:
    """Return what the drawing shows in one sentence, for those who do not see it."""
    seen = [c[2] for c in picture.columns if c[2] is not None]
    if not seen and picture.plan and not picture.running:
        return f"The plan as written; highest {_temp(max(c for _, c in picture.plan), picture.unit)}."
    if not seen:
        return "The trace of the firing; no reading yet."
    peak = _temp(max(seen) if picture.peak_c is None else picture.peak_c, picture.unit)
    over = " over its plan" if picture.plan else ""
    return f"The trace of the firing{over}; highest so far {peak}." if picture.running else (
        f"The trace of the firing{over}; highest {peak}.")


def _temp(temp_c: float, unit: str) -> str:
    return f"{round(to_unit(temp_c, unit))} °{unit}"


_PIECES = 12
"""Straight pieces by which a free fall of the plan is drawn. [chosen: looks like a curve]"""


def bands(picture: Picture) -> list[list[tuple[float, float]]]:
    """Return the outline (second, °C) of the plan's band, one six-cornered piece for each bounded part.

    A piece holds every point within TOLERANCE_C and TOLERANCE_S of its part of the plan.
    """
    found = []
    dt, dc = TOLERANCE_S, TOLERANCE_C
    for (t0, c0), (t1, c1) in pairwise(picture.plan):
        if t1 <= t0 or _is_free(picture, t0, t1):
            continue  # at one second the plan steps to where the next part begins
        if c1 >= c0:
            found.append([(t0 - dt, c0 - dc), (t0 - dt, c0 + dc), (t1 - dt, c1 + dc), (t1 + dt, c1 + dc),
                          (t1 + dt, c1 - dc), (t0 + dt, c0 - dc)])
        else:
            found.append([(t0 - dt, c0 - dc), (t0 - dt, c0 + dc), (t0 + dt, c0 + dc), (t1 + dt, c1 + dc),
                          (t1 + dt, c1 - dc), (t1 - dt, c1 - dc)])
    return found


def free_runs(picture: Picture) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return the parts of the plan that ask for no rate, as pairs of points (second, °C).

    A free fall is drawn as a closed kiln falls, ever slower towards the room.
    """
    found: list[tuple[tuple[float, float], tuple[float, float]]] = []
    for a, b in pairwise(picture.plan):
        if b[0] > a[0] and _is_free(picture, a[0], b[0]):
            found += pairwise(_falling(a, b)) if b[1] < a[1] else [(a, b)]
    return found


def rated_runs(picture: Picture) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Return the parts of the plan that ask for a rate or a hold, as pairs of points (second, °C)."""
    return [(a, b) for a, b in pairwise(picture.plan) if b[0] > a[0] and not _is_free(picture, a[0], b[0])]


def _falling(a: tuple[float, float], b: tuple[float, float]) -> list[tuple[float, float]]:
    """Return points of Newton's law of cooling through both corners."""
    room_c = min(ASSUMED_ROOM_C, b[1] - 5.0)
    share = (b[1] - room_c) / (a[1] - room_c)
    return [(a[0] + (b[0] - a[0]) * n / _PIECES, room_c + (a[1] - room_c) * share ** (n / _PIECES))
            for n in range(_PIECES + 1)]


def _is_free(picture: Picture, t0: float, t1: float) -> bool:
    middle = (t0 + t1) / 2
    return any(start <= middle <= end for start, end in picture.free)
