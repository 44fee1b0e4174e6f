"""The contact comes and goes: many losses of temperature in a while, told once and not each by itself.

A loss is a stretch of entries without a temperature. One by one they are too short to be told, or each would be a
look of its own; this alert tells them all, and a look that told of one before stands under it. One that lasts so long
that blindness itself wakes is told by its own kind. Missing rows are no loss: where nothing was written the contact
was not seen. Nor is it one where a false scale reads hotter than any kiln (sensor-fault): there the range of the chip
ends, and the contact is good.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from daemon.firing.detection.blindness import LOOK_AFTER_S, WAKE_AFTER_S
from daemon.firing.durations import seconds_or_minutes, whole_minutes
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtReadings, Example, Family, Finding, Kind, Reading, Stage
from daemon.firing.speaker import ELECTRIC, OWN_DISPLAY, SENSOR_OUTSIDE, Speaker

MANY = ((0.0, 4, 600.0), (0.0, 6, 3600.0), (LOOK_AFTER_S, 3, 3600.0))
"""Losses at least so long [s], so many of them, within so long [s].

On simulated kilns, not ours, a sound probe lost a few seconds 0.1 times an hour, one beside a contactor 0.5 times
(232 in 2286 h, 108 in 209 h). At 0.5 an hour a Poisson process makes four in a given ten minutes with probability
2e-6 and six in a given hour with 2e-5: in one firing of some thousands.
[derived: the losses of sound probes as a Poisson process]
"""
BLIND_WITHIN_S = 600.0
"""Blind for WAKE_AFTER_S in so long is as bad as blind for WAKE_AFTER_S at a time [s].
[chosen: 40 % of the time, so that a probe that is read more often than not wakes nobody]"""
_MOST_LOSSES = 512
"""So many losses are remembered. [chosen: bounds the memory; so many in an hour are many in any case]"""
_SHORTEST_TOLD_S = 60.0
"""The losses lie apart by at least so much when they are told [s]. [chosen: "in 0 min" says nothing]"""


class _Loss(NamedTuple):
    """A stretch of entries without a temperature [s]."""

    from_s: float
    to_s: float

    def within(self, from_s: float) -> float:
        """Return how much of it lies after ``from_s`` [s]."""
        return max(0.0, self.to_s - max(self.from_s, from_s))


@dataclass(frozen=True, slots=True)
class ReadingFlickers:
    """A temperature that comes and goes."""

    losses: int
    within_s: float
    """How long the losses lie apart, the first to the last [s]."""
    blind_s: float
    """How long there was no temperature in them [s]."""


class FlickerWatch:
    """Remembers the losses of an hour; sees every entry."""

    def __init__(self) -> None:
        self._losses: deque[_Loss] = deque(maxlen=_MOST_LOSSES)
        self._lost_s: float | None = None
        """When the present loss began [s]; None where there is a temperature."""
        self._since_s: float | None = None
        """When the flicker that is told began [s]."""

    def see(self, now: Reading) -> Finding[ReadingFlickers] | None:
        """Return the finding while the temperature has come and gone often enough."""
        t_s = now.sample.t_s
        self._take(now)
        if not self._losses or now.too_hot_for_any is not None:  # as nearly always; or the chip's range has ended
            self._since_s = None
            return None
        many = next((losses for losses in self._often(t_s) if losses), None)
        if many is None:
            self._since_s = None
            return None
        if self._since_s is None:
            self._since_s = many[0].from_s
        facts = ReadingFlickers(len(many), max(_SHORTEST_TOLD_S, many[-1].to_s - many[0].from_s),
                                sum(loss.to_s - loss.from_s for loss in many))
        # A loss that lasts is told by its own kind.
        blind_s = sum(loss.within(t_s - BLIND_WITHIN_S) for loss in self._losses)
        is_wake = now.is_blindness_dangerous and blind_s >= WAKE_AFTER_S
        return Finding(KIND, Rank.WAKE if is_wake else Rank.LOOK, self._since_s, facts)

    def _take(self, now: Reading) -> None:
        """Begin a loss where the temperature is gone, and end it where it is back."""
        t_s = now.sample.t_s
        if now.sample.temp_c is None:
            if self._lost_s is None:
                self._lost_s = t_s
        elif self._lost_s is not None:
            self._losses.append(_Loss(self._lost_s, t_s))
            self._lost_s = None

    def _often(self, t_s: float) -> Iterator[list[_Loss]]:
        """Yield, for each row of MANY, the losses that make it; none where they are too few."""
        while self._losses and self._losses[0].to_s < t_s - max(within_s for _, _, within_s in MANY):
            self._losses.popleft()
        if not self._losses:
            return
        present = () if self._lost_s is None else (_Loss(self._lost_s, t_s),)
        for least_s, number, within_s in MANY:
            losses = [loss for loss in (*self._losses, *present)
                      if loss.to_s >= t_s - within_s and loss.to_s - loss.from_s >= least_s]
            yield losses if len(losses) >= number else []


def _words(finding: Finding[ReadingFlickers], speaker: Speaker) -> Text:
    facts = finding.facts
    what = f"Reading lost {facts.losses} times in {whole_minutes(facts.within_s)}, it comes and goes."
    return speaker.text(
        what=what, head=what,
        meaning="A plug or a wire is loose, or the sensor is breaking. It may fail for good. What is read in between "
                f"is right. In the gaps, {seconds_or_minutes(facts.blind_s)} in all, Lehrling is blind.",
        acts=(OWN_DISPLAY, speaker.display_tells(), SENSOR_OUTSIDE), caution=ELECTRIC,
    )


KIND = Kind(
    name="reading-flickers",
    title="reading comes and goes",
    watch=AtReadings(Stage.ENTRY, lambda setup: FlickerWatch().see),
    words=_words,
    examples=(Example(ReadingFlickers(5, 540.0, 60.0), "short losses", Rank.LOOK),
              Example(ReadingFlickers(7, 600.0, 300.0), "blind for much of the time")),
    on_delay_s=0.0, off_delay_s=600.0,
    explains=(Family.BLIND,),
    covers_looks=True,
    gathers=("sensor-fault",),
    is_of_probe=True,
    rises_within_s=0.0,  # a loss that lasts speaks for itself at once
)
