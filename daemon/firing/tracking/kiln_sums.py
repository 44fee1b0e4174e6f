"""The sums of a firing's readings, from which the mean of a part is made without what somebody's look inside read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from daemon.firing.trace.recent import Trail


class Sums(NamedTuple):
    """All readings before a time."""

    t_s: float
    sum_c: float
    """[°C]"""
    number: int


class KilnSums:
    """Running sums of all readings, and of the looks inside among them; one object a firing."""

    def __init__(self, trail: Trail) -> None:
        self._trail = trail
        self._sum_c = 0.0
        self._number = 0
        self._looks: dict[float, tuple[Sums, Sums]] = {}
        """What was read before a look inside and up to its end, by when the readings had settled [s]."""

    def count_in(self, temp_c: float) -> None:
        """Take one reading [°C]."""
        self._sum_c += temp_c
        self._number += 1

    def now(self, now_s: float) -> Sums:
        """Return all readings so far."""
        return Sums(now_s, self._sum_c, self._number)

    def before(self, t_s: float) -> Sums:
        """Return the readings before ``t_s`` [s], which the trail still keeps."""
        since_c, since = self._trail.total(t_s)
        return Sums(t_s, self._sum_c - since_c, self._number - since)

    def leave_out(self, looks: Sequence[tuple[float, float]], now_s: float) -> None:
        """Take when somebody looked inside and when the readings had settled after it [s]; known ones may come again.

        A look that began before the readings had settled after the last one goes on from there.
        """
        for opened_s, settled_s in looks:
            if settled_s <= now_s and settled_s not in self._looks:
                from_s = max(opened_s, *self._looks, 0.0)
                self._looks[settled_s] = self.before(from_s), self.before(settled_s)
        while len(self._looks) > len(looks):
            del self._looks[next(iter(self._looks))]

    def mean_c(self, start: Sums, end: Sums) -> float | None:
        """Return the mean between two times without the looks between them [°C]; None without any other reading.

        Under an open lid the air is read, 100 K below brick and glass. A minute of it, and the minutes in which the
        sheath comes back, take 10 to 20 K off the mean of a short top.
        """
        sum_c, number = end.sum_c - start.sum_c, end.number - start.number
        for before, after in self._looks.values():
            if before.t_s < end.t_s and after.t_s > start.t_s:
                first, last = max(before, start), min(after, end)
                sum_c, number = sum_c - (last.sum_c - first.sum_c), number - (last.number - first.number)
        return sum_c / number if number > 0 else None
