"""The reading does not move at all, not even in its last digit, though its noise was seen before.

Mechanism. The white noise of this firing's own readings, measured by their second differences, is compared with the
grain, the smallest step between two of them. Where the noise is well above the grain a reading repeats the one before
it by chance with a known small probability, wherever the kiln stands between two steps and whether it moves or not; a
run of many equal readings is then no kiln's. Where it is not, as for a logger of whole degrees in a well-held hold or
on a cold kiln, equal readings say nothing, and none are judged. Nor are they where a logger of half minutes climbs so
fast that no small step is seen. A device that is asked more often than it measures repeats itself ordinarily, so a
run must also be several times as long as any before it.

Weighed against it: to learn how often a reading repeats the one before it, and to judge a run by that share. On a
climb a logger of whole degrees repeats itself two times in three, which makes five minutes of one value look
impossible; the hold that follows shows one value for an hour. What is learned in the one says nothing of the other.
A kiln that must move and whose noise cannot be seen is left to not-climbing and not-cooling.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from statistics import median

from daemon.firing.detection.blindness import WAKE_AFTER_S
from daemon.firing.durations import in_speech
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtReadings, Example, Family, Finding, Kind, Reading, Stage, Vaguer
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.situation.probe_doubt import Cause, FalseReading
from daemon.firing.speaker import ELECTRIC, NOT_WATCHED, OWN_DISPLAY, SENSOR_OUTSIDE, Speaker

FROZEN_AFTER_S = 180.0
"""A run of equal readings must last so long [s].
[chosen: a stall of the kiln, which it must be told from, is told no sooner than after four minutes]"""
NOISE_GRAINS = 3.0
"""Noise that measures so many grains can be seen. Less than 1.5 grains of true noise never measure as much, and from
there on two readings in a row are equal with probability 0.19 at most: the density of their difference at 0,
1/(2·√π·σ), times the grain. What a logger of whole degrees shows between two of them measures 1.21 grains.
[derived: the probability of an equal reading]"""
LEAST_READINGS = 9
"""So many readings make a run: by chance one of 9 begins once in 600,000 readings. [derived: 0.19 to the 8th]"""
NOISE_PER_BEND = 0.6053
"""Standard deviation of white noise per median of |second difference|.
[derived: 1/(0.6745·√6), 0.6745 the quartile of the normal distribution]"""
_LEARNED_FROM, _MOST = 100, 200
"""So many readings, repeats left out, tell noise and grain: at least, and the last ones at most.
[chosen: enough for a median; 200 readings are a quarter of an hour of a logger of 5 s]"""
_TIMES_ORDINARY = 4.0
"""A frozen run is so many times as long as any before it. [common practice]"""


@dataclass(frozen=True, slots=True)
class ReadingFrozen:
    """A reading that does not move."""

    frozen_s: float
    """For how long [s]."""
    temp_c: float
    clock: ByClock | None = None
    """Where the plan is by its clock; None where that is not known."""


class FrozenWatch:
    """Learns the noise, the grain and the ordinary runs of equal readings of one firing; sees every entry."""

    def __init__(self) -> None:
        self._run_from_s = self._last_s = -inf
        self._run_c: float | None = None
        """The temperature of the present run [°C]; None where there is none."""
        self._number = 0
        """How many readings the present run has."""
        self._longest_s = 0.0
        """The longest run that was not frozen [s]."""
        self._different_c: deque[float] = deque(maxlen=_MOST)
        """The last readings that differed from the one before them [°C]."""
        self._is_noise_seen: bool | None = None
        """Whether their noise stands out from their grain; None until it is asked."""

    def see(self, now: Reading) -> Finding[ReadingFrozen] | None:
        """Return the finding while the reading is frozen."""
        t_s, temp_c = now.sample.t_s, now.sample.temp_c
        if temp_c is None:
            return None
        if temp_c != self._run_c or t_s - self._last_s > now.trail.longest_step_s:
            self._begin_run(t_s, temp_c)
        self._last_s = t_s
        self._number += 1
        if self._number < LEAST_READINGS or not self._is_frozen():
            return None
        frozen_s = t_s - self._run_from_s
        is_wake = now.is_blindness_dangerous and frozen_s >= WAKE_AFTER_S
        return Finding(KIND, Rank.WAKE if is_wake else Rank.LOOK, self._run_from_s,
                       ReadingFrozen(frozen_s, temp_c, now.by_the_clock(self._run_from_s, t_s)))

    def _begin_run(self, t_s: float, temp_c: float) -> None:
        """Begin a run at a reading [s, °C]; how long the one before it was counts unless it was frozen."""
        if self._run_c is not None and not self._is_frozen():
            lasted_s = self._last_s - self._run_from_s
            if lasted_s > self._longest_s:
                self._longest_s = lasted_s
        if temp_c != self._run_c:
            self._different_c.append(temp_c)
            self._is_noise_seen = None
        self._run_from_s, self._run_c, self._number = t_s, temp_c, 0

    def _is_frozen(self) -> bool:
        """Return whether the present run of equal readings is one that no kiln makes."""
        if self._number < LEAST_READINGS:
            return False
        if self._last_s - self._run_from_s < max(FROZEN_AFTER_S, _TIMES_ORDINARY * self._longest_s):
            return False
        if self._is_noise_seen is None:
            self._is_noise_seen = is_noise_seen(tuple(self._different_c))
        return self._is_noise_seen


def is_noise_seen(readings_c: Sequence[float]) -> bool:
    """Return whether the noise of readings that all differ from their neighbours [°C] stands out from their grain."""
    if len(readings_c) < _LEARNED_FROM:
        return False
    bends_k = [abs(a - 2.0 * b + c) for a, b, c in zip(readings_c, readings_c[1:], readings_c[2:], strict=False)]
    steps_k = [abs(after - before) for before, after in pairwise(readings_c)]
    return NOISE_PER_BEND * median(bends_k) >= NOISE_GRAINS * min(steps_k)


def _words(finding: Finding[ReadingFrozen], speaker: Speaker) -> Text:
    facts = finding.facts
    stuck = in_speech(facts.frozen_s)
    return speaker.text(
        what=f"Reading stuck at {speaker.temp(facts.temp_c)} for {stuck}. Lehrling may be blind.",
        head=f"The reading is stuck for {stuck}. Lehrling may be blind.",
        meaning="Before, it changed a little all the time. The kiln may be at any temperature. " + NOT_WATCHED,
        acts=(OWN_DISPLAY, speaker.display_tells(facts.clock), SENSOR_OUTSIDE), caution=ELECTRIC,
    )


KIND = Kind(
    name="reading-frozen",
    title="reading stuck",
    watch=AtReadings(Stage.ENTRY, lambda setup: FrozenWatch().see),
    words=_words,
    examples=(Example(ReadingFrozen(300.0, 640.0), "climbing hot"),
              Example(ReadingFrozen(720.0, 320.0), "where it can wait", Rank.LOOK)),
    on_delay_s=0.0, off_delay_s=60.0,  # its seconds are counted before it is found
    explains=(Family.PLAN,),
    is_of_probe=True,
    disbelieves=lambda facts: FalseReading(Cause.FROZEN, facts.temp_c),
    may_replace=(Vaguer("not-climbing"), Vaguer("not-cooling")),  # a slow logger's, told before it
)
