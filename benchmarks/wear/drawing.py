"""What the firings of some kilns show, as a sheet of small pictures."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import NamedTuple

from daemon.kiln.wear.shown import Shown
from simulations.studies.small_picture import HEIGHT, PAD, WIDTH, sheet
from web.drawing.colours import INKS

_DRAWN, _HEAD, _FOOT, _LEFT = 8, 30, 18, 52
_SPAN = 0.4
"""Greatest difference that is drawn [logarithm]."""
_CHANNEL = {"elements": "power", "tiring": "power", "lining": "loss"}


class Run(NamedTuple):
    """One kiln, and what its firings show."""

    kiln: str
    wear: str
    shown: Sequence[Shown]


def runs(drawn: Sequence[Run]) -> str:
    """Return a sheet: a dot a firing, its power or its loss beside that of the first firings, in per cent."""
    picked = [one for one in drawn if one.wear in _CHANNEL and len(_dots(one)) > _DRAWN]
    return sheet([_cell(one) for one in picked[:_DRAWN]],
                 "What each firing shows; the kiln changes after the eighth", 2)


def _dots(one: Run) -> list[tuple[int, float]]:
    values = [(number, getattr(each, _CHANNEL[one.wear])) for number, each in enumerate(one.shown)]
    found = [(number, value) for number, value in values if value is not None]
    before = sorted(value for number, value in found if number < _DRAWN)
    return [(number, value - before[len(before) // 2]) for number, value in found] if before else []


def _cell(one: Run) -> str:
    ink, wide, high = INKS["day"], WIDTH - _LEFT - PAD, HEIGHT - _HEAD - _FOOT

    def x(number: float) -> float:
        return _LEFT + (number + 0.5) / len(one.shown) * wide

    def y(value: float) -> float:
        return _HEAD + (0.5 - max(-_SPAN, min(_SPAN, value)) / (2 * _SPAN)) * high

    dots = "".join(f'<circle cx="{x(number):.1f}" cy="{y(value):.1f}" r="3" fill="{ink["ink"]}"/>'
                   for number, value in _dots(one))
    scale = "".join(f'<text x="{_LEFT - 4}" y="{y(level / 100) + 4:.1f}" text-anchor="end" fill="{ink["grey"]}">'
                    f"{said}</text>" for level, said in ((-30, "−30 %"), (0, "0"), (30, "+30 %")))
    return (f'<text x="{_LEFT}" y="16">{escape(f"{one.kiln}, {one.wear}: {_CHANNEL[one.wear]}")}</text>{scale}'
            f'<line x1="{_LEFT}" x2="{_LEFT + wide}" y1="{y(0):.1f}" y2="{y(0):.1f}" stroke="{ink["grey"]}"/>'
            f'<line x1="{x(7.5):.1f}" x2="{x(7.5):.1f}" y1="{_HEAD}" y2="{_HEAD + high}" stroke="{ink["grey"]}" '
            f'stroke-dasharray="4 4"/>{dots}'
            f'<text x="{_LEFT + wide / 2:.1f}" y="{HEIGHT - 3}" text-anchor="middle" fill="{ink["grey"]}">firings'
            "</text>")
