"""How long the kiln stood near each planned hold, whatever the follower makes of it.

The follower may see a hold late, as where a weak kiln creeps up to it, or miss one in a kiln whose probe reads far
from its plan. The time near the target is never shorter than the hold itself: what it lacks was not held.
"""

from __future__ import annotations

from collections.abc import Sequence

from daemon.firing.plan.near_target import NEAR_UNKNOWN_K
from daemon.firing.plan.schedule import PlannedPart, passing_s
from daemon.firing.trace.gaps import WORTH_S


class HoldDwell:
    """Counts the seconds near each hold's target while the follower is in that hold, or next to it.

    Parameters
    ----------
    parts
        The plan's parts.
    """

    def __init__(self, parts: Sequence[PlannedPart]) -> None:
        self._parts = tuple(parts)
        self._holds = tuple(part for part in parts if part.part == "hold")
        self._last_s: float | None = None
        self.near_s: dict[int, float] = {hold.index: 0.0 for hold in self._holds}
        """Seconds within NEAR_UNKNOWN_K of each hold's target, by the index of its part."""

    def was_left(self, index: int, held_s: float) -> None:
        """Take how long a hold was held when the firing broke off in it [s], as the alert tells it (HoldMeasure).

        The fall away from a hold is near its target for a while too, which is no hold.
        """
        if index in self.near_s:
            self.near_s[index] = held_s + passing_s(self._parts, self._parts[index], NEAR_UNKNOWN_K)

    def see(self, t_s: float, temp_c: float, index: int) -> None:
        """Take a beat: the temperature in the plan's terms [°C], and the part the follower is in."""
        last_s, self._last_s = self._last_s, t_s
        if last_s is None or t_s - last_s > WORTH_S:  # over a longer hole nothing is counted
            return
        for hold in self._holds:
            if abs(hold.index - index) <= 1 and abs(temp_c - hold.to_c) <= NEAR_UNKNOWN_K:
                self.near_s[hold.index] += t_s - last_s
