"""How the probe reads against the plan's holds, learned from this firing."""

from __future__ import annotations

from daemon.firing.events import Part
from daemon.firing.schedule import PlannedPart

SETTLED_AFTER_S = 600.0
"""A hold shorter than this may still be settling and teaches nothing."""
_CREPT_K = 5.0
BELIEVABLE_K = 20.0
"""A larger difference is a fault or a wrong plan, not an offset."""


class Offset:
    """Probe minus plan [K], the mean over the settled holds, each weighed by its length."""

    def __init__(self, parts: tuple[PlannedPart, ...]) -> None:
        self._parts = parts
        self.learned_c: float | None = None
        self._known: tuple[tuple[int, float, float], ...] = ()

    def learn(self, found: tuple[Part, ...], t_s: float) -> bool:
        """Take the parts found so far at ``t_s``; return whether the offset changed."""
        holds = []
        for part in found:
            length_s = (part.end_s if part.end_s is not None else t_s) - part.start_s
            if part.part != "hold" or part.mean_c is None or length_s < SETTLED_AFTER_S:
                continue
            if abs(part.rate_c_per_h or 0.0) * length_s / 3600 > _CREPT_K:
                continue  # crept towards, or left without being noticed: not what the controller holds
            difference = part.mean_c - self._parts[part.index].to_c
            if abs(difference) <= BELIEVABLE_K:
                holds.append((part.index, length_s, difference))
        known = tuple(holds)
        if known == self._known:
            return False
        self._known = known
        if not known:
            self.learned_c = None
            return False
        self.learned_c = _mean(known)
        return True

    def without(self, index: int) -> float | None:
        """Return the offset [K] as every hold but part ``index`` shows it; None where there is no other."""
        others = tuple(hold for hold in self._known if hold[0] != index)
        return _mean(others) if others else None


def _mean(holds: tuple[tuple[int, float, float], ...]) -> float:
    return sum(length * k for _, length, k in holds) / sum(length for _, length, _ in holds)
