"""Whether the kiln is hotter than its plan's top and a margin, for long enough that it is no spike."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.situation.view import NEVER_NEAR_K, View
from daemon.firing.tracking.offset_history import READS_HIGH_K, SETTLED_AFTER_S, hold_offset

KNOWN_MARGIN_K = 15.0
UNKNOWN_MARGIN_K = 25.0
"""The limit is this far above the plan's top [K]: where the usual difference of probe and plan is known, and where it
is not. [chosen: an overshoot stays below the first; the second adds what a probe may differ by]
"""
KNOWN_FOR_S = 20.0
UNKNOWN_FOR_S = 120.0
"""The probe must have been above the limit for so long [s], where the difference is known and where it is not, or
where the reading jumped. [chosen: more than one spike; more care where the limit is doubtful]
"""
_JUMPS_K, _JUMPS_C_PER_H = 10.0, 3000.0
"""From one reading to the next a kiln does not climb by so much and so fast [K, °C/h]. [common practice: 1000 °C/h
and less with all elements on]"""
_STANDS_FOR_S, _LEAST_STAND_S, _STANDS_C_PER_H = 300.0, 240.0, 30.0
"""A kiln that has climbed by less than the last over the first stands; no less than the second must have been seen
[s, s, °C/h]. [chosen: half of the slowest climb that plans have]"""


class Over(NamedTuple):
    """A kiln above the limit."""

    since_s: float
    over_k: float
    """How far it is above the plan's top [K]."""
    may_be_probe: bool
    """Whether it only stands in its hold, by a probe of which nobody knows how it differs from the plan."""


class OverLimit:
    """Sees every reading, and how the kiln moves at every beat.

    A reading that jumps over the limit is not believed for UNKNOWN_FOR_S: the wires pick something up, or touch.

    A kiln that stands in a hold of its plan, less than NEVER_NEAR_K above, is run by a program. By a probe that no
    hold has shown yet it may be as hot as planned. (Weighed: a controller whose own sensor reads too low. It stands
    there as well, and no probe beside it can tell the two apart; it is told, and is overrun or off its target later.)
    It is a look only where it stood before it passed the limit: one that comes up to its hold above the limit has
    climbed until a minute ago, and a kiln that does not stop looks the same for as long. (Weighed: to wait until it
    stands. Over two minutes such a kiln still climbs at 80 °C/h and more, as a kiln does that runs away, and one
    minute of readings tells no slope.)

    Parameters
    ----------
    highest_c
        The plan's top [°C].
    """

    def __init__(self, highest_c: float) -> None:
        self._highest_c = highest_c
        self._since_s: float | None = None
        self._has_jumped = False
        self._last: tuple[float, float] | None = None
        self._stands = False
        self._limit_k = UNKNOWN_MARGIN_K
        """How far above the top the limit is where the usual difference is not known [K] (see limit_k)."""

    def see_beat(self, view: View) -> None:
        """Take how the kiln moves at a beat."""
        self._limit_k = limit_k(view)
        part, line = view.part, None
        if part is not None and part.part == "hold" and abs(view.temp_c - view.offset_k - part.to_c) < NEVER_NEAR_K:
            line = view.line(_STANDS_FOR_S, view.resumed_s)
        self._stands = line is not None and line.span_s >= _LEAST_STAND_S and (
            line.slope_c_per_s * 3600 < _STANDS_C_PER_H)

    def see(self, t_s: float, temp_c: float, offset_k: float, *, offset_known: bool) -> Over | None:
        """Return how far a reading [s, °C] is above the limit, where it has been above it long enough."""
        last, self._last = self._last, (t_s, temp_c)
        over_k = temp_c - offset_k - self._highest_c
        if over_k <= (KNOWN_MARGIN_K if offset_known else self._limit_k):
            self._since_s = None
            return None
        if self._since_s is None:
            self._since_s, self._has_jumped = t_s, last is not None and _jumps(last, self._last)
        is_sure = offset_known and not self._has_jumped
        if t_s - self._since_s < (KNOWN_FOR_S if is_sure else UNKNOWN_FOR_S):
            return None
        return Over(self._since_s, over_k, self._stands and not offset_known and over_k < NEVER_NEAR_K)


def _jumps(before: tuple[float, float], now: tuple[float, float]) -> bool:
    """Return whether the reading rose from one to the other [s, °C] as no kiln does."""
    rise_k, passed_s = now[1] - before[1], now[0] - before[0]
    return rise_k > _JUMPS_K and rise_k * 3600 > _JUMPS_C_PER_H * passed_s


def limit_k(view: View) -> float:
    """Return how far above the plan's top a kiln is too hot, after the usual difference of probe and plan [K].

    Between UNKNOWN_MARGIN_K and NEVER_NEAR_K where that difference is not known. There the last hold below the top
    may have been read too high, but have moved too much to show by how much: the limit is higher by what it was read
    too high, and by what it moved. A hold that was read too low raises nothing and lowers nothing: the kiln may have
    been too cold in it, and right at its top. (Weighed: a kiln that truly was too hot in that hold. Its controller is
    likely to be as wrong at the top; no probe beside it can tell the two apart.)
    """
    if view.offset_known:
        return KNOWN_MARGIN_K
    for run in reversed(view.found):
        target_c = view.parts[run.index].to_c
        hold = hold_offset(run, target_c, view.t_s) if target_c < view.plan.highest_c else None
        if hold is not None and hold.length_s >= SETTLED_AFTER_S and hold.difference_k <= READS_HIGH_K:
            shown_k = hold.difference_k + KNOWN_MARGIN_K + abs(hold.moved_k)
            return min(max(shown_k, UNKNOWN_MARGIN_K), NEVER_NEAR_K)
    return UNKNOWN_MARGIN_K
