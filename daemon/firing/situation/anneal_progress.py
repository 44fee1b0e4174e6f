"""How much of its anneal hold the glass has had, and how much is enough.

A minute at the planned hold is worth one minute. Below the hold stress relaxes more slowly, so a minute there is
worth less: by the ratio of the relaxation times at the two temperatures. Above the hold it is worth no more than one,
since a hold also serves shelf, mould and edges. The count begins again whenever the kiln is back above the annealing
range.

It is the one answer to "was the anneal held enough?": alerts ask it before they wake somebody for a hold.
"""

from __future__ import annotations

from daemon.firing.plan.schedule import PlannedPart
from daemon.glass.advice import easing_min
from daemon.glass.common_practice import counted_mm
from daemon.glass.materials import Glass
from daemon.glass.relaxation import relaxation_time_s

_LEAST_MIN_PER_MM = 5.0
"""Minutes of hold for each millimetre on a shelf below which no workshop goes: 30 min at 6 mm, an hour at 12 mm. What
is advised is twice as long. [common practice]"""
_AS_GOOD_SHARE, _LEAST_SHARE = 0.85, 0.6
"""A hold that was held for the first share of its plan is as good as whole; one that was held for less than the
second is not enough, whatever an even slab needs: the plan is the maker's own judgement of the piece. [chosen: of an
hour, all but nine minutes and all but 24]"""
_DATED_MIN = 3.0
"""A hold so much shorter than another is not seen to be shorter [min]. [chosen: as boundaries are promised, within
three minutes of the truth]"""
_HOT_K = 25.0
"""A kiln this far above its hold has not come to it yet [K]. [common practice: a hold is set within this of the
annealing point]"""
_LONGEST_STEP_S = 900.0
"""Over a longer hole in the readings nothing is counted [s]. [chosen: a quarter of an ordinary hold]"""


def relaxes_min(glass: Glass, thickness_mm: float, faces: int, hold: PlannedPart) -> float:
    """Return how long the planned temperature takes to anneal an even slab [min]: to even out, and to relax it.

    Never more than the plan itself has, less what is as good as whole.
    """
    return min(easing_min(glass, thickness_mm, faces, hold.to_c), _AS_GOOD_SHARE * hold.duration_s / 60)


def enough_min(thickness_mm: float, faces: int, hold: PlannedPart) -> float:
    """Return how long the hold must have lasted when it ends, to be as good as planned [min].

    The longer of the shortest hold that workshops give this thickness, for the sake of shelf, mould and edges, and
    most of what the plan has. The first is compared with a hold that is dated no better than _DATED_MIN.
    """
    practice_min = _LEAST_MIN_PER_MM * counted_mm(thickness_mm, faces) - _DATED_MIN
    return max(min(practice_min, _AS_GOOD_SHARE * hold.duration_s / 60), _LEAST_SHARE * hold.duration_s / 60)


class AnnealProgress:
    """Counts what the anneal hold was worth so far.

    Parameters
    ----------
    glass
        The glass of the load.
    hold
        The plan's anneal hold.
    """

    def __init__(self, glass: Glass, hold: PlannedPart) -> None:
        self._glass, self._hold = glass, hold
        self._whole_s = relaxation_time_s(glass, hold.to_c)
        self._reset_c = max(glass.band_high_c, hold.to_c + _HOT_K)
        self._last: tuple[float, float, float] | None = None
        self.worth_min = 0.0
        """Minutes at the planned hold that would have done as much [min]."""
        self.read_min = 0.0
        """The same by the reading without any doubt, since the kiln last fell freely [min]."""
        self.doubt_k = 0.0
        """By how much too low the kiln may have been read meanwhile, at most [K]."""

    @property
    def hold(self) -> PlannedPart:
        """Return the plan's anneal hold."""
        return self._hold

    def see(self, t_s: float, temp_c: float, doubt_k: float = 0.0, *, falls_freely: bool = False) -> None:
        """Take the temperature at ``t_s`` [s] in the plan's terms [°C], and how much too low it may be read [K].

        A minute is worth what it would be at the highest temperature that the glass may have. The count begins again
        by the reading alone: that the glass may be hotter than read takes away nothing of what it was held. (Weighed:
        a hold that is truly too hot, read too low. It is told as a hold off its target, by the same reading.)

        While the kiln ``falls_freely`` the glass is uneven. What relaxes then comes back as stress when it evens out.
        So ``read_min`` begins again with every such fall.
        """
        read_c, is_above, temp_c = temp_c, temp_c > self._reset_c, temp_c + doubt_k
        last, self._last = self._last, (t_s, temp_c, read_c)
        self.doubt_k = max(self.doubt_k, doubt_k)
        if is_above or falls_freely:
            self.read_min = 0.0
        if is_above:
            self.worth_min, self.doubt_k = 0.0, doubt_k
        elif last is not None and t_s - last[0] <= _LONGEST_STEP_S:
            self.worth_min += (t_s - last[0]) / 60 * self.speed(min(temp_c, last[1]))
            if not falls_freely:
                self.read_min += (t_s - last[0]) / 60 * self.speed(min(read_c, last[2]))

    def speed(self, temp_c: float) -> float:
        """Return what a minute at ``temp_c`` [°C] is worth in minutes at the planned hold, at most 1."""
        if temp_c >= self._hold.to_c:
            return 1.0
        return self._whole_s / relaxation_time_s(self._glass, temp_c)

    def passing_min(self, fall_c_per_h: float) -> float:
        """Return what a fall at ``fall_c_per_h`` [°C/h] that passes the hold is worth by that doubt alone [min]."""
        return 60.0 * self.doubt_k / fall_c_per_h

    @property
    def is_whole(self) -> bool:
        """Return whether the hold was worth as much as planned, or nearly, whoever saw it begin and end."""
        return self.worth_min >= _AS_GOOD_SHARE * self._hold.duration_s / 60

    @property
    def is_surely_whole(self) -> bool:
        """Return whether the hold was worth nearly as much as planned as it was read, with no doubt in its favour.

        Counted since the kiln last fell freely. In glass of 6 mm an hour read 2 K below its target is not enough:
        stress relaxes more slowly there.
        """
        return self.read_min >= _AS_GOOD_SHARE * self._hold.duration_s / 60

    def at_end_min(self, temp_c: float, left_s: float) -> float:
        """Return what the hold will have been worth when it goes on at ``temp_c`` [°C] for ``left_s`` more [min]."""
        return self.worth_min + self.speed(temp_c) * max(0.0, left_s) / 60
