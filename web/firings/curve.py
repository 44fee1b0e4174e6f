"""The small curve of a firing, for lists: a picture of its own, drawn once and kept by the reader's browser.

All are drawn to one scale of temperature, so that a slump and a fuse are told apart at a glance; the time is the
firing's own. It has one ink: the stylesheet turns it over at night.
"""

from __future__ import annotations

from collections.abc import Sequence

from flask import Blueprint, Response

from daemon.store import readings
from daemon.store.readings import Bucket
from web.drawing.colours import INKS
from web.request.context import database
from web.request.lookup import find

BLUEPRINT = Blueprint("curve", __name__)

WIDTH, HEIGHT = 96, 36
"""Size of the picture [px]. [chosen: beside two lines of a list, on a phone too]"""
_TOP_C = 850.0
"""The upper edge of the picture, where the firing was no hotter [°C]. [chosen: above every fuse]"""
_COLUMNS = 48
"""Stretches of the trace. [chosen: one for two pixels]"""
_MARGIN = 1.5
"""Room for the pen at the edges [px]. [chosen: more than half its width]"""
_MOST_KEPT = 512
"""So many are kept in memory, half a kilobyte each. [chosen: eight pages of the list]"""
_KEPT: dict[tuple[int, int], str] = {}
"""Drawn curves of ended firings, by id and length [s]."""


@BLUEPRINT.get("/firings/<int:firing_id>/curve.svg")
def show(firing_id: int) -> Response:
    """Return the small curve; that of a firing that has ended never changes."""
    firing = find(firing_id)
    key = (firing.firing_id, firing.ended_s or 0)
    drawn = _KEPT.get(key)
    if drawn is None:
        drawn = curve_svg(readings.buckets(database(), firing.firing_id, _COLUMNS))
        if firing.ended_s is not None:
            while len(_KEPT) >= _MOST_KEPT:
                _KEPT.pop(next(iter(_KEPT)), None)
            _KEPT[key] = drawn
    answer = Response(drawn, mimetype="image/svg+xml")
    is_over = firing.ended_s is not None
    answer.headers["Cache-Control"] = f"private, max-age={31_536_000 if is_over else 60}{', immutable' * is_over}"
    return answer


def curve_svg(columns: Sequence[Bucket]) -> str:
    """Return a trace as a small picture; where there is no temperature the line is broken."""
    temps = [column.mid_c for column in columns if column.mid_c is not None]
    top_c = max(_TOP_C, *temps, 0.0) if temps else _TOP_C
    first_s = columns[0].t_s if columns else 0.0
    span_s = max(1.0, columns[-1].t_s - first_s) if columns else 1.0
    steps, pen = [], "M"
    for column in columns:
        if column.mid_c is None:
            pen = "M"
            continue
        x = _MARGIN + (column.t_s - first_s) / span_s * (WIDTH - 2 * _MARGIN)
        y = HEIGHT - _MARGIN - max(0.0, column.mid_c) / top_c * (HEIGHT - 2 * _MARGIN)
        steps.append(f"{pen}{x:.1f} {y:.1f}")
        pen = "L"
    ink = INKS["day"]["ink"]
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}"'
            f' height="{HEIGHT}">'
            f'<path d="M0 {HEIGHT - 0.5}H{WIDTH}" stroke="{ink}" stroke-opacity="0.25"/>'
            f'<path d="{"".join(steps)}" fill="none" stroke="{ink}" stroke-width="1.4"'
            ' stroke-linejoin="round"/></svg>')
