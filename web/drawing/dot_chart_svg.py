"""A figure over firings: a dot each, a hairline for the middle; small, in ink."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from html import escape
from statistics import median

from web.times import date_words

SIZE = (520, 92)
"""Width and height of the drawing [px]. [chosen: a strip beside its words]"""
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 8, 8, 20
"""Margins around its dots [px]. [chosen: room for the ticks' figures and the dates]"""


def dots_svg(points: Sequence[tuple[datetime, float]], unit: str) -> str:
    """Return the drawing of a figure over firings, equally spaced, the earliest left."""
    width, height = SIZE
    values = [value for _, value in points]
    middle = median(values)
    low, high = min(values), max(values)
    span = max(high - low, 4.0)
    low, high = (low + high) / 2 - span * 0.6, (low + high) / 2 + span * 0.6

    def y(value: float) -> float:
        return height - _BOTTOM - (value - low) / (high - low) * (height - _TOP - _BOTTOM)

    step = (width - _LEFT - _RIGHT) / max(1, len(points) - 1)
    dots = "".join(
        f'<circle class="tip" cx="{_LEFT + number * step:.1f}" cy="{y(value):.1f}" r="2.6">'
        f"<title>{escape(f'{date_words(when)} {when.year}: {_whole(value)} {unit}')}</title></circle>"
        for number, (when, value) in enumerate(points))
    first, last = points[0][0], points[-1][0]
    dates = f'<text class="grey" x="{_LEFT}" y="{height - 4}">{escape(date_words(first))}</text>'
    if len(points) > 1:
        dates += (f'<text class="grey" x="{width - _RIGHT}" y="{height - 4}" text-anchor="end">'
                  f"{escape(date_words(last))}</text>")
    words = (f"{len(points)} firings, in the middle {_whole(middle)} {unit}, from {_whole(min(values))} to "
             f"{_whole(max(values))}")
    return (f'<svg xmlns="http://www.w3.org/2000/svg" class="dots" viewBox="0 0 {width} {height}" width="{width}"'
            f' height="{height}" role="img" font-size="11.5"><title>{escape(words)}</title>'
            f'<path class="hair" d="M{_LEFT} {y(middle):.1f}H{width - _RIGHT}"/>'
            f'<text class="grey" x="{_LEFT - 8}" y="{y(middle) + 4:.1f}" text-anchor="end">'
            f"{_whole(middle)} {escape(unit)}</text>{dots}{dates}</svg>")


def _whole(value: float) -> str:
    """Return a figure to the whole, with a minus as it is set, and none before a nought."""
    return f"{round(value)}".replace("-", "−")
