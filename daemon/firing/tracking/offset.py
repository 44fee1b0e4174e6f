"""How the probe reads against the plan's holds: as this firing shows it, and until then as past ones did."""

from __future__ import annotations

from statistics import median

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.tracking.offset_history import OffsetBands, hold_offset, usual_offset_at


class Offset:
    """Probe minus plan [K], the mean over the settled holds, each weighed by its length.

    Parameters
    ----------
    parts
        The plan's.
    earlier
        What past firings have shown, by band.
    is_owner_sure
        Whether the owner knows how the probe reads, so that it has been taken off already.
    """

    def __init__(self, parts: tuple[PlannedPart, ...], earlier: OffsetBands, *, is_owner_sure: bool) -> None:
        self._parts = parts
        self._earlier = earlier
        self._is_owner_sure = is_owner_sure
        self.learned_c: float | None = None
        self._known: tuple[tuple[int, float, float], ...] = ()

    def learn(self, found: tuple[Part, ...], t_s: float) -> bool:
        """Take the parts found so far at ``t_s``; return whether the offset changed."""
        holds = []
        for part in found:
            hold = hold_offset(part, self._parts[part.index].to_c, t_s)
            if hold is not None and hold.settled:
                holds.append((part.index, hold.length_s, hold.difference_k))
        known = tuple(holds)
        if known == self._known:
            return False
        self._known = known
        if not known:
            self.learned_c = None
            return False
        self.learned_c = _mean(known)
        return True

    @property
    def expected_c(self) -> float | None:
        """Return what is expected before there is any reading [K]; None where nothing is known."""
        if self._earlier:
            return median(self._earlier.values())
        return 0.0 if self._is_owner_sure else None

    def at(self, temp_c: float) -> tuple[float, bool]:
        """Return the offset at ``temp_c`` [K], 0 where unknown, and whether it is known."""
        return (self.learned_c, True) if self.learned_c is not None else self._before(temp_c)

    def elsewhere(self, index: int, temp_c: float) -> float | None:
        """Return the offset at ``temp_c`` [K] as all but part ``index`` show it; None where nothing else does."""
        others = tuple(hold for hold in self._known if hold[0] != index)
        if others:
            return _mean(others)
        earlier_c, is_known = self._before(temp_c)
        return earlier_c if is_known else None

    def _before(self, temp_c: float) -> tuple[float, bool]:
        earlier_c = usual_offset_at(self._earlier, temp_c)
        return (earlier_c, True) if earlier_c is not None else (0.0, self._is_owner_sure)


def _mean(holds: tuple[tuple[int, float, float], ...]) -> float:
    return sum(length * k for _, length, k in holds) / sum(length for _, length, _ in holds)
