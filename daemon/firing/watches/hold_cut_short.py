"""A hold that ended too soon, or never began."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from daemon.firing.events import Part, Rank, Saying, Text
from daemon.firing.example_firing import ANNEAL
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import Interruption, View
from daemon.firing.speaker import CLOSED, ELECTRIC, Speaker, Undone

_SHORT_SHARE = 0.15
_SHORT_S = 180.0
_WORTH_HOLDING_S = 300.0
_TOLD_FOR_S = 1800.0
_LEFT_K = 4.0
_SETTLES_S = 2400.0
_LEAVING_WINDOW_S = 240.0
_STILL_SHARE = 0.2
"""… and goes on, when it is told, at no less than this share."""
_SETTLING_S, _GOES_ON_SHARE, _PASSES_SHARE = 300.0, 0.6, 0.4
"""Over so long [s] a fall that passed its hold goes on at no less than this share of the plan's next; by trial."""
_SWUNG_K, _MINUTE_S = 2.0, 60.0
"""A kiln whose minutes' means come up by so much again has not left its hold [K, s]; by trial."""
_MOVING_C_PER_H = 25.0
"""The same where the ramp is free [°C/h]."""
_MOVING_SHARE = 0.3
"""A hold that was left is left at no less than this share of the planned rate."""


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


def hold_cut_short(view: View) -> Finding[HoldCutShort] | None:
    """Return the finding where the last hold was left early or passed over by the plan's next ramp."""
    if not view.found or view.swings_to_anneal:
        return None
    passed = _passed_anneal(view)
    if passed is not None:
        return passed
    here = view.found[-1]
    hold, held_s, left_s = _hold_before(view, here)
    if hold is None or hold.duration_s < _WORTH_HOLDING_S:
        return None
    enough_s = hold.duration_s - max(_SHORT_S, _SHORT_SHARE * hold.duration_s, 2 * view.trail.step_s)
    if held_s > enough_s or view.dwell_s(hold, left_s) > enough_s:
        return None
    if not _leaves(view, view.parts[here.index], left_s):
        return None
    if left_s - held_s < view.trail.unbroken_from_s:
        return None  # a hole lies in it, or where it ended: how long it was held was not seen
    anneal = view.anneal is not None and hold.index == view.anneal.index
    if anneal and (_only_settles(view, view.parts[here.index], left_s) or _swings(view, left_s)):
        return None
    if not anneal and view.t_s - left_s > _TOLD_FOR_S:
        return None
    if anneal and view.temp_c < view.glass.band_low_c:
        return None
    return _cut_short(view, hold, held_s, left_s, anneal=anneal)


def _leaves(view: View, ramp: PlannedPart, left_s: float) -> bool:
    """Return whether the kiln has moved on from where it was at ``left_s``, and still does.

    Not from the target: a probe that reads differently from the controller stands off it in every hold.
    """
    at_end = view.trail.line(left_s - 60.0, left_s + 60.0)
    if at_end is None:
        return False
    moved = (view.temp_c - at_end.at(left_s)) * ramp.direction
    planned = abs(ramp.rate_c_per_h) if ramp.rate_c_per_h is not None else _MOVING_C_PER_H
    least = _LEFT_K + 2.0 * view.trail.noise_k
    line = view.line(_LEAVING_WINDOW_S, max(left_s, view.resumed_s))
    if line is None or line.slope_c_per_s * 3600 * ramp.direction - view.error_c_per_h(line) < _STILL_SHARE * planned:
        return False
    return moved > max(least, _MOVING_SHARE * planned * (view.t_s - left_s) / 3600)


def _only_settles(view: View, ramp: PlannedPart, left_s: float) -> bool:
    """Return whether the kiln comes to rest rather than goes on: the last of a free fall looks like a slow ramp."""
    line = view.line(_SETTLING_S, max(left_s, view.resumed_s))
    if line is None or ramp.rate_c_per_h is None:
        return False
    return line.slope_c_per_s * 3600 * ramp.direction < _GOES_ON_SHARE * abs(ramp.rate_c_per_h)


def _swings(view: View, left_s: float) -> bool:
    """Return whether the kiln has come up again since ``left_s``: a controller that swings about its hold."""
    trail = view.trail
    lowest_c, back_c = inf, _SWUNG_K + 2.0 * trail.noise_k
    minute_s = max(_MINUTE_S, 3 * trail.step_s)
    for k in range(1, int((view.t_s - left_s) / minute_s) + 1):
        line = trail.line(left_s + (k - 1) * minute_s, left_s + k * minute_s)
        if line is None:
            continue
        if line.mean_c > lowest_c + back_c:
            return True
        lowest_c = min(lowest_c, line.mean_c)
    return False


def _cut_short(view: View, hold: PlannedPart, held_s: float, left_s: float, *, anneal: bool) -> Finding[HoldCutShort]:
    undone = Undone(hold.index, held_s, view.temp_c - view.offset_k) if anneal else None
    facts = HoldCutShort(held_s, hold.duration_s, hold.to_c, view.temp_c, undone)
    return Finding(KIND, Rank.WAKE if anneal else Rank.LOOK, left_s, facts, hold.step)


def _passed_anneal(view: View) -> Finding[HoldCutShort] | None:
    """Return the finding where the fall to the anneal goes on below it, before the follower has gone on.

    A fall that is still as fast as a free one is a kiln without power, which has its own watch.
    """
    part, anneal = view.part, view.anneal
    if part is None or anneal is None or part.direction >= 0 or not view.leads_to_anneal(part.index):
        return None
    if anneal.duration_s < _WORTH_HOLDING_S or view.temp_c - view.offset_k > anneal.to_c - view.near_k:
        return None
    passed_s = view.last_at_or_above(anneal.to_c + view.offset_k)
    after, line = view.next_fall(anneal.index), view.line(150.0, view.resumed_s)
    if passed_s is None or after is None or line is None or view.t_s - passed_s < 120.0:
        return None
    if passed_s < view.trail.unbroken_from_s:
        return None  # it came down in a hole, where it may have been held
    fall, planned = -line.slope_c_per_s * 3600, view.governing_fall_c_per_h(after)
    settling = view.line(_SETTLING_S, max(passed_s, view.resumed_s))
    if settling is not None:
        fall = min(fall, -settling.slope_c_per_s * 3600)
    if fall < max(5.0, _PASSES_SHARE * planned) or fall > 1.4 * planned:
        return None
    return _cut_short(view, anneal, 0.0, passed_s, anneal=True)


def _hold_before(view: View, here: Part) -> tuple[PlannedPart | None, float, float]:
    """Return the hold that should lie just behind the present ramp, how long it was held, and its end [s]."""
    planned = view.parts[here.index]
    if planned.part != "ramp" or here.index == 0:
        return None, 0.0, 0.0
    before = view.parts[here.index - 1]
    if before.part != "hold":
        return None, 0.0, 0.0
    if len(view.found) == 2 and view.found[-2].index == before.index:
        return None, 0.0, 0.0  # joined in the middle of it: how long it had been held was not seen
    if len(view.found) >= 2 and view.found[-2].index == before.index:
        return before, here.start_s - _reached_s(view, before), here.start_s
    if len(view.found) < 2:
        return None, 0.0, 0.0  # joined in the middle: what came before was not seen
    line = view.trail.line(here.start_s - 60.0, here.start_s + 60.0)
    if line is None or abs(line.mean_c - view.offset_k - before.to_c) > 2.0 * view.near_k:
        return None, 0.0, 0.0  # never came near it: something else happened first
    return before, 0.0, here.start_s


def _reached_s(view: View, hold: PlannedPart) -> float:
    """Return when the last hold was first reached [s]: after a crash cool it swings back before it settles."""
    run, trail = view.found[-2], view.trail
    began_s = view.found[-3].start_s if len(view.found) >= 3 else run.start_s
    way = view.parts[hold.index - 1].direction if hold.index else 0
    if run.mean_c is None or not way:
        return run.start_s
    first, last = trail.index_at(max(began_s, run.start_s - _SETTLES_S)), trail.index_at(run.start_s)
    return next((trail.times[i] for i in range(first, last) if (trail.temps[i] - run.mean_c) * way >= -_LEFT_K),
                run.start_s)


def _breaks_off(finding: Finding[HoldCutShort], view: View) -> Interruption | None:
    undone = finding.facts.undone
    return None if undone is None else Interruption(finding.since_s, undone.index, undone.held_s, view.temp_c)


def _words(finding: Finding[HoldCutShort], speaker: Speaker) -> Text:
    facts = finding.facts
    held, asked = facts.held_s / 60, facts.asked_s / 60
    name = "hold" if facts.undone is None else "anneal hold"
    held_text = "was skipped" if held < 1 else f"ended after {held:.0f} of {asked:.0f} min"
    what = f"The {name} at {speaker.temp(facts.hold_c)} {held_text}; now {speaker.temp(facts.temp_c)}."
    if facts.undone is None:
        return Text(what, "The step did only part of its work. If you advanced it yourself, all is well.",
                    "Nothing at once; note it, and look at the controller when you're up.")
    mending = speaker.mending(facts.undone)
    again = speaker.key_in(mending) if mending else (
        f"Key in the anneal again: {speaker.temp(facts.hold_c)}, hold {asked:.0f} min, then the planned cooling.")
    return Text(
        what=what,
        meaning="The glass isn't annealed: it cools with its stress in it.",
        do=f"{again} Look from a distance whether the kiln has power and its lid is shut. {CLOSED} {ELECTRIC}",
    )


KIND = Kind(
    name="hold-cut-short",
    watch=AtBeats(lambda setup: hold_cut_short),
    words=_words,
    examples=(
        Example(HoldCutShort(0.0, 3600.0, 516.0, 505.0, Undone(ANNEAL, 0.0, 505.0)), "the anneal"),
        Example(HoldCutShort(900.0, 1800.0, 670.0, 680.0, None), "another hold"),
    ),
    on_delay_s=40.0, off_delay_s=300.0,
    family=Family.PLAN,
    explained_by=(Saying.ADVANCED,),
    may_stand_under=("sudden-drop", "firing-stopped", "restarted"),
    may_replace=(Vaguer("hold-off-target"), Vaguer("cooling-too-fast")),
    is_past_event=True,
    breaks_off=_breaks_off,
)
