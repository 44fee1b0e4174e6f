"""A climb that stands still short of its target, or fades long before it.

It is a look, and a wake where the wait costs: above 600 °C, where layers flow and haze begins, the kiln is half an
hour later than its plan by now, and stands, or comes an hour and a half late to its target. An element that has
failed and mains that are weak make a climb fade for hours, without its ever standing still. A kiln that needs a
little longer for its last degrees is left in peace.

A probe that reads too low, through a copper lead or by another type's table, shows the same: a hold that is read far
below its target looks like a stall. So until a hold has shown how the probe reads, the first act is to compare it
with the kiln's own display.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from daemon.firing.detection.hold_level import FAR_K, standing
from daemon.firing.detection.known_climb import Beside, known_climb
from daemon.firing.detection.late_climb import costs, late_by_s, pace, planned_c_per_h
from daemon.firing.detection.rate_test import LIKELY, LURCH_BELOW_C
from daemon.firing.durations import in_speech
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart, part_after, part_before
from daemon.firing.situation.hold_measure import WAITS_S
from daemon.firing.situation.view import NEVER_NEAR_K, View
from daemon.firing.speaker import CLOSED, Speaker
from daemon.glass.common_practice import HOT_C
from daemon.regression import Line

STALL_WINDOW_S = 300.0
"""The slope of a climb is taken over this window [s]. [tuned: by trial on the bench, study not kept]"""
STALL_SHARE = 0.15
"""A climb stands still below this share of its planned rate. [tuned: by trial on the bench, study not kept]"""
_SLOWED_SHARE, _SLOWED_C_PER_H = 0.5, 15.0
"""It stands still only if its slope is surely below this share of its planned rate, or below this rate [°C/h].
[tuned: by trial on the bench, study not kept]
"""
_SETTLES_S = 180.0
"""The first so many seconds of a climb say nothing about its rate [s]. [tuned: by trial on the bench, study not kept]
"""
_MISSING_S = 60.0
"""How much of the window of a stall may be missing [s]. [chosen: a few readings of a slow logger]"""
FADE_SHARE = 0.4
"""A climb fades that has been below this share of its planned rate for half an hour: an element is out, or the
mains are weak. [tuned: by trial on the bench, study not kept]
"""
_FADE_MOST_C_PER_H = 250.0
"""A plan that asks for more than this asks for all that the kiln can give [°C/h]. [common practice]"""
_FALLS_C_PER_H, _FALLS_SURE = 30.0, 3.0
"""A kiln that surely falls faster than this [°C/h], by so many standard errors, does not stand still. [tuned: by
trial on the bench, study not kept]
"""
_STANDS_C_PER_H = 10.0
"""A kiln that climbs by less is told to have stopped [°C/h]. [chosen: a degree in six minutes, within the noise]"""
_WORTH_TELLING_S = 300.0
"""To be later by less is not worth a word [s]. [chosen: a controller's own wait]"""
_KNOWN_WINDOW_S = 600.0
"""The pace of a kiln that is weaker than ever is told over so long [s]. [chosen: ten minutes, as its power]"""
_TURNED_WINDOW_S, _TURNED_C_PER_H = 150.0, 15.0
"""A climb that surely falls so fast [°C/h] over a window this short [s] has turned. [tuned: by trial on the bench,
study not kept]
"""
_LEVEL_K, _LEVEL_SDS = 2.0, 2.0
"""A reading no further below the present one than this [K], plus so many standard deviations of the noise, stands as
high. [chosen: one reading in forty lies further by noise alone]
"""
_FALLEN_K = 12.0
"""A reading this far above the present one belongs to a fall, not to a stall [K]. [tuned: by trial on the bench,
study not kept]
"""


@dataclass(frozen=True, slots=True)
class NotClimbing:
    """A climb that stands still, or fades."""

    temp_c: float
    to_c: float
    """Where the plan goes on to [°C]."""
    rate_c_per_h: float
    planned_c_per_h: float
    flat_s: float | None
    """How long it has stood still [s]; None where it fades."""
    late_s: float | None = None
    """How much later than planned it is above 600 °C [s]; None where it is colder (see late_by_s)."""
    beside: Beside | None = None
    """How its power compares with earlier firings; None where that is not known."""
    share: float | None = None
    """Its power over what was due by earlier firings [1]."""
    may_read_low: bool = False
    """Whether no hold has shown yet how the probe reads, so that the kiln may be hotter than it reads."""


def left_k(view: View, facts: NotClimbing) -> float:
    """Return how far the kiln is below where its climb goes [K]."""
    return facts.to_c - (view.temp_c - view.offset_k)


def _is_back_at_the_anneal(view: View, climb: PlannedPart) -> bool:
    """Return whether a kiln that has been hotter than ``climb`` goes stands where its plan anneals.

    After a cut or an open lid it was brought back to the anneal; to push it on to the climb's target would
    be wrong.
    """
    anneal = view.anneal
    return anneal is not None and view.peak_c > climb.to_c + view.near_k and (
        abs(view.temp_c - view.offset_k - anneal.to_c) < view.near_k)


def not_climbing(view: View) -> Finding[NotClimbing] | None:
    """Return the finding where a climb stands still short of its target, or fades long before it.

    A climb stands still where its slope over five minutes is at most STALL_SHARE of the plan's; it fades where half
    an hour has stayed below FADE_SHARE. Time at heat goes on for the glass meanwhile. A look, and a wake where the
    wait costs: see the module.

    Nothing is raised below LURCH_BELOW_C, where a cold kiln climbs in lurches, nor near the target, where a
    controller slows down by itself; nor for a kiln that falls, which is firing-stopped's business; nor where it
    stands in a hold that the follower has not found yet; nor where it was brought back to its anneal after an
    interruption. Where the follower has passed a top that the kiln never came near, the climb to that top is judged.
    """
    part = view.part if view.unreached_top is None else view.parts[view.unreached_top.index - 1]
    if part is None or part.direction <= 0 or view.temp_c < LURCH_BELOW_C:
        return None
    if view.temp_c - view.offset_k > part.to_c - view.near_k:
        return None
    if _is_back_at_the_anneal(view, part):
        return None
    not_before_s = max(view.part_start_s + _SETTLES_S, view.resumed_s)
    line = view.line(STALL_WINDOW_S, not_before_s)
    if line is None or line.span_s < STALL_WINDOW_S - _MISSING_S:
        return None
    found = _stands_or_fades(view, part, line, not_before_s)
    if found is not None and not view.offset_known:
        found = replace(found, facts=replace(found.facts, may_read_low=True))
    return found if view.kiln is None else _beside_earlier(view, part, found)


def _beside_earlier(view: View, part: PlannedPart,
                    found: Finding[NotClimbing] | None) -> Finding[NotClimbing] | None:
    """Return the finding as earlier firings of this kiln make it.

    A kiln that gives less than it ever gave is told, though it neither stands nor fades yet. One that climbs as it
    always did is told one rank more quietly.
    """
    known = known_climb(view, part)
    if known is None or (found is None and (known.beside is not Beside.WEAKER or standing(view) is not None)):
        return found
    if found is None:
        line = view.line(_KNOWN_WINDOW_S, view.resumed_s)
        if line is None or part.rate_c_per_h is None:
            return None
        found = _slow(view, part, known.since_s, line)
    quieter = {Rank.WAKE: Rank.LOOK, Rank.LOOK: Rank.LOG}
    rank = quieter.get(found.rank, found.rank) if known.beside is Beside.AS_EVER else found.rank
    return replace(found, rank=rank, facts=replace(
        found.facts, beside=known.beside, share=known.share))


def _stands_or_fades(view: View, part: PlannedPart, line: Line, not_before_s: float) -> Finding[NotClimbing] | None:
    """Return the finding by the plan alone, with ``line`` through the last minutes."""
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    planned = planned_c_per_h(part)
    if slope + LIKELY * error > max(_SLOWED_SHARE * planned, _SLOWED_C_PER_H) or slope > STALL_SHARE * planned:
        return _fades(view, part, not_before_s)
    if slope + _FALLS_SURE * error < -_FALLS_C_PER_H:
        return None  # it falls: firing-stopped judges that
    if view.temp_c < HOT_C and _has_turned(view):
        return None
    if standing(view) is not None:
        return None  # it stands in a hold that it has reached, only off its target: hold-off-target judges that
    flat_s = _flat_for_s(view, not_before_s)
    late_s = late_by_s(view, part)
    late_s = None if late_s is None else max(late_s, flat_s)
    rank = Rank.WAKE if costs(view, part, late_s, flat_s) and not _may_be_in_hold(view, part, flat_s) else Rank.LOOK
    facts = NotClimbing(view.temp_c, part.to_c, slope, planned, flat_s, late_s)
    return Finding(KIND, rank, view.t_s - flat_s, facts, part.step)


def _may_be_in_hold(view: View, climb: PlannedPart, flat_s: float) -> bool:
    """Return whether the kiln may stand in the hold before or after ``climb``, which the follower has not seen.

    A probe that reads far above its plan climbs past the level of a hold before the hold begins. One that reads far
    below stands still before it has come there. It is that hold for no longer than the plan holds, and a controller
    may wait for its target. Once a hold has shown how the probe reads, it is no longer as far below.
    """
    for hold, way in ((part_before(view.parts, climb.index), 1), (part_after(view.parts, climb.index), -1)):
        if hold is None or hold.part != "hold" or any(run.index == hold.index for run in view.found):
            continue
        off_k = (view.temp_c - view.offset_k - hold.to_c) * way
        if way < 0 and view.offset_known:
            continue
        if 0.0 < off_k < NEVER_NEAR_K and flat_s < hold.duration_s + WAITS_S:
            return True
    return False


def _has_turned(view: View) -> bool:
    """Return whether the climb has turned into a fall, which a line over five minutes does not show yet."""
    line = view.line(_TURNED_WINDOW_S, view.resumed_s)
    return line is not None and line.slope_c_per_s * 3600 + LIKELY * view.error_c_per_h(line) < -_TURNED_C_PER_H


def _fades(view: View, part: PlannedPart, not_before_s: float) -> Finding[NotClimbing] | None:
    """Return the finding where the climb has long been far slower than planned, and its target far away."""
    line = pace(view, not_before_s)
    if part.rate_c_per_h is None or line is None:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    far = view.temp_c - view.offset_k < part.to_c - FAR_K
    least = FADE_SHARE * min(part.rate_c_per_h, _FADE_MOST_C_PER_H)
    if not far or slope < 0.0 or slope + LIKELY * error > least:
        return None
    return _slow(view, part, view.t_s - line.span_s, line)


def _slow(view: View, climb: PlannedPart, since_s: float, line: Line) -> Finding[NotClimbing]:
    """Return the finding of a climb that does not stand, but is too slow since ``since_s`` [s], along ``line``."""
    late_s = late_by_s(view, climb)
    facts = NotClimbing(view.temp_c, climb.to_c, line.slope_c_per_s * 3600, planned_c_per_h(climb), None, late_s)
    rank = Rank.WAKE if costs(view, climb, late_s, 0.0) else Rank.LOOK
    return Finding(KIND, rank, since_s, facts, climb.step)


def _flat_for_s(view: View, not_before_s: float) -> float:
    """Return for how long the readings have stood as high as now, without having fallen from higher up [s]."""
    trail = view.trail
    level_c = view.temp_c - _LEVEL_K - _LEVEL_SDS * trail.noise_k
    fallen_c = view.temp_c + _FALLEN_K + _LEVEL_SDS * trail.noise_k
    first = trail.index_at(not_before_s)
    for i in reversed(range(first, len(trail.times))):
        if trail.temps[i] < level_c or trail.temps[i] > fallen_c:
            return view.t_s - trail.times[i]
    return view.t_s - not_before_s


def _words(finding: Finding[NotClimbing], speaker: Speaker) -> Text:
    facts = finding.facts
    here, on = speaker.temp(facts.temp_c), f"The plan goes on to {speaker.temp(facts.to_c)}."
    planned = f"planned {speaker.rate(facts.planned_c_per_h)}"
    late = "" if facts.late_s is None or facts.late_s < _WORTH_TELLING_S else (
        f" It is {in_speech(facts.late_s)} later than planned.")
    if facts.flat_s is None:
        what = (f"Kiln climbs too slowly, now {here}. It climbs {speaker.rate(facts.rate_c_per_h)}, {planned}. "
                f"{on}{late}")
        head = f"The kiln climbs too slowly: {planned}. {on}"
    else:
        has_stopped = facts.rate_c_per_h < _STANDS_C_PER_H
        falls = facts.rate_c_per_h < -_STANDS_C_PER_H
        what = (f"Kiln falls slowly, {here}. It should climb. {on}{late}" if falls else
                f"Kiln {f'stopped climbing at {here}' if has_stopped else f'hardly climbs, {here}'}. {on}{late}")
        head = f"The kiln {'falls slowly' if falls else 'stopped climbing' if has_stopped else 'hardly climbs'}. {on}"
    why = _why(facts)
    asks = "Is the kiln's display near its own target, or climbing? Lehrling's sensor reads low"
    runs_away = "Far above its target? Switch off at the isolator."
    if facts.late_s is None:
        return speaker.text(
            what=what, head=head, meaning=f"{why} At this heat the glass loses nothing by waiting.",
            acts=(f"Look at the controller's step. {asks}. {runs_away}" if facts.may_read_low else
                  "Look at the controller's step and at the kiln's display.",
                  f"{'Else let' if facts.may_read_low else 'Let'} it go on. Or stop it, keep it closed and let it "
                  "cool: fire it again another day."),
            caution=CLOSED)
    anneal = speaker.to_anneal(facts.temp_c)
    return speaker.text(
        what=what, head=head, meaning=f"{why} Until it goes on, the glass gets more heat than planned, and can haze.",
        acts=(f"{asks}: let it go on. {runs_away}"
              if facts.may_read_low else
              "Look at the controller. Shut an open lid from outside, never reach in. Does it climb again? Let it go "
              "on.",
              anneal.after("Does it not climb, or is the glass done?"),
              "Else don't switch off: the glass needs its anneal." if facts.may_read_low else
              "Don't just switch off: the glass needs its anneal. No power? Leave it closed."),
        caution=CLOSED)


def _why(facts: NotClimbing) -> str:
    """Return what may be behind it, as far as earlier firings tell."""
    if facts.beside is Beside.AS_EVER:
        return "It climbs as in its earlier firings: it can do no more, or its controller waits."
    if facts.beside is Beside.WEAKER and facts.share is not None:
        return (f"It gives about {10 * round(10 * max(0.0, facts.share)):.0f} % of the power of its earlier firings. "
                "An element or a phase may have failed, or the mains is weak.")
    return "The controller may wait, power or an element may have failed, or the kiln can go no hotter."


KIND = Kind(
    name="not-climbing",
    watch=AtBeats(lambda setup: not_climbing),
    words=_words,
    examples=(
        Example(NotClimbing(722.0, 800.0, 60.0, 250.0, None, 1900.0), "hot, too slow"),
        Example(NotClimbing(640.0, 800.0, 1.0, 250.0, 1900.0, 1900.0), "hot, standing still"),
        Example(NotClimbing(310.0, 620.0, 1.0, 220.0, 600.0), "where it can wait", Rank.LOOK),
        Example(NotClimbing(612.0, 800.0, 1.0, 250.0, 1900.0, 1900.0, may_read_low=True),
                "before any hold has shown how the sensor reads"),
        Example(NotClimbing(560.0, 800.0, 110.0, 250.0, None, None, Beside.WEAKER, 0.68),
                "weaker than in earlier firings", Rank.LOOK),
        Example(NotClimbing(722.0, 800.0, 60.0, 250.0, None, 1900.0, Beside.AS_EVER, 0.99),
                "as slow as in earlier firings", Rank.LOOK),
    ),
    on_delay_s=40.0, off_delay_s=600.0,
    family=Family.PLAN,
    is_of_power=True,
    explained_by=(Saying.LENGTHENED,),
    may_stand_under=("sudden-drop", "firing-stopped", "restarted"),
    asked_for_by=("over-temperature",),  # as firing-stopped: the plan is over for whoever was told to switch off
)
