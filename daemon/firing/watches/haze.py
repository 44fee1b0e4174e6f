"""Longer in the haze range than the plan implies: nothing to do at night, worth knowing at the bench."""

from __future__ import annotations

from daemon.firing.events import Rank
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import Finding, View
from daemon.glass.exposure import HAZE_C

_MORE_TIMES = 1.3
_MORE_S = 600.0


def planned_haze_s(parts: tuple[PlannedPart, ...]) -> float:
    """Return how long the plan itself stays in the haze range [s]; free ramps as they are guessed."""
    low, high = HAZE_C
    whole = 0.0
    for part in parts:
        bottom, top = min(part.from_c, part.to_c), max(part.from_c, part.to_c)
        if part.part == "hold":
            whole += part.duration_s if low <= part.to_c <= high else 0.0
        elif top > bottom:
            whole += part.duration_s * max(0.0, min(top, high) - max(bottom, low)) / (top - bottom)
    return whole


def haze_range(view: View) -> Finding | None:
    """Return the finding where the load has been longer in the haze range than the plan implies."""
    if view.haze_s <= _MORE_TIMES * view.planned_haze_s + _MORE_S or view.temp_c < HAZE_C[0] - 60.0:
        return None
    return Finding("haze-range", Rank.LOG, view.t_s - view.haze_s, facts={
        "haze_s": view.haze_s, "planned_s": view.planned_haze_s, "low_c": HAZE_C[0], "high_c": HAZE_C[1],
    })
