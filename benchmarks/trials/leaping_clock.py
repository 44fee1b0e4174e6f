"""A clock that leaps to the next second instead of waiting, for trials of the daemon over long times."""

from __future__ import annotations

from datetime import datetime, timedelta


class LeapingClock:
    """A firing clock that is at any second as soon as somebody sleeps until then.

    Parameters
    ----------
    begins_utc
        Wall time at second ``now_s``.
    now_s
        Second at which it begins [s].
    boot_id
        Which run of the clock it is.
    """

    speed = 1.0

    def __init__(self, begins_utc: datetime, now_s: float = 0.0, boot_id: str = "leaping") -> None:
        self.boot_id = boot_id
        self._zero_utc = begins_utc - timedelta(seconds=now_s)
        self._now_s = now_s

    def now_s(self) -> float:
        """Return the second that it is."""
        return self._now_s

    def utc(self) -> datetime:
        """Return the wall time, in UTC."""
        return self._zero_utc + timedelta(seconds=self._now_s)

    def synchronised(self) -> bool:
        """Return that the wall clock is set."""
        return True

    def sleep_until(self, deadline_s: float) -> None:
        """Be there."""
        self._now_s = max(self._now_s, deadline_s)
