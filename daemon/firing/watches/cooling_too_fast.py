"""Falling faster than planned through the range where the glass keeps what it suffers."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.rate_test import surest
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import Interruption, View
from daemon.firing.speaker import LID, Speaker
from daemon.glass.advice import TARGET_MPA, anneal, staying_rate_c_per_h, waking_cooling_c_per_h
from daemon.glass.practice import AS_GOOD_TIMES

RECENT_S = 180.0
WAKE_TIMES = 1.4
WAKE_BEYOND, WAKE_BEYOND_LATER, WAKE_ANYWHERE = 1.0, 1.5, 3.0
"""Standard errors by which a fall that is surely too fast must pass WAKE_TIMES: in the surest window, or in any.

A fall of 1.3 times has many windows in which to look like 1.4 by chance. The surest one grows with it and tells it
better every minute, so it need not be so strict; once it is long there is no hurry either.
"""
_LATER_S = 700.0
THICK_MM = 12.0
THICK_WAKE_TIMES = 3.0
_BELOW_HOLD_K = 10.0
_YOUNG_SHARE = 0.3
"""An anneal hold is young until this share of it: what falls then may be the controller that swings in."""
_DROPPED_K, _LEFT_K, _HELD_SHARE = 4.0, 10.0, 0.8
"""So far below its level a hold is left once it is about due; before that share of it, it may only swing [K]."""


@dataclass(frozen=True, slots=True)
class CoolingTooFast:
    """A fall that is faster than planned, or than the load bears."""

    fall_c_per_h: float
    planned_c_per_h: float | None
    """None where the plan is free here."""
    bears_c_per_h: float
    """What the load ordinarily bears."""
    temp_c: float
    faces: int
    """How many faces of the load cool."""
    band_low_c: float
    """The lower end of the annealing range."""
    in_band: bool
    """Whether the kiln is in the annealing range."""
    one_mpa_c_per_h: tuple[float, float]
    """Rates that would leave 1 MPa in the core of the thickest piece, with one face cooled and with two."""


def cooling_too_fast(view: View) -> Finding[CoolingTooFast] | None:
    """Return the finding where the fall is faster than planned, in the band or below it."""
    planned = _planned_fall(view)
    if planned is None or view.temp_c > view.glass.band_high_c + 2.0:
        return None
    in_band = view.temp_c >= view.glass.band_low_c
    if view.swings_to_anneal or (not in_band and view.peak_c < view.glass.band_low_c):
        return None  # or it was joined when all was over
    waking = waking_cooling_c_per_h(view.glass, view.thickness_mm, view.faces)
    if planned.rate_c_per_h is None:
        return _free_through_band(view, planned, waking) if in_band else None
    rate = view.governing_fall_c_per_h(planned)
    not_before_s = _fall_from_s(view, planned)
    recent = view.line(RECENT_S, not_before_s)
    if recent is None or -recent.slope_c_per_s * 3600 < 0.85 * AS_GOOD_TIMES * rate:
        return None
    look = surest(view, AS_GOOD_TIMES * rate, not_before_s, way=-1, planned_c_per_h=rate)
    if look is None or view.rises:
        return None
    wake_rate = WAKE_TIMES * rate
    if waking > AS_GOOD_TIMES * rate:
        wake_rate = min(wake_rate, waking)
    if not in_band:
        wake_rate = THICK_WAKE_TIMES * rate if view.thickness_mm > THICK_MM else float("inf")
    wake = surest(view, wake_rate, not_before_s, way=-1, planned_c_per_h=rate, beyond=WAKE_ANYWHERE)
    beyond = WAKE_BEYOND if view.t_s - look.since_s <= _LATER_S else WAKE_BEYOND_LATER
    if wake is None and look.c_per_h > wake_rate + beyond * look.error_c_per_h:
        wake = look
    found = wake or look
    facts = _facts(view, found.c_per_h, rate, in_band=in_band)
    return Finding(KIND, Rank.WAKE if wake else Rank.LOOK, found.since_s, facts, planned.step)


def _planned_fall(view: View) -> PlannedPart | None:
    """Return the falling ramp that governs now: from the anneal hold on, or once below its target."""
    part, anneal = view.part, view.anneal
    if part is None:
        return None
    if anneal is None:
        return part if part.direction < 0 else None
    below = view.temp_c - view.offset_k < anneal.to_c - max(_BELOW_HOLD_K, view.near_k)
    if part.index < anneal.index:
        if not view.leads_to_anneal(part.index):
            return part if part.direction < 0 else None  # a fall that climbs again: only its own rate is asked
        return view.next_fall(anneal.index) if below and part.direction < 0 else None
    if part.part == "ramp":
        return part if part.direction < 0 and not _only_swings(view, anneal) else None
    level = view.found[-1].mean_c if view.found else None
    early = view.t_s - view.part_start_s < _HELD_SHARE * part.duration_s
    dropped = level is None or view.temp_c < level - (_LEFT_K if early else _DROPPED_K)
    return view.next_fall(part.index) if dropped else None


def _only_swings(view: View, anneal: PlannedPart) -> bool:
    """Return whether the fall begins out of a young hold or none, and is no deeper than a controller swings."""
    if len(view.found) < 2 or view.found[-1].index != anneal.index + 1 or view.found[-2].index > anneal.index:
        return False
    level_c: float | None = anneal.to_c + view.offset_k
    if view.found[-2].index == anneal.index:
        level_c = view.found[-2].mean_c
        if view.found[-1].start_s - view.found[-2].start_s >= _YOUNG_SHARE * anneal.duration_s:
            return False
    return level_c is not None and view.temp_c > level_c - _LEFT_K


def _fall_from_s(view: View, planned: PlannedPart) -> float:
    """Return the second before which the windows must not reach: the free fall into the hold.

    The hold itself may be in the window (it only slows the line); the fall that led to it may not.
    """
    found = view.found
    start_s = found[-1].start_s if found else 0.0
    if view.anneal is not None and found and found[-1].index < view.anneal.index:
        passed_s = view.last_at_or_above(view.anneal.to_c + view.offset_k, start_s)
        return max(passed_s if passed_s is not None else start_s, view.resumed_s)
    if found and found[-1].part == "hold":
        start_s = found[-1].start_s + 240.0
    elif len(found) >= 2 and found[-1].index == planned.index and found[-2].part == "hold":
        start_s = min(start_s, max(found[-2].start_s + 240.0, start_s - 120.0))
    return max(start_s, view.resumed_s)


def _bears_c_per_h(view: View, *, in_band: bool) -> float:
    """Return the cooling that the thickest piece ordinarily bears [°C/h]: through the band, or further down here."""
    asks = anneal(view.glass, view.thickness_mm, view.faces)
    return asks.bears_c_per_h if in_band else asks.bears_at_c_per_h(view.temp_c)


def _facts(view: View, fall_c_per_h: float, planned_c_per_h: float | None, *, in_band: bool) -> CoolingTooFast:
    one_face, two_faces = (staying_rate_c_per_h(view.glass, view.thickness_mm, faces, 1.0) for faces in (1, 2))
    return CoolingTooFast(
        fall_c_per_h, planned_c_per_h, _bears_c_per_h(view, in_band=in_band), view.temp_c, view.faces,
        view.glass.band_low_c, in_band, (one_face, two_faces))


def _free_through_band(view: View, planned: PlannedPart, waking_c_per_h: float) -> Finding[CoolingTooFast] | None:
    """Return the one look for a plan that is itself free in the band, where the load can't bear the fall."""
    found = surest(view, waking_c_per_h, _fall_from_s(view, planned), way=-1)
    if found is None:
        return None
    return Finding(KIND, Rank.LOOK, found.since_s, _facts(view, found.c_per_h, None, in_band=True), planned.step)


def _breaks_off(finding: Finding[CoolingTooFast], view: View) -> Interruption | None:
    """Return where the fall began: in the annealing range the anneal has to be done again."""
    ramp = next((p for p in view.parts if p.step == finding.step and p.part == "ramp"), None)
    if not finding.facts.in_band or ramp is None:
        return None
    first = min(view.trail.index_at(finding.since_s), len(view.trail.temps) - 1)
    return Interruption(finding.since_s, ramp.index, 0.0, view.trail.temps[first])


def _words(finding: Finding[CoolingTooFast], speaker: Speaker) -> Text:
    facts, rate, temp = finding.facts, speaker.rate, speaker.temp
    asked = f"planned {rate(facts.planned_c_per_h)}" if facts.planned_c_per_h else "planned free"
    what = f"Cooling too fast: {rate(facts.fall_c_per_h)}, {asked}, now {temp(facts.temp_c)}."
    faces = "one cooled face" if facts.faces == 1 else "both faces cooled"
    load = (f"{speaker.thickness_mm:g} mm ordinarily bears about {rate(facts.bears_c_per_h)} here ({faces}, flat and "
            "even; uneven work less).")
    if not facts.in_band:
        return Text(what, "Below the anneal range stress no longer stays, but thick glass can still crack. "
                    + load, "Close vents and lid and leave the kiln closed. " + LID)
    return Text(
        what=what,
        meaning=_staying(facts) + load,
        do="Look whether lid, vent or plug stands open. " + LID
           + (" If the rate is keyed in wrong, key in the planned one." if facts.planned_c_per_h else
              f" If nothing does, the plan itself is too fast here: next time key in about "
              f"{rate(facts.bears_c_per_h)}.")
           + " If it fell far, " + speaker.back_to_anneal(facts.temp_c),
        time_left_s=max(0.0, (facts.temp_c - facts.band_low_c) / max(facts.fall_c_per_h, 1.0) * 3600),
    )


def _staying(facts: CoolingTooFast) -> str:
    """Return what stays in the glass at the measured and at the planned rate, from two cooled faces to one."""
    one_face, two_faces = facts.one_mpa_c_per_h

    def stays(c_per_h: float) -> str:
        return f"about {c_per_h / two_faces:.1f} to {c_per_h / one_face:.1f} MPa"

    at_plan = f", at the planned rate {stays(facts.planned_c_per_h)}" if facts.planned_c_per_h else ""
    return (f"At this rate {stays(facts.fall_c_per_h)} of stress stays in the glass{at_plan}; up to {TARGET_MPA:g} "
            "is well annealed (flat, even glass; the lower figure where both faces cool). ")


_ONE_MPA = (196.6, 786.6)
"""6 mm of family 90: 3·2κ(1−ν)/(1.7·Eα·L²), see tests/daemon/glass."""
KIND = Kind(
    name="cooling-too-fast",
    watch=AtBeats(lambda setup: cooling_too_fast),
    words=_words,
    examples=(
        Example(CoolingTooFast(137.0, 55.0, 80.0, 500.0, 1, 438.6, True, _ONE_MPA), "in the anneal range"),
        Example(CoolingTooFast(300.0, None, 80.0, 500.0, 2, 438.6, True, _ONE_MPA),
                "in the anneal range, planned free, both faces"),
        Example(CoolingTooFast(300.0, 90.0, 150.0, 420.0, 1, 438.6, False, _ONE_MPA), "below it"),
    ),
    on_delay_s=20.0, off_delay_s=300.0,
    family=Family.PLAN,
    explained_by=(Saying.PEEKED, Saying.VENTED, Saying.ADVANCED),
    may_stand_under=("sudden-drop", "firing-stopped", "hold-cut-short"),
    breaks_off=_breaks_off,
)
