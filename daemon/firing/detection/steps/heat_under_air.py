"""What brick and glass still have while the air above them stepped down."""

from __future__ import annotations

from math import inf

from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import FASTEST_TIME_H
from daemon.firing.trace.recent import Trail

VENT_S = 660.0
"""A vent opened to cool fast is shut within this time [s]. While it stands open the air may read below the annealing
range, though the glass is far above it. The maker who opened it stands beside the kiln: only one that was forgotten
is worth a call. [common practice: vents of one to six minutes, seldom ten]"""
STILL_FALLING_S = 75.0
"""For so long into a step the step itself goes on, and no slope is taken [s]; what goes on falling after it falls by
itself. [tuned: by trial on the bench, study not kept]
"""
RECOVERED_SHARE = 0.5
"""A step is over where less than this share of its greatest depth is left. [chosen: nearer its line than its depth]
"""
GIVEN_BACK_S = 900.0
"""So long after a lid was shut, brick and glass have given back to the air what they had more than it [s].
[chosen: the air of the bench's kilns is back within ten minutes]"""

FASTER_TIMES = 1.7
"""A fall is faster than that of the fastest kiln by so many times where only its air falls.
[tuned: by trial on the bench, study not kept]"""
_FALLS_S = 120.0
"""Such a fall without a step is told over so long [s]. [chosen: longer than a controller's tooth and a spike]"""


def air_fell_from_c(t_s: float, temp_c: float, trail: Trail) -> float | None:
    """Return where the readings were when a fall began that only air can make [°C]; None without one.

    A vent that is opened just as a fall begins, or under a thick sheath, makes no step: the readings bend there
    anyway, or follow slowly. But no closed kiln falls so fast for two minutes (FASTEST_TIME_H). (Weighed: a small
    kiln whose elements fall silent. It loses some kelvins more at once, but not in the second minute as well.)
    """
    first = trail.index_at(t_s - _FALLS_S)
    middle = trail.index_at(t_s - _FALLS_S / 2)
    if not first < middle < len(trail.temps) or trail.unbroken_from_s > t_s - _FALLS_S:
        return None  # read too seldom to tell
    from_c, middle_c = max(trail.temps[first], trail.temps[first + 1]), trail.temps[middle]
    now_c = max(temp_c, *trail.temps[-2:])
    natural_k = (from_c - ASSUMED_ROOM_C) / FASTEST_TIME_H / 3600 * _FALLS_S
    goes_on = middle_c - now_c > natural_k / 2
    return from_c if goes_on and from_c - now_c > FASTER_TIMES * natural_k else None


class HeatUnderAir:
    """Follows the kiln under the air from a step down on, until a while after the air has come back.

    Under an open lid the air is colder than the kiln by as much as it stepped down. Once the lid is shut the air
    comes back, faster than any element heats, to no more than that: heat given back, and no heating.

    Parameters
    ----------
    began_s
        When the step was seen first [s].
    depth_k
        How deep it was by then [K].
    lowest_c
        What was read then [°C].
    """

    def __init__(self, began_s: float, depth_k: float, lowest_c: float) -> None:
        self._began_s, self._depth_k, self._lowest_c = began_s, depth_k, lowest_c
        self._until_s = began_s + VENT_S + GIVEN_BACK_S
        self._may_stay = False
        """Whether the step stood: brick and glass may stay as hot as they were however far the air falls on."""
        self._is_given_up = False

    @property
    def kiln_c(self) -> float:
        """Return what brick and glass may still have [°C]."""
        return self._lowest_c + self._depth_k

    def stands(self, depth_k: float, temp_c: float) -> None:
        """Take note that the step still stands: it is ``depth_k`` deep at its deepest [K], and ``temp_c`` is read."""
        self._depth_k, self._lowest_c, self._until_s = depth_k, min(temp_c, self._lowest_c), inf
        self._may_stay = True

    def give_up(self, from_c: float, until_s: float) -> None:
        """Let a step from ``from_c`` [°C] count until then [s]: where it was a lid, nobody knows when it is shut."""
        self._depth_k = max(self._depth_k, from_c - self._lowest_c)
        self._until_s, self._is_given_up = until_s, True

    def follow(self, t_s: float, temp_c: float) -> bool:
        """Take the next reading; return whether the air may still be colder than the kiln."""
        if t_s > self._until_s:
            return False
        if self._may_stay or t_s < self._began_s + STILL_FALLING_S:
            self._depth_k += max(0.0, self._lowest_c - temp_c)
        if not self._is_given_up and temp_c > self._lowest_c + (1.0 - RECOVERED_SHARE) * self._depth_k:
            self._until_s = min(self._until_s, t_s + GIVEN_BACK_S)
        self._lowest_c = min(self._lowest_c, temp_c)
        return True
