"""When a firing that nobody ended is over: the kiln has gone cold."""

from __future__ import annotations

from daemon.firing.detection.blindness import is_coded_zero
from daemon.firing.events import Sample

COLD_C = 40.0
"""Below this a kiln is unloaded [°C]. [common practice]"""
HOT_C = 100.0
"""A kiln that never passed this has not fired anything [°C]. [chosen: no kiln-forming happens below it, and no room
or sun warms a kiln to it]"""
COLD_S = 30 * 60
ABANDONED_S = 3 * 3600
"""How long a kiln must have been cold before its firing ends: one whose plan was finished, and one whose plan never
was [s]. [chosen: half an hour is beyond a look inside; three hours are time to mend a plug and go on]"""
_DRIFT_C = 5.0
"""A cold kiln follows the room, and its probe has noise; a rise of more than this is a kiln that starts again.
[chosen: above the noise, and above what a room moves a kiln while it is cold]"""


class ColdWatch:
    """Follows the readings of one firing and says when it may be ended."""

    def __init__(self) -> None:
        self.highest_c = float("-inf")
        self._since_s: float | None = None
        self._last_c: float | None = None
        self._lowest_c = float("inf")

    def take(self, sample: Sample) -> None:
        """Take the next reading; a blind one tells nothing."""
        if sample.temp_c is None or is_coded_zero(sample.temp_c, self._last_c):
            return
        self._last_c = sample.temp_c
        self.highest_c = max(self.highest_c, sample.temp_c)
        rising = sample.temp_c > self._lowest_c + _DRIFT_C
        if sample.temp_c >= COLD_C or rising:
            self._since_s, self._lowest_c = None, float("inf")
            if sample.temp_c >= COLD_C:
                return
        if self._since_s is None:
            self._since_s = sample.t_s
        self._lowest_c = min(self._lowest_c, sample.temp_c)

    @property
    def is_cold(self) -> bool:
        """Return whether the kiln is cold now."""
        return self._since_s is not None

    def is_over(self, t_s: float, *, finished: bool, has_plan: bool, opened_itself: bool) -> bool:
        """Return whether the firing is over at ``t_s`` [s].

        Parameters
        ----------
        t_s
            Second of the last reading [s].
        finished
            Whether the follower has the plan done.
        has_plan
            Whether there is a plan.
        opened_itself
            Whether a climb opened the firing; one that came to nothing need not have been hot.
        """
        if self._since_s is None:
            return False
        cold_s = t_s - self._since_s
        was_hot = self.highest_c >= HOT_C or opened_itself
        if finished or (not has_plan and was_hot):
            return cold_s >= COLD_S
        return was_hot and cold_s >= ABANDONED_S
