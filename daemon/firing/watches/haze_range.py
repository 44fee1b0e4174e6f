"""The load has been in the haze range for longer than its plan implies.

In that range glass may haze or crystallise, first where it is dirty or ground. Nothing can be done about it at night,
so the alert is only noted. It is not raised while the kiln is far below the range: what was to be said of it could be
said before.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.durations import whole_minutes
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtBeats, Example, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.speaker import Speaker
from daemon.glass.exposure import HAZE_C

_MORE_TIMES, _MORE_S = 1.3, 600.0
"""The time in the range may be so many times the planned one, and so many seconds more. [tuned: by trial on the
bench, study not kept]"""
_NEAR_K = 60.0
"""It is told no further below the range than this [K]. [tuned: by trial on the bench, study not kept]"""


def planned_haze_s(parts: tuple[PlannedPart, ...]) -> float:
    """Return how long the plan itself stays in the haze range [s]; free ramps as they are guessed."""
    low, high = HAZE_C
    whole = 0.0
    for part in parts:
        bottom, top = min(part.from_c, part.to_c), max(part.from_c, part.to_c)
        if part.part == "hold":
            whole += part.duration_s if low <= part.to_c <= high else 0.0
        elif top > bottom:
            whole += part.duration_s * max(0.0, min(top, high) - max(bottom, low)) / (top - bottom)
    return whole


@dataclass(frozen=True, slots=True)
class HazeRange:
    """A load that was long in the haze range."""

    haze_s: float
    planned_s: float
    """How long the plan itself stays there [s]."""


def haze_range(view: View) -> Finding[HazeRange] | None:
    """Return the finding where the load has been longer in the haze range than the plan implies."""
    if view.temp_c < HAZE_C[0] - _NEAR_K:
        return None
    planned_s = planned_haze_s(view.parts)
    if view.haze_s <= _MORE_TIMES * planned_s + _MORE_S:
        return None
    return Finding(KIND, Rank.LOG, view.t_s - view.haze_s, HazeRange(view.haze_s, planned_s))


def _words(finding: Finding[HazeRange], speaker: Speaker) -> Text:
    facts, (low_c, high_c) = finding.facts, HAZE_C
    what = (f"{whole_minutes(facts.haze_s)} between {speaker.temp(low_c)} and {speaker.temp(high_c)}, planned about "
            f"{facts.planned_s / 60:.0f}.")
    return speaker.text(
        what=what, head=what,
        meaning="Haze forms there, first on dirt and ground edges.",
        acts=("Nothing now. When the piece is out, look at its surface and note it.",),
    )


KIND = Kind(
    name="haze-range",
    title="long in the haze range",
    watch=AtBeats(lambda setup: haze_range),
    words=_words,
    examples=(Example(HazeRange(4200.0, 1800.0), rank=Rank.LOG),),
    on_delay_s=60.0, off_delay_s=600.0,
)
