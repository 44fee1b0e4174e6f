"""A firing that is over, as the kiln is learned from it: what was planned, what ran, and the trace."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import NamedTuple

from daemon.firing.alerts.registry import KINDS
from daemon.firing.energy.tonight import WARMEST_ROOM_C
from daemon.firing.events import Rank
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.natural_fall import is_unpowered
from daemon.kiln.opened import shut_for

_SETTLES_S = 180.0
"""A fall is looked at from so long after it began [s]. [chosen: the elements' own heat, and the probe's lag]"""
_NEAR_END_S, _NEAR_END_K = 120.0, 8.0
"""And up to so long and so far before its end. [chosen: the controller heats again a little above its set-point]"""
_LOWEST_C = 42.0
"""Below this nothing is learned of a fall [°C]. [common practice: the kiln is opened]"""
_LEAST_K, _LEAST_ROWS = 40.0, 8
"""A fall shorter than this teaches nothing [K, readings]. [chosen: a few times what a probe wanders]"""
_UP_AGAIN_K = 6.0
"""A fall ends where the reading rises by more than this above its lowest [K]. [chosen: more than noise of a minute's
mean; the elements heat again, or a lid was shut]"""
_KEPT = 0.85
"""A kiln that falls at less than this share of its planned rate falls by itself.
[from: daemon.firing.verdict.cooldown_forecast._SLOWER_THAN_PLANNED]"""
_LED_ROWS = 20
"""That is seen in the middle of so many readings. [chosen: twice as long as a slope]"""
_OF_POWER = frozenset(kind.name for kind in KINDS if kind.is_of_power)
_SLOPE_ROWS = 5
"""Readings on each side of a slope. [chosen: ten minutes in all]"""


class Ran(NamedTuple):
    """A part of the plan as it ran [s of firing]."""

    part: int
    """Which of the planned parts, from 0."""
    start_s: float
    end_s: float

    @property
    def took_s(self) -> float:
        """Return how long it went on [s]."""
        return self.end_s - self.start_s


@dataclass(frozen=True)
class PastFiring:
    """What the kiln is learned from."""

    planned: Sequence[PlannedPart]
    ran: Sequence[Ran]
    """The parts that began and ended, as the follower dated them."""
    trace: Sequence[tuple[float, float]]
    """(second, temperature [°C]), about one a minute; not empty."""
    is_quiet: bool = True
    """Whether nothing was told that speaks against what it shows of the kiln (``is_quiet`` below). What the watches
    take for usual is learned from such firings only."""
    slopes: list[float] = field(init=False)
    """How fast it rises at each reading [K/s], over ten minutes."""

    def __post_init__(self) -> None:
        """Reckon the slopes once."""
        last = len(self.trace) - 1
        object.__setattr__(self, "slopes", [
            _slope(self.trace[max(0, i - _SLOPE_ROWS)], self.trace[min(last, i + _SLOPE_ROWS)])
            for i in range(len(self.trace))])

    @property
    def room_c(self) -> float:
        """Return the temperature of the room [°C]: the first reading, where the kiln was cold; else assumed."""
        first_c = self.trace[0][1]
        return first_c if first_c < WARMEST_ROOM_C else ASSUMED_ROOM_C

    def rows(self, from_s: float, to_s: float) -> list[int]:
        """Return the places in the trace of the readings between two times."""
        return [i for i, (t_s, _) in enumerate(self.trace) if from_s <= t_s <= to_s]

    def unpowered_falls(self) -> list[list[int]]:
        """Return the stretches of the trace in which the kiln fell without power, as places in it."""
        found: list[list[int]] = []
        for ran in self.ran:
            planned = self.planned[ran.part]
            if not is_unpowered(planned):
                continue
            is_last = ran.part == len(self.planned) - 1
            rows = self.rows(ran.start_s + _SETTLES_S, ran.end_s - (0.0 if is_last else _NEAR_END_S))
            lowest_c = max(planned.to_c + (0.0 if is_last else _NEAR_END_K), _LOWEST_C)
            stretch = self._one_fall(self._by_itself(rows, planned), lowest_c)
            if len(stretch) >= _LEAST_ROWS and (
                    self.trace[stretch[0]][1] - self.trace[stretch[-1]][1] > _LEAST_K):
                found.append(stretch)
        return found

    def _by_itself(self, rows: list[int], planned: PlannedPart) -> list[int]:
        """Return the rows from where on the kiln falls more slowly than planned: before, the controller leads it.

        At a steady rate the fall seems slow for its distance from the room at first, and ever faster.
        """
        if planned.rate_c_per_h is None:
            return rows
        kept_k_per_s = _KEPT * abs(planned.rate_c_per_h) / 3600
        for at in range(len(rows)):
            if -median(self.slopes[i] for i in rows[at:at + _LED_ROWS]) < kept_k_per_s:
                return rows[at:]
        return []

    def _one_fall(self, rows: Sequence[int], lowest_c: float) -> list[int]:
        """Return the rows of the longest stretch below the highest reading in which the kiln stayed shut.

        It ends where the reading rises again, and where a lid was opened; after that nothing is looked at.
        """
        if not rows:
            return []
        first = max(rows, key=lambda i: self.trace[i][1])
        stretches, found, lowest = list[list[int]](), list[int](), self.trace[first][1]
        for i in range(first, rows[-1] + 1):
            temp_c = self.trace[i][1]
            if temp_c < lowest_c:
                break
            lowest = min(lowest, temp_c)
            if temp_c > lowest + _UP_AGAIN_K:
                stretches.append(found[:-_SLOPE_ROWS])
                found, lowest = [], temp_c
            found.append(i)
        shut = list[list[int]]()
        for stretch in (*stretches, found):
            shut.append(self._while_shut(stretch))
            if len(shut[-1]) < len(stretch):
                break
        return max(shut, key=len)

    def _while_shut(self, rows: list[int]) -> list[int]:
        """Return the rows of a fall until the kiln was opened."""
        times_s = [self.trace[i][0] for i in rows]
        return rows[:shut_for(times_s, [self.trace[i][1] - self.room_c for i in rows])]


def is_quiet(told: Iterable[tuple[str, str]]) -> bool:
    """Return whether nothing was told that speaks against what a firing shows of the kiln.

    No wake, and no look at its power. A look inside is told as well, and changes nothing of what the elements can do.

    Parameters
    ----------
    told
        Kind and rank of every alert of the firing.
    """
    return not any(rank == Rank.WAKE.value or (rank == Rank.LOOK.value and kind in _OF_POWER) for kind, rank in told)


def _slope(a: tuple[float, float], b: tuple[float, float]) -> float:
    return (b[1] - a[1]) / (b[0] - a[0]) if b[0] > a[0] else 0.0
