"""A hold ended too soon, or was passed over.

It is seen once the kiln has gone on: it has moved from where it was when the hold ended, as the plan's next ramp
does, and still moves. How long the hold lasted is the longer of two measures: since the kiln first came to the level
it then held, and how long the readings stood near the target or near their last level. An anneal cut short wakes, for
as long as the glass is in its annealing range; another hold is a look, told for half an hour.

The follower may miss an anneal that is passed over altogether, and go on taking the kiln for one that falls towards
it. So a fall that goes on below the anneal at the pace of the ramp after it is told as well.

It is not raised

- for a hold that lacks little: three minutes, 15 % of it, or two steps of a slow logger, whichever is most;
- for a hold that was joined in the middle, has a hole in its readings, or began before all that is remembered: how
  long it lasted was not seen;
- for an anneal below which the kiln comes to rest, as the end of a free fall does, which becomes slower all the time,
  or comes up again, as a controller does that swings about its hold, or a kiln that was cooled through its vents;
- for a fall past the anneal that is as fast as a free one: a kiln without power has its own watches;
- for a hold of less than five minutes.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.hold_end import (
    LEAVING_WINDOW_S,
    SETTLING_S,
    Ended,
    comes_to_rest,
    enough_s,
    hold_before,
    leaves,
    only_settles,
    swings,
)
from daemon.firing.durations import minutes_of, whole_minutes
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.example_firing import ANNEAL
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.level_doubt import is_below, may_be_at
from daemon.firing.situation.view import Interruption, View
from daemon.firing.speaker import DISPLAY_FIRST, FALLS_THERE, NO_POWER, STAYS_CLOSED, KeyIn, Speaker, Undone, until_s
from daemon.firing.trace.recent import KEEP_S
from daemon.firing.watches.cooling_too_fast import WAKE_TIMES

_WORTH_HOLDING_S = 300.0
"""A shorter hold is not asked after [s].
[tuned: by trial on the bench, study not kept]"""
_TOLD_FOR_S = 1800.0
"""A hold other than the anneal is told for so long after it ended [s].
[tuned: by trial on the bench, study not kept]"""
_PASSES_SHARE, _PASSES_C_PER_H, _PASSES_TIMES = 0.4, 5.0, WAKE_TIMES
"""A fall that passes the anneal is no slower than this share of the plan's next and than so many °C/h, and no faster
than it by so many times, from where cooling-too-fast wakes.
[tuned: by trial on the bench, study not kept]"""
_PASSING_WINDOW_S, _PASSED_FOR_S = 150.0, 120.0
"""Such a fall is measured over so long, and so long after it passed the anneal at the soonest [s].
[tuned: by trial on the bench, study not kept]"""


@dataclass(frozen=True, slots=True)
class HoldCutShort:
    """A hold that was left early or passed over."""

    held_s: float
    asked_s: float
    """How long the plan holds [s]."""
    hold_c: float
    temp_c: float
    undone: Undone | None
    """The anneal hold, where it is that; None for another hold."""
    is_enough: bool = False
    """Whether an anneal was held for long enough all the same (daemon/firing/consequence.py)."""
    fall_c_per_h: float | None = None
    """How fast the kiln falls; None where that is not known."""
    band_low_c: float | None = None
    """The lower end of the annealing range, where it is an anneal [°C]."""
    run_s: float = 0.0
    """How long the anneal was as a part that is told as measured [s]; ``held_s``, by which it is judged, may count
    from sooner. 0 where that is not known."""


def hold_cut_short(view: View) -> Finding[HoldCutShort] | None:
    """Return the finding where the last hold ended too soon, or was passed over."""
    if not view.found or view.swings_to_anneal:
        return None
    passed = _passed_anneal(view)
    if passed is not None:
        return passed
    ended, ramp = hold_before(view), view.parts[view.found[-1].index]
    if ended is None or ended.hold.duration_s < _WORTH_HOLDING_S:
        return None
    hold, held_s, left_s, _ = ended
    least_s = enough_s(hold)
    if held_s > least_s or view.dwell_s(hold, left_s) > least_s or left_s - held_s < _seen_from_s(view, hold):
        return None
    if not leaves(view, ramp, left_s):
        return None
    if view.anneal is None or hold.index != view.anneal.index:
        return None if view.t_s - left_s > _TOLD_FOR_S else _other_hold(view, ended)
    if may_be_at(view, hold) or view.temp_c < view.glass.band_low_c:
        return None
    if only_settles(view, ramp, left_s) or swings(view, left_s) or (
            ramp.rate_c_per_h is not None and comes_to_rest(view, hold, abs(ramp.rate_c_per_h))):
        return None
    return _anneal_cut_short(view, ended)


def _seen_from_s(view: View, hold: PlannedPart) -> float:
    """Return from when on the readings tell how long ``hold`` was held [s].

    They tell nothing of the time before a gap, nor of what the trail has forgotten after KEEP_S. A hold whose
    beginning is forgotten would look shorter with every reading that goes, though it was long enough. A hold that
    was planned as long as the memory counts from where the follower saw it begin.
    (Weighed: a hold that truly was too short, and is left for a slow ramp. Its beginning is still remembered when
    that is told, at the latest half an hour after its end.)
    """
    trail = view.trail
    return max(trail.unbroken_from_s, trail.times[0] + trail.step_s if hold.duration_s < KEEP_S else 0.0)


def _other_hold(view: View, ended: Ended) -> Finding[HoldCutShort]:
    """Return the look for a hold other than the anneal that ended too soon."""
    hold, held_s, left_s, _ = ended
    # Where the firing broke off in it, that is told already with how long it was held.
    broken = view.broken
    held_s = broken.held_s if broken is not None and broken.index == hold.index else max(
        held_s, view.dwell_s(hold, left_s))
    facts = HoldCutShort(held_s, hold.duration_s, hold.to_c, view.temp_c, None)
    return Finding(KIND, Rank.LOOK, left_s, facts, hold.step)


def _anneal_cut_short(view: View, ended: Ended) -> Finding[HoldCutShort]:
    """Return the wake for an anneal that ended too soon, and is to be mended."""
    hold, held_s, left_s, run_s = ended
    line = view.line(LEAVING_WINDOW_S, max(left_s, view.resumed_s))
    facts = HoldCutShort(held_s, hold.duration_s, hold.to_c, view.temp_c,
                         Undone(hold.index, held_s, view.temp_c - view.offset_k),
                         fall_c_per_h=None if line is None else max(0.0, -line.slope_c_per_s * 3600),
                         band_low_c=view.glass.band_low_c, run_s=run_s)
    return Finding(KIND, Rank.WAKE, left_s, facts, hold.step)


def _passed_anneal(view: View) -> Finding[HoldCutShort] | None:
    """Return the finding where the fall to the anneal goes on below it, before the follower has gone on.

    A fall that is still as fast as a free one is a kiln without power, which has its own watch.
    """
    part, anneal = view.part, view.anneal
    if part is None or anneal is None or part.direction >= 0 or not view.leads_to_anneal(part.index) or (
            anneal.duration_s < _WORTH_HOLDING_S or not is_below(view, anneal)):
        return None
    passed_s = view.last_at_or_above(anneal.to_c + view.offset_k)
    after, line = view.next_fall(anneal.index), view.line(_PASSING_WINDOW_S, view.resumed_s)
    if passed_s is None or after is None or line is None or view.t_s - passed_s < _PASSED_FOR_S:
        return None
    if passed_s < view.trail.unbroken_from_s or (view.progress is not None and view.progress.is_whole):
        return None  # it was held, though the follower did not see it, or may have been, in a hole
    fall, planned = -line.slope_c_per_s * 3600, view.governing_fall_c_per_h(after)
    settling = view.line(SETTLING_S, max(passed_s, view.resumed_s))
    if settling is not None:
        fall = min(fall, -settling.slope_c_per_s * 3600)
    least = max(_PASSES_C_PER_H, _PASSES_SHARE * planned)
    if not least <= fall <= _PASSES_TIMES * planned or comes_to_rest(view, anneal, planned):
        return None
    return _anneal_cut_short(view, Ended(anneal, 0.0, passed_s))


def _breaks_off(finding: Finding[HoldCutShort], view: View) -> Interruption | None:
    """Return where the firing broke off, if it was the anneal that ended too soon."""
    undone = finding.facts.undone
    return None if undone is None else Interruption(finding.since_s, undone.index, undone.held_s, view.temp_c)


def _words(finding: Finding[HoldCutShort], speaker: Speaker) -> Text:
    facts = finding.facts
    here, held = speaker.temp(facts.temp_c), minutes_of(facts.run_s or facts.held_s, facts.asked_s)
    asked = f" The plan holds {speaker.temp(facts.hold_c)} for {whole_minutes(facts.asked_s)}."
    if facts.undone is None:
        head = f"Hold at {speaker.temp(facts.hold_c)} ended after {held}"
        return speaker.text(
            what=f"{head}. The kiln is at {here}.", head=f"{head}.",
            meaning="The step did only part of its work. If you skipped it yourself, all is well.",
            acts=("Nothing now. Note it, and look at the controller in the morning.",))
    head = "Anneal was skipped" if facts.held_s < 60.0 else f"Anneal ended after {held}"
    if facts.is_enough:
        return speaker.text(
            what=f"{head}, now {here}.{asked}", head=f"{head}.",
            meaning="It was shorter than planned, but long enough for flat, even work of this thickness.",
            acts=("Nothing now. Leave it closed to cool.",
                  "When it is cold, look at it between crossed polarisers.",
                  "Is it uneven or precious? Anneal it again."))
    mending = speaker.mending(facts.undone)
    keys = speaker.key_in(mending) if mending else KeyIn(
        f"Key in the anneal again: {speaker.temp(facts.hold_c)}, hold {whole_minutes(facts.asked_s)}, then the "
        "planned cooling.")
    hold_s = next((line.hold_s for line in keys.lines if line.hold_s), facts.asked_s)
    # A load that needs longer than the plan gives is told one time only: that of the lines.
    is_longer = hold_s > facts.asked_s
    return speaker.text(
        what=f"{head}, kiln is at {here} and cooling.{'' if is_longer else asked}",
        head=f"{head}, and the kiln is cooling.",
        meaning="The glass is not annealed. If it cools now it may crack later. " + (
            f"It needs the whole {whole_minutes(hold_s)}: more than the plan gives, for this thickness." if is_longer
            else f"It needs the whole {whole_minutes(hold_s)} again, not only what was missing."),
        acts=(DISPLAY_FIRST, keys.after(FALLS_THERE), NO_POWER), caution=STAYS_CLOSED,
        time_left_s=until_s(facts.band_low_c, facts.temp_c, facts.fall_c_per_h) if facts.fall_c_per_h else None,
    )


KIND = Kind(
    name="hold-cut-short",
    title="hold too short",
    watch=AtBeats(lambda setup: hold_cut_short),
    words=_words,
    examples=(
        Example(HoldCutShort(0.0, 3600.0, 516.0, 505.0, Undone(ANNEAL, 0.0, 505.0), fall_c_per_h=80.0,
                             band_low_c=438.6), "the anneal"),
        Example(HoldCutShort(2700.0, 3600.0, 516.0, 505.0, Undone(ANNEAL, 2700.0, 505.0), is_enough=True),
                "the anneal, and still enough", Rank.LOOK),
        Example(HoldCutShort(900.0, 1800.0, 670.0, 680.0, None), "another hold", Rank.LOOK),
    ),
    on_delay_s=40.0, off_delay_s=300.0,
    family=Family.PLAN,
    explained_by=(Saying.ADVANCED,),
    may_stand_under=("sudden-drop", "firing-stopped", "restarted", "over-temperature"),
    asked_for_by=("over-temperature",),  # as firing-stopped: the plan is over for whoever was told to switch off
    may_replace=(Vaguer("hold-off-target"), Vaguer("cooling-too-fast")),
    is_past_event=True,
    breaks_off=_breaks_off,
)
