"""The reading does not move at all, not even in its last digit, though its noise was seen before.

Mechanism. The white noise of this firing's own readings, measured by their second differences, is compared with the
grain, the smallest step between two of them. A reading with such noise repeats the one before it by chance with a
known probability, wherever the kiln stands between two steps and whether it moves or not. So it is known how many
equal readings in a row are no kiln's.

Two measures tell the noise. Where it is well above the grain, readings that differ from the one before them tell it.
Where it is about as large as the grain, as for a logger of whole degrees, they do not: one that stands between two of
its steps goes back and forth by the least noise. There it is told by how many second differences are three grains or
more. What goes back and forth by less than a grain never bends by more than two, wherever it stands and however it
climbs. The noise is then taken for half of that: it may have become less with the power of the elements.

Where neither shows noise, as for a logger of whole degrees with a quiet wire in a well-held hold or on a cold kiln,
equal readings say nothing, and none are judged. Nor are they where a logger of half minutes climbs so fast that no
small step is seen. A device that is asked more often than it measures repeats itself ordinarily, so a run must also
be several times as long as any before it.

Weighed against it: to learn how often a reading repeats the one before it, and to judge a run by that share. On a
climb a logger of whole degrees repeats itself two times in three, which makes five minutes of one value look
impossible; the hold that follows shows one value for an hour. What is learned in the one says nothing of the other.
A kiln that must move and whose noise cannot be seen is left to not-climbing and not-cooling.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, repeat
from math import erf, inf, log, sqrt
from statistics import NormalDist, median

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
"""So many readings tell noise and grain: at least, and the last ones at most.
[chosen: enough for a median; 200 readings are a quarter of an hour of a logger of 5 s]"""
_BENT_GRAINS = 2.5
"""A second difference of more grains is one that no noise of less than a grain makes: those are whole grains, and two
at most. [derived: |a − 2b + c| of two neighbouring steps]"""
_ROUNDED_GRAINS_2 = 0.5
"""Variance that rounding to whole grains adds to a second difference [grains²].
[derived: (1 + 4 + 1) / 12, of three errors evenly spread over a grain]"""
_MOST_BENT_SHARE = 0.98
"""Beyond this share of such second differences the noise is as good as infinite. [chosen: 50 grains]"""
_MAY_BE_LESS = 0.5
"""The noise may have become so many times what it was. [chosen: a hold takes half of full power or less]"""
_CHANCE = 1e-7
"""So seldom a run of equal readings may be chance. [chosen: a firing has some 10,000 readings, and kilns fire 100
times a year]"""
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
        self._before_c: deque[float] = deque(maxlen=_MOST)
        """The last readings before the present run, those of frozen runs left out [°C]."""
        self._least_readings: float | None = None
        """How many equal readings no kiln makes; None until it is asked."""

    def see(self, now: Reading) -> Finding[ReadingFrozen] | None:
        """Return the finding while the reading is frozen."""
        t_s, temp_c = now.sample.t_s, now.sample.temp_c
        if temp_c is None:
            return None
        if temp_c != self._run_c or t_s - self._last_s > now.trail.longest_step_s:
            self._begin_run(t_s, temp_c)
        self._last_s = t_s
        self._number += 1
        if not self._is_frozen():
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
            if self._number == 1:
                self._before_c.append(self._run_c)  # as nearly always
            else:
                self._before_c.extend(repeat(self._run_c, min(self._number, _MOST)))
        if temp_c != self._run_c:
            self._different_c.append(temp_c)
            self._least_readings = None
        self._run_from_s, self._run_c, self._number = t_s, temp_c, 0

    def _is_frozen(self) -> bool:
        """Return whether the present run of equal readings is one that no kiln makes."""
        if self._number < LEAST_READINGS:
            return False
        if self._last_s - self._run_from_s < max(FROZEN_AFTER_S, _TIMES_ORDINARY * self._longest_s):
            return False
        if self._least_readings is None:
            seen = is_noise_seen(tuple(self._different_c))
            self._least_readings = LEAST_READINGS if seen else least_readings(tuple(self._before_c))
        return self._number >= self._least_readings


def is_noise_seen(readings_c: Sequence[float]) -> bool:
    """Return whether the noise of readings that all differ from their neighbours [°C] stands out from their grain."""
    if len(readings_c) < _LEARNED_FROM:
        return False
    bends_k = [abs(a - 2.0 * b + c) for a, b, c in zip(readings_c, readings_c[1:], readings_c[2:], strict=False)]
    steps_k = [abs(after - before) for before, after in pairwise(readings_c)]
    return NOISE_PER_BEND * median(bends_k) >= NOISE_GRAINS * min(steps_k)


def bent_noise_grains(readings_c: Sequence[float]) -> float:
    """Return the white noise of readings [°C], repeats and all, in grains; 0 where they are too few or show none.

    It is told by the share of second differences above _BENT_GRAINS, as normal noise that is rounded has it.
    """
    steps_k = [step_k for before, after in pairwise(readings_c) if (step_k := abs(after - before)) > 0.0]
    if len(readings_c) < _LEARNED_FROM or not steps_k:
        return 0.0
    least_k = _BENT_GRAINS * min(steps_k)
    bent = sum(abs(a - 2.0 * b + c) > least_k for a, b, c in zip(readings_c, readings_c[1:], readings_c[2:],
                                                                 strict=False))
    if not bent:
        return 0.0
    share = min(_MOST_BENT_SHARE, bent / (len(readings_c) - 2))
    sds = NormalDist().inv_cdf(1.0 - share / 2)
    return sqrt(max(0.0, (_BENT_GRAINS / sds) ** 2 - _ROUNDED_GRAINS_2) / 6)


def least_readings(readings_c: Sequence[float]) -> float:
    """Return how many equal readings in a row are no chance after ``readings_c`` [°C]; infinite where none are.

    A reading repeats the one before it most often where the kiln stands in the middle of a grain.
    """
    noise_grains = _MAY_BE_LESS * bent_noise_grains(readings_c)
    if not noise_grains:
        return inf
    repeats = erf(0.5 / (sqrt(2.0) * noise_grains))
    return max(LEAST_READINGS, log(_CHANCE) / log(repeats)) if repeats < 1.0 else inf


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
