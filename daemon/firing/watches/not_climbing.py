"""A climb that stands still short of its target, or fades long before it."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.hold_level import FAR_K, standing
from daemon.firing.detection.rate_test import LURCH_BELOW_C
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.speaker import ELECTRIC, Speaker
from daemon.glass.practice import HOT_C

STALL_WINDOW_S = 300.0
STALL_SHARE = 0.15
FADE_WINDOW_S, FADE_SHARE = 1800.0, 0.4
"""So long below so much of its plan a climb fades: an element is out, or the mains are weak."""
_FADE_MOST_C_PER_H = 250.0
"""A plan that asks for more than this asks for what the kiln can give; common practice."""
STALL_WAKE_ABOVE_C = 600.0
STALL_WAKE_AFTER_S = 1800.0
"""A climb flat for so long wakes somebody where it is this hot [°C, s]: layers flow there and haze begins. Not the
temperature below which glass is brittle. [chosen: what the alert promises]
"""
_STALL_SURE = 2.0
_TURNED_WINDOW_S, _TURNED_C_PER_H = 150.0, 15.0
"""A climb that falls so fast over so long is one no more [s, °C/h]."""
_FALLEN_K = 12.0
"""Readings so far above now were a fall, not a stand [K]."""


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


def _is_back_at_the_anneal(view: View, climb: PlannedPart) -> bool:
    """Return whether a kiln that has been hotter than ``climb`` goes stands where its plan anneals.

    After a cut or an open lid it was brought back to the anneal; to push it on to the climb's target would
    be wrong.
    """
    anneal = view.anneal
    return anneal is not None and anneal.index > climb.index and view.peak_c > climb.to_c + view.near_k and (
        abs(view.temp_c - view.offset_k - anneal.to_c) < view.near_k)


def not_climbing(view: View) -> Finding[NotClimbing] | None:
    """Return the finding where a climb stands still short of its target, or fades long before it."""
    part = view.part if view.unreached_top is None else view.parts[view.unreached_top.index - 1]
    if part is None or part.direction <= 0 or view.temp_c < LURCH_BELOW_C:
        return None
    if view.temp_c - view.offset_k > part.to_c - view.near_k:
        return None
    if _is_back_at_the_anneal(view, part):
        return None
    not_before_s = max(view.part_start_s + 180.0, view.resumed_s)
    line = view.line(STALL_WINDOW_S, not_before_s)
    if line is None or line.span_s < STALL_WINDOW_S - 60.0:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    planned = part.rate_c_per_h if part.rate_c_per_h is not None else 100.0
    if slope + _STALL_SURE * error > max(0.5 * planned, 15.0) or slope > STALL_SHARE * planned:
        return _fades(view, part, not_before_s)
    if slope + 3.0 * error < -30.0:
        return None  # it falls: another watch's business
    if view.temp_c < HOT_C and _has_turned(view):
        return None
    if standing(view) is not None:
        return None  # it stands in the hold it climbs to, only not where it should
    flat_s = _flat_for_s(view, not_before_s)
    rank = Rank.WAKE if view.temp_c > STALL_WAKE_ABOVE_C and flat_s > STALL_WAKE_AFTER_S else Rank.LOOK
    facts = NotClimbing(view.temp_c, part.to_c, slope, planned, flat_s)
    return Finding(KIND, rank, view.t_s - flat_s, facts, part.step)


def _has_turned(view: View) -> bool:
    """Return whether the climb has become a fall, which a longer line does not show yet."""
    line = view.line(_TURNED_WINDOW_S, view.resumed_s)
    return line is not None and line.slope_c_per_s * 3600 + 2.0 * view.error_c_per_h(line) < -_TURNED_C_PER_H


def _fades(view: View, part: PlannedPart, not_before_s: float) -> Finding[NotClimbing] | None:
    """Return the finding where the climb has long been far slower than planned, and its target far away."""
    line = view.line(FADE_WINDOW_S, not_before_s)
    if part.rate_c_per_h is None or line is None or line.span_s < FADE_WINDOW_S - 120.0:
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    far = view.temp_c - view.offset_k < part.to_c - FAR_K
    least = FADE_SHARE * min(part.rate_c_per_h, _FADE_MOST_C_PER_H)
    if not far or slope < 0.0 or slope + _STALL_SURE * error > least:
        return None
    facts = NotClimbing(view.temp_c, part.to_c, slope, part.rate_c_per_h, flat_s=None)
    return Finding(KIND, Rank.LOOK, view.t_s - line.span_s, facts, part.step)


def _flat_for_s(view: View, not_before_s: float) -> float:
    """Return for how long the readings have stood as high as now, and not fallen here [s]."""
    trail = view.trail
    level_c = view.temp_c - 2.0 - 2.0 * trail.noise_k
    fallen_c = view.temp_c + _FALLEN_K + 2.0 * trail.noise_k
    first = trail.index_at(not_before_s)
    for i in range(len(trail.times) - 1, first - 1, -1):
        if trail.temps[i] < level_c or trail.temps[i] > fallen_c:
            return view.t_s - trail.times[i]
    return view.t_s - max(not_before_s, trail.times[0] if trail.times else view.t_s)


def _words(finding: Finding[NotClimbing], speaker: Speaker) -> Text:
    facts = finding.facts
    if facts.flat_s is None:
        what = (f"The climb has slowed to {speaker.rate(facts.rate_c_per_h)}, planned "
                f"{speaker.rate(facts.planned_c_per_h)}, at {speaker.temp(facts.temp_c)}.")
    else:
        what = (f"The climb stands still at {speaker.temp(facts.temp_c)} for {facts.flat_s / 60:.0f} min; the plan "
                f"goes on to {speaker.temp(facts.to_c)}.")
    return Text(
        what=what,
        meaning="The controller may wait, power or an element may be out, or the kiln can go no further. Time at "
                "heat goes on counting for the glass.",
        do=f"Look at the controller's step and at the kiln's display. Extend, advance or end it safely. {ELECTRIC}",
    )


KIND = Kind(
    name="not-climbing",
    watch=AtBeats(lambda setup: not_climbing),
    words=_words,
    examples=(Example(NotClimbing(640.0, 800.0, 1.0, 250.0, 1900.0)),),
    on_delay_s=40.0, off_delay_s=600.0,
    family=Family.PLAN,
    explained_by=(Saying.LENGTHENED,),
    may_stand_under=("sudden-drop", "firing-stopped", "restarted"),
)
