"""How far the reading is below the line that the plan draws from the beginning of a fall."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.situation.view import View

DATED_S = 120.0
"""A fall may begin so long before the follower dates it [s]. [tuned: by trial on the bench, study not kept]"""
BEFORE_S = 600.0
"""From so long before a fall the readings tell where it began [s]. [chosen: long against a controller's swing]"""
_FROM_LINE_S = 1800.0
"""The planned line is counted from the beginning of a fall for so long [s]; a kiln that lags behind it, with its
elements off, may later be below it or above. [chosen: half an hour]"""


class BelowLine(NamedTuple):
    """Where a planned line begins, and how far the reading is below it now."""

    from_c: float
    """What was read before the fall began [°C]."""
    below_k: float
    """How far the reading is below the line [K]; negative above it."""
    before_c_per_h: float
    """How fast the kiln fell before [°C/h]."""


def planned_line(view: View, begins_s: float, planned_c_per_h: float) -> BelowLine | None:
    """Return the line of a fall that began at ``begins_s`` [s], against the reading.

    The line begins at what was read before it, so that no difference of probe and plan matters. ``planned_c_per_h``
    is positive. None long after the beginning, or where the readings before it are too few.
    """
    before = view.trail.line(begins_s - BEFORE_S, begins_s - DATED_S / 2)
    past_s = view.t_s - begins_s
    if before is None or past_s > _FROM_LINE_S:
        return None
    from_c = before.at(begins_s)
    return BelowLine(from_c, from_c - planned_c_per_h * past_s / 3600 - view.temp_c,
                     -before.slope_c_per_s * 3600)
