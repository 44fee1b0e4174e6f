"""Forecasts beside what happened, as a sheet of small pictures."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

from simulations.studies.small_picture import HEIGHT, PAD, WIDTH, sheet
from web.drawing.colours import INKS

_HEAD, _FOOT, _LEFT = 26, 16, 34
_POINTS = 200
Curve = Sequence[tuple[float, float]]


class Drawn(NamedTuple):
    """One firing: what was read and what had been foreseen, as (second, temperature [°C])."""

    heading: str
    read: Curve
    foreseen: Curve


def forecasts(drawn: Sequence[Drawn], title: str) -> str:
    """Return a sheet of firings: what was read as a line, what had been foreseen as a broken one."""
    return sheet([_cell(one) for one in drawn], title, 2)


def _cell(one: Drawn) -> str:
    ink = INKS["day"]
    span_s = max(one.read[-1][0], one.foreseen[-1][0])
    top_c = 50 * (max(temp_c for curve in (one.read, one.foreseen) for _, temp_c in curve) // 50 + 1)

    def points(curve: Curve) -> str:
        every = max(1, len(curve) // _POINTS)
        return " ".join(
            f"{_LEFT + t_s / span_s * (WIDTH - _LEFT - PAD):.1f},"
            f"{HEIGHT - _FOOT - temp_c / top_c * (HEIGHT - _HEAD - _FOOT):.1f}" for t_s, temp_c in curve[::every])

    hours = [hour for hour in range(0, int(span_s // 3600) + 1, 4 if span_s < 100_000 else 12) if hour]
    scale = "".join(
        f'<text x="{_LEFT + hour * 3600 / span_s * (WIDTH - _LEFT - PAD):.1f}" y="{HEIGHT - 3}" text-anchor="middle" '
        f'fill="{ink["grey"]}">{hour} h</text>' for hour in hours)
    levels = "".join(
        f'<text x="{_LEFT - 4}" y="{HEIGHT - _FOOT - level / top_c * (HEIGHT - _HEAD - _FOOT) + 4:.1f}" '
        f'text-anchor="end" fill="{ink["grey"]}">{level}</text>' for level in range(0, int(top_c), 200))
    return (f'<text x="{_LEFT}" y="16">{escape(one.heading)}</text>{levels}{scale}'
            f'<polyline points="{points(one.read)}" fill="none" stroke="{ink["ink"]}" stroke-width="1.3"/>'
            f'<polyline points="{points(one.foreseen)}" fill="none" stroke="{ink["ink"]}" stroke-width="1.3" '
            f'stroke-dasharray="4 4"/>')
