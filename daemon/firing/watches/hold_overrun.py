"""A hold that goes on long past its time."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.speaker import ELECTRIC, Speaker

_FAR_OFF_K = 40.0
_CREEP_WINDOW_S, _CREEP_C_PER_H, _CREEP_BELOW_K = 3600.0, 4.0, 2.0
"""What climbs so much over so long, so far below its target, is a weak kiln on its way and no hold [s, °C/h, K]."""


@dataclass(frozen=True, slots=True)
class HoldOverrun:
    """A hold that goes on."""

    over_s: float
    """How long it goes on past its time [s]."""
    asked_s: float
    """How long the plan holds [s]."""
    hold_c: float
    temp_c: float


def hold_overrun(view: View) -> Finding[HoldOverrun] | None:
    """Return the finding where a hold goes on long past its time."""
    part = view.part
    if part is None or part.part != "hold" or not view.found or view.found[-1].index != part.index:
        return None
    if abs(view.temp_c - view.offset_k - part.to_c) > _FAR_OFF_K:
        return None  # after a hole the follower comes late: this is no hold any more
    over_s = view.t_s - view.found[-1].start_s - part.duration_s
    if over_s < max(900.0, 0.5 * part.duration_s):
        return None
    if view.next_part is None or _creeps_up(view, part):
        return None
    top = view.top is not None and part.index == view.top.index
    anneal = view.anneal is not None and part.index == view.anneal.index
    rank = Rank.WAKE if top else Rank.LOG if anneal else Rank.LOOK
    facts = HoldOverrun(over_s, part.duration_s, part.to_c, view.temp_c)
    return Finding(KIND, rank, view.t_s - over_s, facts, part.step)


def _creeps_up(view: View, hold: PlannedPart) -> bool:
    """Return whether the kiln is still on its way up to the hold: a weak one takes hours for the last kelvins."""
    line = view.line(_CREEP_WINDOW_S, view.resumed_s)
    if line is None or hold.index == 0 or view.parts[hold.index - 1].direction <= 0:
        return False
    short_c = hold.to_c - (view.temp_c - view.offset_k)
    creeps = line.slope_c_per_s * 3600 > max(_CREEP_C_PER_H, 2.0 * view.error_c_per_h(line))
    return short_c > view.near_k or (creeps and short_c > _CREEP_BELOW_K)


def _words(finding: Finding[HoldOverrun], speaker: Speaker) -> Text:
    facts = finding.facts
    return Text(
        what=f"The hold at {speaker.temp(facts.hold_c)} goes on: {facts.over_s / 60:.0f} min over its "
             f"{facts.asked_s / 60:.0f}, at {speaker.temp(facts.temp_c)}.",
        meaning="At the top the glass flows and hazes longer than planned; at the anneal it does no harm.",
        do=f"Look at the controller; advance the step if it waits. {ELECTRIC}",
    )


KIND = Kind(
    name="hold-overrun",
    watch=AtBeats(lambda setup: hold_overrun),
    words=_words,
    examples=(Example(HoldOverrun(1200.0, 600.0, 800.0, 801.0)),),
    on_delay_s=20.0, off_delay_s=180.0,
    family=Family.PLAN,
    explained_by=(Saying.LENGTHENED,),
    may_stand_under=("over-temperature", "not-cooling"),
)
