"""When a milestone truly came: where its part began, which is known some minutes after it was noticed. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from daemon.firing.events import Milestone, Part
from web import words

NOTICED_S = 120.0
"""From this long after its beginning on, when a part was noticed is said too [s]. [chosen: times are in minutes]
"""
_HOLDS = ("squeeze-begun", "top-reached", "anneal-begun")
_STEP = "step-"


def dated(milestone: Milestone, parts: Sequence[Part], starts: datetime) -> tuple[float, str]:
    """Return when a milestone came [s], and its words, with when it was noticed where that was later.

    A part is told while it goes on, and its beginning is found more closely afterwards. The time is the beginning of
    the part as it is kept, so the log says what the table of the steps says.

    Parameters
    ----------
    milestone
        As it was noticed.
    parts
        The parts of the firing as they are kept now, in the order of time.
    starts
        Wall time of second 0, in the owner's zone.
    """
    began_s = _began_s(milestone, [part for part in parts if part.start_s <= milestone.t_s])
    if began_s is None:
        return milestone.t_s, milestone.text
    if milestone.t_s - began_s < NOTICED_S:
        return began_s, milestone.text
    return began_s, f"{milestone.text} Noticed at {words.clock(starts, milestone.t_s)}."


def _began_s(milestone: Milestone, parts: Sequence[Part]) -> float | None:
    """Return when the part that a milestone tells of began [s], the latest of ``parts``; None for others."""
    if milestone.name in _HOLDS:
        return next((part.start_s for part in reversed(parts) if part.part == "hold"), None)
    if milestone.name == "anneal-done":
        return next((part.start_s for part in reversed(parts) if part.part == "ramp"), None)
    if not milestone.name.startswith(_STEP):
        return None
    began_s = None
    for part in reversed(parts):
        if part.step == milestone.step:
            began_s = part.start_s
        elif began_s is not None:
            break
    return began_s
