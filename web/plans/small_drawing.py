"""A plan as a small line, to be known again in a list before it is read."""

from __future__ import annotations

from markupsafe import Markup

from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import curve, planned_parts

WIDTH, HEIGHT = 132, 44
_EDGE = 2.0
"""Size, and what is left free at each side for the line's own width [px]. [chosen: as high as a finger's target]"""


def small_drawing(plan: Plan) -> Markup:
    """Return a plan as a small SVG, its whole time from left to right; the list beside it says it in words."""
    parts = planned_parts(plan)
    corners = curve(parts)
    if not corners:
        return Markup("")
    long_s, high_c = max(corners[-1][0], 1.0), max(plan.highest_c, 1.0)
    places = [(_EDGE + t_s / long_s * (WIDTH - 2 * _EDGE), HEIGHT - _EDGE - temp_c / high_c * (HEIGHT - 2 * _EDGE))
              for t_s, temp_c in corners]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
    return Markup(
        f'<svg class="small-plan" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}"'
        f' aria-hidden="true"><line class="hair" x1="0" x2="{WIDTH}" y1="{HEIGHT - 0.5}" y2="{HEIGHT - 0.5}"/>'
        f'<polyline fill="none" points="{points}"/></svg>')
