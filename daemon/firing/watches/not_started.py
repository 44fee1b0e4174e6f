"""Start was pressed here, but the kiln does not warm up."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.durations import in_speech
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.situation.view import View
from daemon.firing.speaker import ELECTRIC, Speaker

NOT_STARTED_AFTER_S = 2700.0
"""A kiln that was started warms up within this [s]: even 40 °C/h make 30 K of it. [chosen: twice what _STARTED_K
needs at a slow climb]
"""
_STARTED_K = 15.0
"""A kiln this much warmer than at the start has begun to climb [K]; no room warms it so far. [common practice]"""


@dataclass(frozen=True, slots=True)
class NotStarted:
    """A firing that was started here but climbs nowhere."""

    temp_c: float
    waited_s: float


class NotStartedWatch:
    """Sees that the kiln is as cold as when start was pressed, 45 min later; remembers that it was found.

    The maker who pressed start here may have forgotten to press it at the controller. It is a look and never a wake:
    cold glass is in no danger. Nothing is raised once the follower has found the plan's first step, whatever the
    temperature, nor for a kiln that has warmed up by _STARTED_K, however slowly. What was found ends only once the
    kiln is as warm: as the room's temperature changes the follower may find a first step over and over.
    """

    def __init__(self) -> None:
        self._is_found = False

    def see(self, view: View) -> Finding[NotStarted] | None:
        """Return the finding as it stands at this beat."""
        waited_s, is_cold = view.t_s - view.first_s, view.temp_c <= view.first_c + _STARTED_K
        self._is_found = is_cold and (self._is_found or (view.state == 0 and waited_s >= NOT_STARTED_AFTER_S))
        return Finding(KIND, Rank.LOOK, view.first_s, NotStarted(view.temp_c, waited_s)) if self._is_found else None


def _words(finding: Finding[NotStarted], speaker: Speaker) -> Text:
    facts = finding.facts
    head = f"Not started, {in_speech(facts.waited_s)} after Start"
    return speaker.text(
        what=f"{head}. The kiln is at {speaker.temp(facts.temp_c)}.", head=f"{head}.",
        meaning="The controller may be on a delayed start, not started, or without power.",
        acts=("Look at the controller. If its start is delayed, all is well.",), caution=ELECTRIC,
    )


KIND = Kind(
    name="not-started",
    watch=AtBeats(lambda setup: NotStartedWatch().see),
    words=_words,
    examples=(Example(NotStarted(21.0, 2700.0), rank=Rank.LOOK),),
    on_delay_s=60.0, off_delay_s=60.0,
    family=Family.PLAN,
)
