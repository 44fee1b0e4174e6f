"""A firing that broke off stays so until the kiln is held or heated again, whatever part the fall then looks like."""

from __future__ import annotations

from dataclasses import replace

from daemon.firing.recovery.recovery import PAST_MENDING_C
from daemon.firing.situation.view import Finding, View
from daemon.firing.watches.firing_stopped import firing_stopped, least_natural_fall

_FALLS_FOR_S = 600.0
_FASTER = 1.15
"""A fall no more than this many times the one the plan has next is that one."""


class StoppedWatch:
    """Remembers a firing that broke off while the kiln goes on falling as it likes, and can still be mended."""

    def __init__(self) -> None:
        self._found: Finding | None = None

    def see(self, view: View) -> Finding | None:
        """Return the finding as it stands at this beat."""
        found = firing_stopped(view)
        if found is None and self._found is not None and _still_falls(view):
            line = view.line(_FALLS_FOR_S, view.resumed_s)
            fall = -line.slope_c_per_s * 3600 if line is not None else self._found.facts["fall_c_per_h"]
            found = replace(self._found, facts=self._found.facts | {
                "temp_c": view.temp_c, "here_c": view.temp_c - view.offset_c, "fall_c_per_h": fall})
        self._found = found
        return found


def _still_falls(view: View) -> bool:
    line = view.line(_FALLS_FOR_S, view.resumed_s)
    if line is None or view.temp_c < PAST_MENDING_C:
        return False
    fall = -line.slope_c_per_s * 3600
    part = view.part
    planned = 0.0 if part is None or part.direction >= 0 or part.rate_c_per_h is None else -part.rate_c_per_h
    return fall > max(0.8 * least_natural_fall(view.temp_c), _FASTER * planned)
