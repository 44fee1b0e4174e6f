"""A rate limit by address: so many tries within a minute, and so many from all addresses together."""

from __future__ import annotations

import threading
from collections import deque

PER_S = 60.0
"""The span in which tries are counted unless another one is given [s]. [chosen: a minute, as the bounds below are
said]"""
LONG_S = 3600.0
"""The longer span in which guesses are counted too [s]. [chosen: an hour]"""
CHANGES_FROM_ONE = 90
"""Changes from one address in PER_S. [chosen: more than a hand can do]"""
GUESSES_FROM_ONE, GUESSES_FROM_ALL = 5, 10
"""Guesses at the passcode in a minute, from one address and from all together. [chosen: a wrong passcode may be
typed a few times]"""
LONG_FROM_ONE, LONG_FROM_ALL = 20, 30
"""Guesses in LONG_S, from one address and from all strangers together. [chosen: some seven hundred a day, where ten a
minute made 14,400]"""
_MOST_ADDRESSES = 256
"""Addresses that are remembered at most. [chosen: bounds the memory]"""
_LOOPBACK = frozenset({"127.0.0.1", "::1"})


class RateLimit:
    """Counts tries by address; the address that tried least recently is forgotten first.

    Loopback, and whoever is known otherwise, is bound by its own count only, so that a stranger on the network can't
    lock the owner out.

    Parameters
    ----------
    from_one
        Tries allowed within ``per_s`` from one address.
    from_all
        Tries allowed within ``per_s`` from all addresses together; None is any number.
    per_s
        The span [s].
    """

    def __init__(self, from_one: int, from_all: int | None = None, per_s: float = PER_S) -> None:
        self._per_s = per_s
        self._from_one = from_one
        self._lock = threading.Lock()
        self._by_address: dict[str, deque[float]] = {}
        self._all: deque[float] | None = None if from_all is None else deque(maxlen=from_all)

    def wait_s(self, address: str, now_s: float, *, known: bool = False) -> float:
        """Count a try at ``now_s`` and return 0, or return how long to wait before one is allowed [s].

        ``known`` says that what tries is no stranger, whatever its address.
        """
        with self._lock:
            own = self._by_address.pop(address, None)
            if own is None:
                if len(self._by_address) >= _MOST_ADDRESSES:
                    self._by_address.pop(next(iter(self._by_address)))
                own = deque(maxlen=self._from_one)
            self._by_address[address] = own  # at the end: the most recent one
            counted = [own] if self._all is None or known or address in _LOOPBACK else [own, self._all]
            wait_s = max(self._wait_s(tries, now_s) for tries in counted)
            if wait_s > 0:
                return wait_s
            for tries in counted:
                tries.append(now_s)
            return 0.0

    def forget(self, address: str) -> None:
        """Forget the tries of one address."""
        with self._lock:
            self._by_address.pop(address, None)

    def _wait_s(self, tries: deque[float], now_s: float) -> float:
        """Return how long until the oldest of a full count is ``per_s`` ago [s]; not above 0 where one is allowed."""
        return tries[0] + self._per_s - now_s if len(tries) == tries.maxlen else 0.0
