"""The kiln holds or climbs where its plan falls."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.hold_level import FAR_K, standing
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.speaker import CLOSED, ELECTRIC, Speaker

_NATURAL_TIME_H = 10.0
"""A closed kiln cools with a time constant well below this [h]; slower than that is heated. Common practice."""
_STUCK_AFTER_S = 600.0
_AT_PEAK_K, _SHORT_OF_TOP_K = 3.0, 3.0
"""A kiln this near its peak has not come down; one this far below its top was never there [K]."""
_SURE = 3.0


@dataclass(frozen=True, slots=True)
class NotCooling:
    """A kiln that holds or climbs where its plan falls."""

    rate_c_per_h: float
    temp_c: float
    to_c: float
    """Where the plan falls to [°C]."""
    is_climbing: bool


def _goes_on(view: View, not_before_s: float, span_s: float) -> bool:
    """Return whether a climb goes on longer than the air under a lid that is shut again takes to come back."""
    recent = view.line(180.0, not_before_s)
    return span_s > _STUCK_AFTER_S - 60.0 and recent is not None and (
        recent.slope_c_per_s * 3600 > _SURE * view.error_c_per_h(recent))


def not_cooling(view: View) -> Finding[NotCooling] | None:
    """Return the finding where the kiln holds or climbs though its plan falls."""
    part = view.part
    if part is None or part.direction >= 0:
        return None
    if view.temp_c - view.offset_k < part.to_c + view.near_k:
        return None  # as good as there; what comes next begins
    if view.swings_to_anneal or _may_not_be_done_above(view, part) or view.unreached_top is not None:
        return None
    not_before_s = max(view.part_start_s + 120.0, view.resumed_s)
    line = view.line(_STUCK_AFTER_S, not_before_s)
    if line is None or line.span_s < 240.0 or not view.goes_on(line, +1):
        return None
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    # So close to a hold that is due the kiln swings in, or holds it too warm.
    swing_k = FAR_K if view.next_part is not None and view.next_part.part == "hold" else 2.0 * view.near_k
    climbing = slope - _SURE * error > 8.0 and view.temp_c - view.offset_k > part.to_c + swing_k
    if view.temp_c < view.glass.band_low_c:
        climbing = climbing and _goes_on(view, not_before_s, line.span_s)
    natural = (view.temp_c - ASSUMED_ROOM_C) / _NATURAL_TIME_H
    planned = abs(part.rate_c_per_h) if part.rate_c_per_h is not None else natural
    recent = view.line(180.0, not_before_s)
    falls = recent is not None and (
        recent.slope_c_per_s * 3600 + 2.0 * view.error_c_per_h(recent) < -0.3 * min(planned, natural))
    slow = -slope + 2.0 * error < 0.3 * min(planned, natural) and line.span_s > _STUCK_AFTER_S - 60.0
    if falls or not (climbing or slow) or view.temp_c < 100.0:
        return None
    if not climbing and standing(view) is not None:
        return None  # it stands in a hold that is due, only not where it should
    above = view.anneal is not None and view.temp_c - view.offset_k > view.anneal.to_c + (
        FAR_K if part.index < view.anneal.index else 10.0)
    rank = Rank.WAKE if climbing or above else Rank.LOOK
    return Finding(KIND, rank, view.t_s - line.span_s, NotCooling(slope, view.temp_c, part.to_c, climbing), part.step,
                   severity_c=view.temp_c)


def _may_not_be_done_above(view: View, fall: PlannedPart) -> bool:
    """Return whether the kiln may still be on its way to the top before ``fall``, or in that top's hold.

    A peek leaves a dip that looks like the beginning of the fall; so does a weak kiln that creeps to its top.
    """
    if fall.index < 2:
        return False
    climb, top = view.parts[fall.index - 2], view.parts[fall.index - 1]
    lately_c = max(view.trail.temps[view.trail.index_at(view.t_s - _STUCK_AFTER_S):], default=view.temp_c)
    if climb.direction > 0 and lately_c > view.peak_c - _AT_PEAK_K and (
            view.peak_c - view.offset_k < top.to_c - _SHORT_OF_TOP_K):
        return True  # as hot as it has ever been, and its top never reached
    if climb.direction <= 0 or top.part != "hold" or view.temp_c - view.offset_k < top.to_c - FAR_K:
        return False
    highest_c = max(view.trail.temps[view.trail.index_at(view.part_start_s - 1800.0):], default=view.temp_c)
    if highest_c - view.offset_k < top.to_c - view.near_k:
        return True
    return view.t_s - view.part_start_s < top.duration_s + _STUCK_AFTER_S / 2


def _words(finding: Finding[NotCooling], speaker: Speaker) -> Text:
    facts = finding.facts
    does = f"climbing {speaker.rate(facts.rate_c_per_h)}" if facts.is_climbing else "and it stays there"
    what = f"Not cooling: {speaker.temp(facts.temp_c)}, {does}; the plan falls to {speaker.temp(facts.to_c)}."
    if facts.is_climbing:
        return Text(
            what=what,
            meaning="The power may not switch off, or the controller runs another step. Soft glass goes on "
                    "flowing and hazing.",
            do="Switch off at the isolator, unless the controller shows a climb of its own and the kiln stops "
               f"climbing when you stop it there: contacts can weld. {ELECTRIC} {CLOSED}",
        )
    return Text(
        what=what,
        meaning="The controller may wait in a step, or the power may not switch off. Above the anneal the glass "
                "goes on flowing and hazing.",
        do=f"Look at the controller's step and target; advance it if it waits. {ELECTRIC}",
    )


KIND = Kind(
    name="not-cooling",
    watch=AtBeats(lambda setup: not_cooling),
    words=_words,
    examples=(
        Example(NotCooling(60.0, 700.0, 516.0, True), "climbing above the anneal"),
        Example(NotCooling(-1.0, 490.0, 461.0, False), "staying in the cooling"),
    ),
    on_delay_s=60.0, off_delay_s=300.0,
    family=Family.PLAN,
    explained_by=(Saying.LENGTHENED,),
    may_stand_under=("sudden-drop", "firing-stopped", "restarted", "hold-cut-short", "over-temperature"),
)
