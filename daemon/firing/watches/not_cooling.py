"""The kiln holds or climbs where its plan falls.

The power may not switch off, or the controller may wait in a step or run another one. Over ten minutes the slope is
asked two things: whether the kiln surely climbs, and whether it surely falls by less than three tenths of what it
should. Where ten minutes are too short to be sure, as in a kiln whose holds stray, the second is asked over longer
times as well. What it should fall by is the planned rate, or that of a closed kiln which cools by itself, whichever
is less: a kiln that cannot cool as fast as planned is not heated for that. A climb wakes, as does a kiln that stays
above its anneal, where glass flows on; a slow fall below the anneal is a look.

It is not raised

- within the first minutes of a fall, nor where the part's end is as good as reached;
- while the top before the fall may not be over. A look into the kiln leaves a dip that resembles the beginning of the
  fall, and the glow's return resembles a climb; a weak kiln that creeps to its top does so too;
- for a kiln that was cooled through its vents and swings into its anneal, or climbs back to an anneal that is not
  done, or climbs a little just above a hold that is due;
- within twenty minutes of a vent: the air under it was far colder than the glass, and comes back to it, or stands
  still while the glass comes down to the air;
- while the air comes back to the kiln under a lid that was shut, and for twenty minutes after it;
- while the kiln is as cool as the line of the plan;
- below the annealing range for a climb that is over, as the air under a lid that was shut again makes it;
- below 100 °C, where a room can keep a kiln from falling;
- for a kiln that stands in a hold that is due: where that is off its target, hold-off-target tells it.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.hold_level import FAR_K, due_beside, standing
from daemon.firing.detection.rate_test import LIKELY
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.last_climb import keyed_target_c
from daemon.firing.situation.level_doubt import leads_back_to_c
from daemon.firing.situation.planned_line import planned_line
from daemon.firing.situation.view import SLOW_WINDOW_STEPS, View
from daemon.firing.speaker import CLOSED, ISOLATOR_UNLESS, Speaker
from daemon.regression import Line

_NATURAL_TIME_H = 10.0
"""A closed kiln cools with a time constant well below this [h]; one that cools more slowly is heated.
[common practice]"""
_STUCK_AFTER_S, _LEAST_SPAN_S = 600.0, 240.0
"""The slope is asked over so long, and a climb over so much of it at least [s].
[tuned: by trial on the bench, study not kept]"""
_LONGER_S = (1200.0, 2400.0)
"""Where that is too short, a slow fall is asked over so long [s]. [chosen: twice and four times as long; the error of
a slope through straying air becomes 2.8 times smaller with each]"""
_EDGE_S = 60.0
_WHOLE_S = _STUCK_AFTER_S - _EDGE_S
"""A window that spans so much has been seen whole [s]. [derived: a reading a minute may be missing at its edge]"""
_RECENT_S = 180.0
"""What the kiln does now is asked of so many seconds [s].
[tuned: by trial on the bench, study not kept]"""
_UNDER_WAY_S = 120.0
"""A fall is judged from so long after it began [s], the planned one and one that follows a rise.
[tuned: by trial on the bench, study not kept]"""
_LEAST_SHARE = 0.3
"""A kiln that falls by less than this share of what it should does not cool.
[tuned: by trial on the bench, study not kept]"""
_SURE_ERRORS, _CLIMBS_C_PER_H = 3.0, 8.0
"""A kiln climbs where its slope, less so many standard errors, is more than this [°C/h].
[tuned: by trial on the bench, study not kept]"""
_SWINGS_TIMES = 2.0
"""Above the end of a fall that another one follows, a climb counts from so many times as far as a target can be told.
[tuned: by trial on the bench, study not kept]"""
_LEAST_RISE_K = 3.5
"""A smaller rise, or one that leads less above the line of the plan, costs the glass nothing [K]. [chosen: about half
of what a hold may be off]"""
_VENTED_S = 1200.0
"""For so long after a vent stood open the air may come back up to the glass [s].
[common practice: vents of up to six minutes, and as long again until air and glass agree]"""
_AIR_RISES_K = 10.0
"""Air that has come back has risen by more than this in that time [K]. [chosen: more than a probe strays, less than
the least lid costs]"""
_COLD_C = 100.0
"""Nothing is asked of a kiln colder than this [°C]. [chosen: no glass is harmed there]"""
_AT_PEAK_K, _SHORT_OF_TOP_K = 3.0, 3.0
"""A kiln this near its peak has not come down; one this far below its top was never there [K].
[tuned: by trial on the bench, study not kept]"""
_TOP_REACH_S = 1800.0
"""How near the kiln came to a top is sought back over so long before the fall [s].
[tuned: by trial on the bench, study not kept]"""


@dataclass(frozen=True, slots=True)
class NotCooling:
    """A kiln that holds or climbs where its plan falls."""

    rate_c_per_h: float
    temp_c: float
    to_c: float
    """Where the plan falls to [°C]."""
    is_climbing: bool
    is_soft: bool = True
    """Whether it stays above its anneal, where glass flows on."""


def not_cooling(view: View) -> Finding[NotCooling] | None:
    """Return the finding where the kiln holds or climbs though its plan falls."""
    part = view.part
    if part is None or part.direction >= 0:
        return None
    if view.temp_c < _COLD_C:
        return None
    if view.vented_s is not None and view.t_s - view.vented_s < _VENTED_S:
        return None
    if _air_has_come_back(view):
        return None
    if _is_top_due(view, part) or view.unreached_top is not None:
        return None
    if _is_as_planned(view, part) or _is_on_keyed_climb(view):
        return None
    not_before_s = max(view.part_start_s + _UNDER_WAY_S, view.resumed_s)
    line, recent = view.line(_STUCK_AFTER_S, not_before_s), view.line(_RECENT_S, not_before_s)
    if line is None or recent is None or line.span_s < _LEAST_SPAN_S or (
            _level_c(view, line) < part.to_c + view.near_k):
        return None
    least_c_per_h = _LEAST_SHARE * _should_fall_c_per_h(view, part)
    lately = recent, _turned(view, recent)
    if any(_slope(now) + LIKELY * view.error_c_per_h(now) < -least_c_per_h for now in lately):
        return None  # it falls by now
    if not view.goes_on(line, +1):
        return None
    climbs = _climbs(view, part, line, recent)
    if not climbs:
        slow = _slow(view, part, least_c_per_h, not_before_s)
        if slow is None or standing(view) is not None:
            return None
        line = slow
    is_soft = _is_above_anneal(view, line)
    rank = Rank.WAKE if climbs or is_soft else Rank.LOOK
    facts = NotCooling(_slope(line), view.temp_c, part.to_c, climbs, is_soft)
    return Finding(KIND, rank, view.t_s - line.span_s, facts, part.step, severity_c=view.temp_c)


def _is_on_keyed_climb(view: View) -> bool:
    """Return whether lines that climb were just keyed in, and the kiln is still below where they lead."""
    target_c = keyed_target_c(view)
    return target_c is not None and view.temp_c < target_c - view.near_k


def _air_has_come_back(view: View) -> bool:
    """Return whether the readings may only be air that has come up to the kiln under a lid that was shut."""
    if view.kiln_c is None or view.temp_c >= view.kiln_c + view.near_k:
        return False
    lately = view.trail.temps[view.trail.index_at(view.t_s - _VENTED_S):]
    return min(lately, default=view.temp_c) < view.temp_c - _AIR_RISES_K


def _turned(view: View, recent: Line) -> Line:
    """Return the line through the readings since the highest of those that ``recent`` was drawn through.

    ``recent`` ends now, and is returned where they are too few. When a vent is shut the air steps up within a minute,
    and then falls with brick and glass; a line drawn across that step seems to climb for minutes.
    (Weighed: power that does not switch off, and a controller that began again. They climb on, so that the last
    reading is the highest. And elements that were just switched on, which a probe sees for a minute or two: what
    follows the highest reading must last as long as a fall, and be as many readings as a slope needs.)
    """
    trail = view.trail
    first = len(trail.temps) - recent.number
    highest = max(range(first, len(trail.temps)), key=trail.temps.__getitem__)
    least_s = max(_UNDER_WAY_S, SLOW_WINDOW_STEPS * trail.step_s)
    return trail.line(trail.times[highest], least_s=least_s) or recent


def _slope(line: Line) -> float:
    """Return the slope of a line [°C/h]."""
    return line.slope_c_per_s * 3600


def _level_c(view: View, line: Line) -> float:
    """Return where the kiln is [°C], in the plan's terms: as low as it may be, by the mean of ``line``.

    The mean tells, not the last readings: under an on/off controller a probe that sees its elements rises by 30 K
    every few minutes, while the glass stays where it is. (Weighed: a climb. Its mean is some minutes late, and it
    leads on.) And a probe that read the last hold too hot reads this level so, too. (Weighed: a last hold that truly
    was too hot. That is told by itself.)
    """
    return line.mean_c - max(view.offset_k, view.shown_k)


def _should_fall_c_per_h(view: View, fall: PlannedPart) -> float:
    """Return by how much the kiln should fall at least [°C/h]: as planned, or as a closed kiln cools by itself."""
    natural = (view.temp_c - ASSUMED_ROOM_C) / _NATURAL_TIME_H
    return natural if fall.rate_c_per_h is None else min(abs(fall.rate_c_per_h), natural)


def _is_as_planned(view: View, fall: PlannedPart) -> bool:
    """Return whether the kiln is as cool as the plan asks, whatever it does now.

    Where a fall begins the elements fall silent: the reading sinks too far, and comes back as they heat again.
    """
    if fall.rate_c_per_h is None:
        return False
    line = planned_line(view, view.part_start_s, -fall.rate_c_per_h)
    return line is not None and line.below_k > -_LEAST_RISE_K


def _climbs(view: View, fall: PlannedPart, line: Line, recent: Line) -> bool:
    """Return whether the kiln surely climbs, and not only as it swings into a hold or warms under a shut lid."""
    is_hold_due = view.next_part is not None and view.next_part.part == "hold"
    swing_k = FAR_K if is_hold_due else _SWINGS_TIMES * view.near_k
    if _level_c(view, line) <= fall.to_c + swing_k:
        return False
    if _slope(line) - _SURE_ERRORS * view.error_c_per_h(line) <= _CLIMBS_C_PER_H:
        return False
    if line.slope_c_per_s * line.span_s < _LEAST_RISE_K or _leads_back(view):
        return False
    if view.temp_c >= view.glass.band_low_c:
        return True
    # The air under a lid that was shut again comes back for some minutes; a heated kiln climbs on.
    return line.span_s > _WHOLE_S and _slope(recent) > _SURE_ERRORS * view.error_c_per_h(recent)


def _leads_back(view: View) -> bool:
    """Return whether a climb near the anneal may only lead back to it; ``restarted`` tells of power that was off."""
    anneal = view.anneal
    return anneal is not None and view.temp_c <= leads_back_to_c(view, anneal, view.temp_c)


def _slow(view: View, fall: PlannedPart, least_c_per_h: float, not_before_s: float) -> Line | None:
    """Return the line of the shortest time over which the kiln surely falls by less than ``least_c_per_h`` [°C/h].

    A hold before the fall that was not seen to be held may be what is seen: it has its time before longer is asked.
    """
    held_s = max((view.part_start_s + hold.duration_s for hold in due_beside(view, fall)
                  if hold.index < fall.index and abs(view.temp_c - view.offset_k - hold.to_c) <= FAR_K), default=0.0)
    for window_s in (_STUCK_AFTER_S, *_LONGER_S):
        line = view.line(window_s, max(not_before_s, held_s if window_s > _STUCK_AFTER_S else 0.0))
        if line is None or line.span_s <= window_s - _EDGE_S:
            return None
        if -_slope(line) + LIKELY * view.error_c_per_h(line) < least_c_per_h and view.goes_on(line, +1):
            return line
    return None


def _is_above_anneal(view: View, line: Line) -> bool:
    """Return whether the kiln stays far above its anneal, where glass flows on.

    Some kelvins above the anneal it does not: in the anneal's own fall that is a hold that goes on, read too warm.
    """
    return view.anneal is not None and _level_c(view, line) > view.anneal.to_c + FAR_K


def _is_top_due(view: View, fall: PlannedPart) -> bool:
    """Return whether the kiln may still be on its way to the top before ``fall``, or in that top's hold."""
    if fall.index < 2 or view.parts[fall.index - 2].direction <= 0:
        return False
    top = view.parts[fall.index - 1]
    lately_c = max(view.trail.temps[view.trail.index_at(view.t_s - _STUCK_AFTER_S):], default=view.temp_c)
    if lately_c > view.peak_c - _AT_PEAK_K and view.peak_c - view.offset_k < top.to_c - _SHORT_OF_TOP_K:
        return True  # as hot as it has ever been, and its top never reached
    if top.part != "hold" or view.temp_c - view.offset_k < top.to_c - FAR_K:
        return False
    highest_c = max(view.trail.temps[view.trail.index_at(view.part_start_s - _TOP_REACH_S):], default=view.temp_c)
    if highest_c - view.offset_k < top.to_c - view.near_k:
        return True
    return view.t_s - view.part_start_s < top.duration_s + _STUCK_AFTER_S / 2


_FLOWS_ON = "Soft glass flows on, and every minute can add haze."


def _words(finding: Finding[NotCooling], speaker: Speaker) -> Text:
    facts = finding.facts
    plan = f"The plan cools to {speaker.temp(facts.to_c)}."
    if facts.is_climbing:
        return speaker.text(
            what=f"Kiln climbs where it should cool, {speaker.temp(facts.temp_c)}; stop it. It climbs "
                 f"{speaker.rate(facts.rate_c_per_h)}. {plan}",
            head=f"The kiln climbs where it should cool. Stop it. {plan}",
            meaning=f"The controller runs another step, or the power no longer switches off. {_FLOWS_ON}"
                    if facts.is_soft else
                    "The controller runs another step, or the power no longer switches off. It may climb until the "
                    "glass flows again.",
            acts=(ISOLATOR_UNLESS,
                  "Did the kiln stop when you stopped it? Look which step it was in, and go on from there. If not, "
                  "leave it off: an electrician first."),
            caution=CLOSED,
        )
    return speaker.text(
        what=f"Kiln is not cooling, it stays at {speaker.temp(facts.temp_c)}. {plan}",
        head=f"The kiln is not cooling. {plan}",
        meaning="The controller may wait in a step, or the power no longer switches off. "
                f"{_FLOWS_ON if facts.is_soft else 'Here the glass is stiff: to stand still costs it nothing.'}",
        acts=("Look at the controller's step and target. Does it wait? Go on to the next step.",
              "Does it ask for no heat, and the kiln does not cool? Switch off at the isolator, the kiln's main "
              "switch. A controller's switch can stick: an electrician before the next firing."),
        caution=CLOSED,
    )


KIND = Kind(
    name="not-cooling",
    watch=AtBeats(lambda setup: not_cooling),
    words=_words,
    examples=(
        Example(NotCooling(60.0, 700.0, 516.0, True), "climbing above the anneal"),
        Example(NotCooling(60.0, 490.0, 461.0, True, is_soft=False), "climbing in the cooling"),
        Example(NotCooling(-1.0, 700.0, 516.0, False), "staying above the anneal"),
        Example(NotCooling(-1.0, 490.0, 461.0, False, is_soft=False), "staying in the cooling", Rank.LOOK),
    ),
    on_delay_s=60.0, off_delay_s=300.0,
    family=Family.PLAN,
    is_of_power=True,
    explained_by=(Saying.LENGTHENED,),
    may_stand_under=("sudden-drop", "firing-stopped", "restarted", "hold-cut-short", "over-temperature"),
)
