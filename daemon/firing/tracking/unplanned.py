"""The parts of a firing that has no plan: its segments taken as ramps and holds, their steps counted."""

from __future__ import annotations

from daemon.firing.events import Part, PartsRevised
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.boundaries import TOLD_TO_S
from daemon.firing.tracking.segments import Segment, SegmentFinder, join_holds
from daemon.glass.common_practice import HOT_C
from daemon.glass.materials import Glass

_NOT_BEGUN_K = 6.0
"""Until it has moved by this the firing has not begun [K]. [tuned: by trial on the bench, study not kept]"""


class Unplanned:
    """Finds the parts of a firing without a plan; step numbers are counted, since no plan gives them."""

    def __init__(self, trail: Trail, glass: Glass) -> None:
        self._segments = SegmentFinder(trail)
        self._glass = glass
        self._hottest_c = float("-inf")
        self.found: tuple[Part, ...] = ()

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C]."""
        self._segments.count_in(temp_c)

    def see(self, t_s: float, wander_k: float, resumed_s: float) -> PartsRevised | None:
        """Return the parts where they changed enough to be told (see SegmentFinder.see for the arguments)."""
        if not self._segments.see(t_s, wander_k, resumed_s):
            return None
        self._hottest_c = max(self._hottest_c, self._segments.found[-1].to_c)
        before, self.found = self.found, parts_of(self._segments.found)
        return PartsRevised(t_s, self.found) if _told(before) != _told(self.found) else None

    def is_dangerous(self) -> bool:
        """Return whether missing readings can cost the piece: climbing hot, or falling above the band's end."""
        if not self._segments.found:
            return False
        here = self._segments.found[-1]
        fallen = self._hottest_c > HOT_C and here.to_c > self._glass.band_low_c
        return fallen or (here.way > 0 and here.to_c > HOT_C)


def parts_of(found: tuple[Segment, ...]) -> tuple[Part, ...]:
    """Return segments as parts; a ramp begins a step, and the hold after it belongs to that step.

    What came before the kiln first moved is left out.
    """
    kept = join_holds(found)
    while len(kept) > 1 and abs(kept[0].to_c - kept[0].from_c) < _NOT_BEGUN_K:
        kept = kept[1:]
    parts: list[Part] = []
    step = 0
    for segment in kept:
        ramp = segment.way != 0
        step = max(1, step + ramp)
        parts.append(Part(
            index=len(parts), step=step, part="ramp" if ramp else "hold", start_s=segment.start_s,
            end_s=segment.end_s, rate_c_per_h=segment.rate_c_per_h, mean_c=segment.mean_c,
        ))
    return tuple(parts)


def _told(parts: tuple[Part, ...]) -> tuple[tuple[str, int, bool], ...]:
    """Return what of the parts is worth telling again when it changes."""
    return tuple((p.part, round(p.start_s / TOLD_TO_S), p.end_s is None) for p in parts)
