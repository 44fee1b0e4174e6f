"""The usual difference of probe and plan: as this firing's holds show it, and until then as past firings did."""

from __future__ import annotations

from statistics import median

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.tracking.offset_history import BANDS_C, OffsetBands, hold_offset, usual_offset_at

_NEAR_K = 60.0
"""What a hold of this firing shows of the probe holds for temperatures so near its own [K].
[chosen: an anneal and the fall through the annealing range lie within it]"""


class Offset:
    """Probe minus plan [K]: the mean over the settled holds of this firing, each weighed by its length.

    Parameters
    ----------
    parts
        The parts of the plan.
    earlier
        What past firings have shown, by band of temperature.
    is_owner_sure
        Whether the owner has set an offset, so that it has been subtracted from the readings already. None other is
        expected then, but how the probe differs from this kiln's own sensor, holds alone can show.
    """

    def __init__(self, parts: tuple[PlannedPart, ...], earlier: OffsetBands, *, is_owner_sure: bool) -> None:
        self._parts = parts
        self._earlier = earlier
        self._is_owner_sure = is_owner_sure
        self.learned_k: float | None = None
        """As this firing's settled holds show it [K]; None before there is one."""
        self._known: tuple[tuple[int, float, float], ...] = ()
        """(index, length [s], difference [K]) of every settled hold."""
        self._taught: tuple[tuple[Part, ...], float | None] | None = None
        """The holds and the step down that were learned from; None while a hold goes on, which teaches anew."""

    def learn(self, found: tuple[Part, ...], t_s: float, dropped_s: float | None = None) -> bool:
        """Take the parts found so far at ``t_s``; return whether there is an offset that changed.

        A hold in which the readings stood a step down at ``dropped_s`` [s], as under an open lid, shows no more than
        it had shown before that: the air was read, and not the kiln.
        """
        ran = tuple(part for part in found if part.part == "hold")
        if (ran, dropped_s) == self._taught:
            return False  # as in every ramp
        self._taught = None if any(part.end_s is None for part in ran) else (ran, dropped_s)
        holds = []
        for part in ran:
            if dropped_s is not None and part.start_s <= dropped_s <= (t_s if part.end_s is None else part.end_s):
                holds += [known for known in self._known if known[0] == part.index]
                continue
            hold = hold_offset(part, self._parts[part.index].to_c, t_s)
            if hold is not None and hold.settled:
                holds.append((part.index, hold.length_s, hold.difference_k))
        known = tuple(holds)
        if known == self._known:
            return False
        self._known = known
        if not known:
            self.learned_k = None
            return False
        self.learned_k = _mean(known)
        return True

    @property
    def expected_c(self) -> float | None:
        """Return what is expected before there is any reading [K]; None where nothing is known."""
        if self._earlier:
            return median(self._earlier.values())
        return 0.0 if self._is_owner_sure else None

    def at(self, temp_c: float) -> tuple[float, bool]:
        """Return the offset at ``temp_c`` [K], 0 where unknown, and whether holds have shown it."""
        offset_k = self.learned_k if self.learned_k is not None else usual_offset_at(self._earlier, temp_c)
        return (0.0, False) if offset_k is None else (offset_k, True)

    def is_shown_near(self, temp_c: float, here: int) -> bool:
        """Return whether a settled hold near ``temp_c`` [°C], or earlier firings in its band, have shown it.

        What the part with the index ``here`` shows does not count: a hold must not be judged by itself.
        """
        for index, _, _ in self._known:
            if index != here and abs(self._parts[index].to_c - temp_c) <= _NEAR_K:
                return True
        return bool(self._earlier) and any(
            low <= temp_c < high for low, high in BANDS_C if (low, high) in self._earlier)

    def elsewhere(self, index: int, temp_c: float) -> float | None:
        """Return the offset at ``temp_c`` [K] without what part ``index`` shows; None where nothing else is known.

        A hold must not be judged by an offset that it has set itself.
        """
        others = tuple([hold for hold in self._known if hold[0] != index])
        return _mean(others) if others else usual_offset_at(self._earlier, temp_c)


def _mean(holds: tuple[tuple[int, float, float], ...]) -> float:
    """Return the mean difference [K] of (index, length [s], difference [K]), weighed by length."""
    return sum(length * k for _, length, k in holds) / sum(length for _, length, _ in holds)
