"""A pace for changes: what a hand can do in a minute, from one address."""

from __future__ import annotations

import threading
from collections import deque

CHANGES_A_MINUTE = 90
_MINUTE_S = 60.0
_MOST_ADDRESSES = 256


class Pace:
    """Counts by address; the address unheard longest is forgotten first.

    Parameters
    ----------
    most
        How many are allowed within a minute.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._lock = threading.Lock()
        self._times: dict[str, deque[float]] = {}

    def allows(self, address: str, now_s: float) -> bool:
        """Return whether one more is allowed at ``now_s``, and count it if so."""
        with self._lock:
            times = self._times.pop(address, None)
            if times is None:
                if len(self._times) >= _MOST_ADDRESSES:
                    self._times.pop(next(iter(self._times)))
                times = deque(maxlen=self._most)
            self._times[address] = times
            if len(times) == self._most and now_s - times[0] < _MINUTE_S:
                return False
            times.append(now_s)
            return True
