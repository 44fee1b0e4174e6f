"""A hold goes on long past its planned time.

At the top the glass flows and hazes longer than planned, so that wakes; a squeeze or another hold is a look, and the
anneal, where more time does no harm, is only noted. A controller that waits for the kiln to reach its target makes
every hold longer than planned: only what is late by a quarter of an hour, or by half of a longer hold, counts, and by
as much again as an earlier hold of the same firing was late. It counts from when the kiln had come to its level. A
hold that was left for less than half an hour, in which the kiln stayed within 40 K of it, and taken up again counts
from its first time: the glass flows on meanwhile. A top that reads lower than its target, by a probe whose usual
difference no other hold has shown, is a look: the controller may still wait for it, and glass that is not as hot as
planned is not overfired.

It is not raised for the plan's last part, after which the controller may hold for as long as it likes; nor far from
the target, where the follower has only not seen yet that the hold is over; nor for a weak kiln that is still on its
way up to the hold and creeps through its last kelvins for hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from daemon.firing.detection.rate_test import LIKELY
from daemon.firing.durations import whole_minutes
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.near_target import NEAR_KNOWN_K
from daemon.firing.plan.schedule import PlannedPart, way_to
from daemon.firing.situation.hold_measure import at_level_s
from daemon.firing.situation.view import NEVER_NEAR_K, View
from daemon.firing.speaker import ELECTRIC, Speaker

_LATE_S, _LATE_SHARE = 900.0, 0.5
"""A hold is overrun where it is late by so many seconds, and by this share of its time. [tuned: by trial on the
bench, study not kept]"""
_WAITS_MOST_S = 1800.0
"""A controller is taken to wait for so long at most [s]; a hold that was later was overrun itself.
[chosen: the slowest climb's last kelvins, and a thick sensor behind them]"""
_FAR_OFF_K = NEVER_NEAR_K
"""Further from its target than this the kiln is in no hold any more [K].
[from: daemon.firing.situation.view.NEVER_NEAR_K]"""
_CREEP_WINDOW_S, _CREEP_C_PER_H, _CREEP_BELOW_K = 3600.0, 4.0, 2.0
"""A kiln that climbs by so much over so long, so far below its target, is weak and still on its way [s, °C/h, K].
[tuned: by trial on the bench, study not kept]"""


class Place(StrEnum):
    """Which hold goes on."""

    TOP = "top"
    ANNEAL = "anneal"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class HoldOverrun:
    """A hold that goes on."""

    over_s: float
    """How long it goes on past its time [s]."""
    asked_s: float
    """How long the plan holds [s]."""
    hold_c: float
    temp_c: float
    place: Place = Place.OTHER


def hold_overrun(view: View) -> Finding[HoldOverrun] | None:
    """Return the finding where a hold goes on long past its time."""
    part, present = view.part, view.present_hold
    if part is None or present is None:
        return None
    if abs(view.temp_c - view.offset_k - part.to_c) > _FAR_OFF_K:
        return None  # after a hole the follower comes late: this is no hold any more
    over_s = view.t_s - part.duration_s - min(run.start_s for run in view.found if (
        run.index == part.index and _is_taken_up(view, part, view.ended_s(run), present.start_s)))
    least_s = max(_LATE_S, _LATE_SHARE * part.duration_s) + _waits_s(view, part)
    if way_to(view.parts, part) > 0:
        over_s -= at_level_s(view.trail, present.start_s, view.t_s) - present.start_s
    if over_s < least_s:
        return None
    if view.next_part is None or _creeps_up(view, part):
        return None
    reached = view.offset_elsewhere_k is not None or view.temp_c > part.to_c - NEAR_KNOWN_K
    top, anneal = part is view.top, part is view.anneal
    rank = Rank.LOG if anneal else Rank.WAKE if top and reached else Rank.LOOK
    place = Place.ANNEAL if anneal else Place.TOP if top else Place.OTHER
    facts = HoldOverrun(over_s, part.duration_s, part.to_c, view.temp_c, place)
    return Finding(KIND, rank, view.t_s - over_s, facts, part.step)


def _is_taken_up(view: View, hold: PlannedPart, left_s: float, back_s: float) -> bool:
    """Return whether a hold that was left at ``left_s`` and taken up again at ``back_s`` [s] is one stay.

    (Weighed: any stay that is taken up again. A kiln that cooled down for twenty minutes without power has not held
    its glass at the top meanwhile.)
    """
    meanwhile = view.trail.temps[view.trail.index_at(left_s):view.trail.index_at(back_s)]
    lowest_c = min(meanwhile, default=view.temp_c) - view.offset_k
    return back_s - left_s < _WAITS_MOST_S and lowest_c > hold.to_c - _FAR_OFF_K


def _waits_s(view: View, hold: PlannedPart) -> float:
    """Return how much longer than planned this controller made an earlier hold that it had climbed to [s]."""
    late_s = [run.end_s - run.start_s - view.parts[run.index].duration_s
              for run in view.found if run.part == "hold" and run.end_s is not None and run.index < hold.index]
    return min(max([0.0, *late_s]), _WAITS_MOST_S)


def _creeps_up(view: View, hold: PlannedPart) -> bool:
    """Return whether the kiln is still on its way up to the hold: a weak one takes hours for the last kelvins."""
    line = view.line(_CREEP_WINDOW_S, view.resumed_s)
    if line is None or way_to(view.parts, hold) <= 0:
        return False
    short_c = hold.to_c - (view.temp_c - view.offset_k)
    creeps = line.slope_c_per_s * 3600 > max(_CREEP_C_PER_H, LIKELY * view.error_c_per_h(line))
    return short_c > view.near_k or (creeps and short_c > _CREEP_BELOW_K)


_MEANING = {
    Place.TOP: "The glass flows on, and every minute can add haze.",
    Place.ANNEAL: "More time at the anneal does no harm.",
    Place.OTHER: "The step does more than planned.",
}
"""What a hold that goes on means for the glass."""


_SWITCHED_OFF = {True: "The glass has had its anneal hold.", False: "The glass then needs its anneal another day."}
"""What a kiln that is switched off there means for the glass: in the anneal, and before it."""


def _words(finding: Finding[HoldOverrun], speaker: Speaker) -> Text:
    facts = finding.facts
    head = (f"Hold at {speaker.temp(facts.hold_c)} goes on, {whole_minutes(facts.over_s)} over its "
            f"{facts.asked_s / 60:.0f}.")
    return speaker.text(
        what=f"{head} The kiln is at {speaker.temp(facts.temp_c)}.", head=head,
        meaning=_MEANING[facts.place], caution=ELECTRIC,
        acts=("Look at the controller. Does it wait or still hold? Go on to its next step.",
              "Is it dark, or does it not go on? Switch off at the isolator, the kiln's main switch, and leave the "
              f"kiln closed. {_SWITCHED_OFF[facts.place is Place.ANNEAL]}"),
    )


KIND = Kind(
    name="hold-overrun",
    title="hold too long",
    watch=AtBeats(lambda setup: hold_overrun),
    words=_words,
    examples=(Example(HoldOverrun(1200.0, 600.0, 800.0, 801.0, Place.TOP), "the top"),
              Example(HoldOverrun(1800.0, 1800.0, 670.0, 671.0), "another hold", Rank.LOOK),
              Example(HoldOverrun(2700.0, 3600.0, 516.0, 517.0, Place.ANNEAL), "the anneal", Rank.LOG)),
    on_delay_s=20.0, off_delay_s=180.0,
    family=Family.PLAN,
    explained_by=(Saying.LENGTHENED,),
)
