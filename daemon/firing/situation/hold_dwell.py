"""How long the kiln stood near each planned hold, whatever the follower makes of it.

The follower may see a hold late, as where a weak kiln creeps up to it, or miss one in a kiln whose probe reads far
from its plan. The time near the target is never shorter than the hold itself: what it lacks was not held.
"""

from __future__ import annotations

from collections.abc import Sequence

from daemon.firing.plan.near_target import NEAR_UNKNOWN_K
from daemon.firing.plan.schedule import PlannedPart

_LONGEST_STEP_S = 120.0
"""Over a longer hole in the readings nothing is counted [s]. [from: daemon.firing.trace.gaps.WORTH_S]"""


class HoldDwell:
    """Counts the seconds near each hold's target while the follower is in that hold, or next to it.

    Parameters
    ----------
    parts
        The plan's parts.
    """

    def __init__(self, parts: Sequence[PlannedPart]) -> None:
        self._holds = tuple(part for part in parts if part.part == "hold")
        self._last_s: float | None = None
        self.near_s: dict[int, float] = {hold.index: 0.0 for hold in self._holds}
        """Seconds within NEAR_UNKNOWN_K of each hold's target, by the index of its part."""

    def see(self, t_s: float, temp_c: float, index: int) -> None:
        """Take a beat: the temperature in the plan's terms [°C], and the part the follower is in."""
        last_s, self._last_s = self._last_s, t_s
        if last_s is None or t_s - last_s > _LONGEST_STEP_S:
            return
        for hold in self._holds:
            if abs(hold.index - index) <= 1 and abs(temp_c - hold.to_c) <= NEAR_UNKNOWN_K:
                self.near_s[hold.index] += t_s - last_s
