"""Where the plan is by its own clock, while no reading tells where the kiln is.

A controller goes on by its plan though Lehrling is blind. From the last part that was seen, each part is given its
planned time. How long a free climb or fall takes depends on the kiln, so it is reckoned twice, for the briskest and
for the slowest kiln of common practice; how far the two then lie apart is how well the clock can tell. Nothing is
measured here: it only says what to expect on the kiln's own display.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from daemon.firing.events import Part
from daemon.firing.plan.schedule import ASSUMED_COOLING_TIME_S, PlannedPart, temp_at
from daemon.firing.situation.probe_doubt import FASTEST_TIME_S, SLOWEST_TIME_S

_TIMES = (FASTEST_TIME_S / ASSUMED_COOLING_TIME_S, SLOWEST_TIME_S / ASSUMED_COOLING_TIME_S)
"""A free ramp takes between so many times as long as it is guessed [1].
[derived: the time constants of the briskest and the slowest kiln, over the one that the guess takes]"""
_WIDEST_K = 100.0
"""Temperatures further apart than this say nothing [K]. [chosen: a kiln that ran away is well above either]"""


class ByClock(NamedTuple):
    """Between which temperatures the plan is by its clock [°C]; both the same where no free ramp lies before."""

    low_c: float
    high_c: float


def by_the_clock(parts: Sequence[PlannedPart], found: Sequence[Part], lost_s: float, t_s: float) -> ByClock | None:
    """Return between which temperatures the plan is at ``t_s`` by its clock.

    Parameters
    ----------
    parts
        The plan.
    found
        The parts that the kiln ran, in time order.
    lost_s
        Since when nothing is read that can be believed [s]; a part that was found later is not believed either.
    t_s
        The present [s].

    Returns
    -------
    ByClock or None
        None where no part was seen, where the plan may be over, and where the clock does not tell it to 100 K.
    """
    seen = [run for run in found if run.start_s <= lost_s and 0 <= run.index < len(parts)]
    if not seen:
        return None
    ends = [_planned_c(parts[seen[-1].index:], seen[-1].start_s, lost_s, t_s, times) for times in _TIMES]
    known = [temp_c for temp_c in ends if temp_c is not None]
    if len(known) < len(ends) or max(known) - min(known) > _WIDEST_K:
        return None
    return ByClock(min(known), max(known))


def _planned_c(parts: Sequence[PlannedPart], start_s: float, lost_s: float, t_s: float, times: float) -> float | None:
    """Return where the plan is at ``t_s`` [°C] in a kiln whose free ramps take so many ``times`` as long as guessed.

    The first part began at ``start_s`` and was still under way at ``lost_s`` [s].
    """
    for number, part in enumerate(parts):
        slower = times if part.rate_c_per_h is None else 1.0
        end_s = start_s + slower * part.duration_s
        if number == 0:
            end_s = max(end_s, lost_s)
        if t_s <= end_s:
            return temp_at(part, min((t_s - start_s) / slower, part.duration_s))
        start_s = end_s
    return None
