"""Whether a vent or lid that was opened in a free fall still stands open.

Under it the air is colder than brick and glass, and falls on with them. Once it is shut they heat the air: the
reading rises, or its fall at least pauses, before it goes on falling as slowly as the closed kiln. So a reading that
has fallen without a pause for as long as any vent stands open was never shut in. Weighed against it: that the reading
is a step below where the closed kiln would be by now. How fast that falls is not known yet in the first fall of a
firing, and kilns differ by ten times.

A pause is taken as read, without the error of its slope. With 1 K of noise a gentle fall may so be taken for a
pause. In firings with a lid ajar at the top, or left open in a hold, that happened in one of eight, after fourteen
minutes, and it woke as before.
"""

from __future__ import annotations

from daemon.firing.detection.steps.heat_under_air import STILL_FALLING_S, VENT_S
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import FASTEST_TIME_H
from daemon.firing.trace.recent import Trail
from daemon.firing.trace.swings import CONTROLLERS_MOST_K

_PAUSE_S, _PAUSE_READINGS = 60.0, 3
"""A pause lasts so long, and so many readings [s]. [tuned: after each of 45 vents of the bench that were seen as a
step, seeds 1153600000 to 1153600420, the reading rose by 6 K or stood]"""
_LONGEST_STEP_S = 30.0
"""A logger that is slower may miss the pause [s]. [chosen: half of it]"""
_FALLS_TIMES = 2.0
"""An opened kiln falls further at first than elements that fall silent and so many times the fastest closed kiln
together. [chosen: bare fibre falls twice as fast as the fastest kiln with a wall, for a minute]"""


class LeftOpen:
    """Follows one step down, by its readings.

    Parameters
    ----------
    since_s, from_c
        When and where the readings left their line [s, °C].
    seen_c
        What was read when that was seen [°C].
    """

    def __init__(self, since_s: float, from_c: float, seen_c: float) -> None:
        self._since_s, self._from_c = since_s, from_c
        self._settled_c = seen_c
        """What was read when the step itself was over [°C]."""
        self._has_paused = False
        self.was_shut = False
        """Whether the last that moved further than a controller does within a minute was a rise: heat that the bricks
        give back to the air under a lid just shut. (Weighed: elements that heat against an open lid. Where the plan
        falls freely there are none on.)"""

    def see(self, t_s: float, temp_c: float, trail: Trail) -> None:
        """Take the next reading [s, °C], the last one of ``trail``."""
        age_s = t_s - self._since_s
        if age_s <= STILL_FALLING_S:
            self._settled_c = temp_c
        window_s = max(_PAUSE_S, _PAUSE_READINGS * trail.step_s)
        if age_s < window_s + STILL_FALLING_S / 2:
            return
        line = trail.line(t_s - window_s)
        moved_k = 0.0 if line is None else line.slope_c_per_s * window_s
        if abs(moved_k) >= CONTROLLERS_MOST_K:
            self.was_shut = moved_k > 0.0
        self._has_paused |= trail.step_s > _LONGEST_STEP_S or line is None or line.slope_c_per_s >= 0.0

    def stands(self, t_s: float) -> bool:
        """Return whether it is still open though no vent stands open for so long."""
        fastest_k = (self._from_c - ASSUMED_ROOM_C) / FASTEST_TIME_H / 3600 * STILL_FALLING_S
        is_deep = self._from_c - self._settled_c >= CONTROLLERS_MOST_K + _FALLS_TIMES * fastest_k
        return t_s - self._since_s >= VENT_S and is_deep and not self._has_paused
