"""Blind, never "cold": no temperature, or no reading at all."""

from __future__ import annotations

from daemon.firing.events import Rank, Sample
from daemon.firing.view import Finding

LOOK_AFTER_S = 30.0
WAKE_AFTER_S = 240.0
HOT_CLIMB_C = 540.0
"""Above this a climb matters enough to be woken for when blind."""


class SensorWatch:
    """Counts how long there has been no temperature; sees every reading."""

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._kind = ""
        self._last_s: float | None = None
        self._last_c: float | None = None
        self._interval_s = 5.0

    def see(self, sample: Sample, *, dangerous: bool) -> Finding | None:
        """Return what there is to say of blindness at this reading.

        Parameters
        ----------
        sample
            The reading.
        dangerous
            Whether the kiln is where a missed minute can cost the piece: climbing above HOT_CLIMB_C, or
            between the top and the end of the anneal.
        """
        hole_s = 0.0 if self._last_s is None else sample.t_s - self._last_s
        came_back_from_hole = hole_s > max(LOOK_AFTER_S, 3 * self._interval_s)
        before_s, self._last_s = self._last_s, sample.t_s
        if not came_back_from_hole and hole_s > 0:
            self._interval_s = min(self._interval_s, hole_s) if hole_s < self._interval_s else \
                self._interval_s + 0.05 * (hole_s - self._interval_s)
        if sample.temp_c is not None:
            self._since_s, self._last_c = None, sample.temp_c
            if came_back_from_hole and before_s is not None:
                return self._finding("readings-missing", before_s, sample.t_s, dangerous=False)
            return None
        kind = "readings-missing" if sample.fault in (None, "silent") else "sensor-fault"
        if self._since_s is None:
            self._since_s = sample.t_s if not came_back_from_hole or before_s is None else before_s
            self._kind = kind
        if kind == "sensor-fault":
            self._kind = kind
        if sample.t_s - self._since_s < LOOK_AFTER_S:
            return None
        return self._finding(self._kind, self._since_s, sample.t_s, dangerous=dangerous)

    def _finding(self, kind: str, since_s: float, now_s: float, *, dangerous: bool) -> Finding:
        blind_s = now_s - since_s
        rank = Rank.WAKE if dangerous and blind_s >= WAKE_AFTER_S else Rank.LOOK
        facts = {"blind_s": blind_s}
        if self._last_c is not None:
            facts["last_c"] = self._last_c
        return Finding(kind, rank, since_s, facts=facts)
