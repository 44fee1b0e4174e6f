"""Blind, never "cold": no temperature, or no reading at all."""

from __future__ import annotations

from daemon.firing.events import Rank, Sample
from daemon.firing.situation.view import Finding

LOOK_AFTER_S = 30.0
WAKE_AFTER_S = 240.0
_STEPS = 3.0
"""Rows are missing where the next one is later than this many usual steps."""
BELOW_ROOM_K, COLDEST_ROOM_C, BELOW_FOR_S = 12.0, 15.0, 60.0
"""A kiln falls no further below where it began, or below a cool studio, than a wrongly wired probe shows [K, °C]."""


class SensorWatch:
    """Counts how long there has been no temperature; sees every reading."""

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._kind = ""
        self._last_s: float | None = None
        self._last_c: float | None = None
        self._interval_s: float | None = None
        self._first_c: float | None = None
        self._below_since_s: float | None = None

    def see(self, sample: Sample, *, dangerous: bool) -> Finding | None:
        """Return what there is to say of blindness at this reading.

        Parameters
        ----------
        sample
            The reading.
        dangerous
            Whether the kiln is where a missed minute can cost the piece: climbing above HOT_C, or
            between the top and the end of the anneal.
        """
        before_s, self._last_s = self._last_s, sample.t_s
        came_back_from_hole = before_s is not None and self._is_hole(sample.t_s - before_s)
        if sample.temp_c is not None:
            self._since_s = None
            back = self._finding("readings-missing", before_s, sample.t_s, dangerous=False) \
                if came_back_from_hole and before_s is not None else None
            self._last_c = sample.temp_c  # only now: what is told of a hole is the reading before it
            return back or self._swapped(sample.t_s, sample.temp_c)
        kind = "readings-missing" if sample.fault in (None, "silent") else "sensor-fault"
        if self._since_s is None:
            self._since_s = sample.t_s if not came_back_from_hole or before_s is None else before_s
            self._kind = kind
        if kind == "sensor-fault":
            self._kind = kind
        if sample.t_s - self._since_s < LOOK_AFTER_S:
            return None
        return self._finding(self._kind, self._since_s, sample.t_s, dangerous=dangerous)

    def _swapped(self, t_s: float, temp_c: float) -> Finding | None:
        """Return the finding where the readings stand below any room, as a swapped lead's do in a warming kiln."""
        if self._first_c is None:
            self._first_c = temp_c
        if temp_c > min(self._first_c, COLDEST_ROOM_C) - BELOW_ROOM_K:
            self._below_since_s = None
            return None
        if self._below_since_s is None:
            self._below_since_s = t_s
        if t_s - self._below_since_s < BELOW_FOR_S:
            return None
        return Finding("sensor-fault", Rank.LOOK, self._below_since_s, facts={"swapped_c": temp_c})

    def _is_hole(self, gap_s: float) -> bool:
        """Return whether the time since the last row is a hole, and learn the usual time from it [s].

        The first gap can only be believed. A logger that is set slower is believed after a few.
        """
        usual_s = gap_s if self._interval_s is None else self._interval_s
        hole = gap_s > max(LOOK_AFTER_S, _STEPS * usual_s)
        slower_s = 1.3 * usual_s if hole else usual_s + 0.05 * (gap_s - usual_s)
        self._interval_s = min(gap_s, slower_s)
        return hole

    def _finding(self, kind: str, since_s: float, now_s: float, *, dangerous: bool) -> Finding:
        blind_s = now_s - since_s
        rank = Rank.WAKE if dangerous and blind_s >= WAKE_AFTER_S else Rank.LOOK
        facts = {"blind_s": blind_s}
        if self._last_c is not None:
            facts["last_c"] = self._last_c
        return Finding(kind, rank, since_s, facts=facts)
