"""The kiln falls faster than planned where the stress that this makes stays in the glass, or can crack thick glass.

From the anneal hold on, or from where a fall has passed it, the slope over windows of 3 to 40 min is compared with
the planned one (daemon/firing/detection/rate_test.py). A fall of more than AS_GOOD_TIMES the plan is noted. It is a
look once it is below its planned line and goes on after the elements fell silent. In the annealing range it wakes
from WAKE_TIMES the plan on, or sooner where flat, even glass of this thickness would suffer. Below the range only
thick glass can still crack: that wakes from THICK_WAKE_TIMES the plan on, and thin glass is a look.

It is not raised

- above the annealing range, nor below it where the glass never was in it, as when a firing is joined at its end;
- where the plan itself falls freely, unless it does so through the range faster than the load bears: one look;
- for the free fall that leads to the anneal, and for a controller that swings as it catches the kiln there: a young
  hold, or none yet, is left only where the kiln is 10 K below it. A kiln that was cooled through its vents swings
  further;
- for a fall that is over: the last three minutes must still be as fast, and the last minute must not rise, as it does
  after a lid was shut.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from daemon.firing.detection.fall_start import fall_start, silence
from daemon.firing.detection.governing_fall import fall_from_s, governing_fall
from daemon.firing.detection.keyed_climb import is_just_keyed_in
from daemon.firing.detection.rate_test import LEAST_SPAN_S, LIKELY, Rate, harsh_k, least_moved_k, surest
from daemon.firing.detection.steps.heat_under_air import VENT_S
from daemon.firing.events import IfNotKeyed, Rank, Saying, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.element_share import MOST_K
from daemon.firing.situation.view import Interruption, View
from daemon.firing.speaker import CLOSE_LID, CLOSED, Speaker
from daemon.glass.advice import TARGET_MPA, anneal, staying_rate_c_per_h, waking_cooling_c_per_h
from daemon.glass.common_practice import AS_GOOD_TIMES, THICK_MM

RECENT_S, _RECENT_SHARE = 180.0, 0.85
"""Over so long [s] a fall still has this share of the rate that is too fast.
[tuned: by trial on the bench, study not kept]"""
WAKE_TIMES = 1.4
"""A fall of so many times the planned one wakes in the annealing range. [chosen: from there on it wakes]"""
WAKE_BEYOND, WAKE_BEYOND_LATER, WAKE_ANYWHERE = 1.0, 1.5, 3.0
"""Standard errors by which a fall that is surely too fast must pass WAKE_TIMES: in the surest window, or in any.

A fall of 1.3 times has many windows in which to look like 1.4 by chance. The surest one grows with it and tells it
better every minute, so it need not be so strict; once it is long there is no hurry either.
[tuned: falls of 1.3 and 1.6 times, seeds 7000 to 7039]
"""
_BEYOND_K = 4.0
"""So much further below the planned line is more than silent elements make [K].
[chosen: a start that is dated two minutes wrong, and slow air, together; a fall of 1.6 times 55 °C/h is so far below
after seven minutes]"""
_LATER_S = 700.0
"""A fall is long from here on [s].
[tuned: by trial on the bench, study not kept]"""
_GOES_ON_SHARE = 0.75
"""A fall slackens that is in its second half faster than planned by less than this share of what it is on the whole
[1]. [derived: of an exponential after one time constant, 2·(e^−½ − e^−1)/(1 − e^−1)]"""
_AT_KILN_S = 600.0
"""Somebody who is woken stands at the kiln by then [s]. [chosen: ten minutes, dressed and gloved]"""
THICK_WAKE_TIMES = 3.0
"""A fall of so many times the planned one wakes below the annealing range, where glass is thicker than THICK_MM.
[common practice]"""
_ABOVE_BAND_K = 2.0
"""The annealing range is counted from so far above its upper end [K].
[tuned: by trial on the bench, study not kept]"""


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
    if view.temp_c > view.glass.band_high_c + _ABOVE_BAND_K:
        return None
    planned = governing_fall(view)
    if planned is None:
        return None
    in_band = view.temp_c >= view.glass.band_low_c
    if view.swings_to_anneal or (not in_band and view.peak_c < view.glass.band_low_c) or (
            _is_hot_under_vent(view) or is_just_keyed_in(view)):
        return None
    if planned.rate_c_per_h is None:
        return _free_through_band(view, planned) if in_band else None
    rate = view.governing_fall_c_per_h(planned)
    not_before_s = fall_from_s(view)
    recent = view.line(RECENT_S, not_before_s)
    if view.rises or recent is None or -recent.slope_c_per_s * 3600 < _RECENT_SHARE * AS_GOOD_TIMES * rate:
        return None
    noted = surest(view, AS_GOOD_TIMES * rate, not_before_s, way=-1, planned_c_per_h=rate)
    if noted is None:
        return None
    rank, found = _ranked(view, noted, rate, not_before_s, in_band=in_band)
    facts = _facts(view, found.c_per_h, rate, in_band=in_band)
    return Finding(KIND, rank, min(found.since_s, noted.since_s), facts, planned.step)


def _is_hot_under_vent(view: View) -> bool:
    """Return whether a vent stands open, and brick and glass under it are still above the annealing range.

    It was opened in a free fall from far above. The air then reads far below the glass, and falls fast.
    """
    is_open = view.vented_s is not None and view.t_s - view.vented_s < VENT_S
    return is_open and view.kiln_c is not None and view.kiln_c - view.offset_k > view.glass.band_high_c


def _ranked(view: View, noted: Rate, planned_c_per_h: float, not_before_s: float, *,
            in_band: bool) -> tuple[Rank, Rate]:
    """Return how loud a fall is that is surely too fast, and by which rate.

    It is only noted while all that shows may be elements that fell silent, and a look where the kiln fell on too
    fast after that. What it fell on by must itself pass the limit to wake: the line of the whole fall holds what it
    began with for as long as it is looked at. (Weighed: a standard error asked of that too. One fall of 1.6 times in
    fifteen then waited for three minutes more.)

    Silent elements let the reading sink by so much and no further, so a kiln that is deeper below its line than they
    make is not waited for, unless it slackens and is no deeper than silent elements make in any kiln: such a dip is a
    look at once, since a lid or vent opened a little begins so as well. (Weighed: vents that are opened a little and
    make no such dip. Their fall is as fast at first, and goes on after these minutes, so that the look comes once
    that is likely.)
    """
    start = fall_start(view, noted, planned_c_per_h)
    silent_k, silent_s = silence(view)
    beyond_k = _BEYOND_K + harsh_k(view)
    is_deep = start.below_k > silent_k + beyond_k
    is_dip = is_deep and start.below_k <= MOST_K + beyond_k and _slackens(view, start.begins_s, planned_c_per_h)
    settled_s = max(not_before_s, start.begins_s + (silent_s if is_dip or not is_deep else 0.0))
    fall = _falls_on(view, planned_c_per_h, max(settled_s, noted.since_s))
    if start.below_k < least_moved_k(view) or fall <= AS_GOOD_TIMES * planned_c_per_h:
        return Rank.LOOK if is_dip else Rank.LOG, noted
    limit = _wake_rate_c_per_h(view, planned_c_per_h, in_band=in_band)
    wake = surest(view, limit, settled_s, way=-1, planned_c_per_h=planned_c_per_h, beyond=WAKE_ANYWHERE)
    if wake is not None:
        return Rank.WAKE, wake
    beyond = WAKE_BEYOND if view.t_s - noted.since_s <= _LATER_S else WAKE_BEYOND_LATER
    goes_on = surest(view, AS_GOOD_TIMES * planned_c_per_h, settled_s, way=-1, planned_c_per_h=planned_c_per_h)
    is_past = noted.c_per_h > limit + beyond * noted.error_c_per_h and fall > limit
    return (Rank.WAKE if is_past and goes_on is not None else Rank.LOOK), noted


def _slackens(view: View, begins_s: float, planned_c_per_h: float) -> bool:
    """Return whether a fall that began at ``begins_s`` [s] goes on more slowly than it began.

    Where a controller leaves its elements off for some minutes, by its lag, its droop or its hysteresis, or begins
    its integral anew, the kiln dips by 10 to 20 K. What falls only so far slackens. A fall that is keyed in too fast,
    and a kiln without power, go on or gather pace. So two minutes tell apart what neither depth nor rate does.

    (Weighed: to wait while the glass eases sooner than its plan would have brought it there. That held for thick
    glass in slow ramps alone. And to compare with the kiln's own fall without power: a fall that is too fast because
    of a vent is as fast as these dips.)
    """
    whole, half = view.trail.line(begins_s), view.trail.line((begins_s + view.t_s) / 2)
    if whole is None or half is None:
        return True
    excess, later = (-line.slope_c_per_s * 3600 - planned_c_per_h for line in (whole, half))
    return later < _GOES_ON_SHARE * excess


def _falls_on(view: View, planned_c_per_h: float, from_s: float) -> float:
    """Return how fast the kiln has fallen since ``from_s`` [s, °C/h]; 0 where likely no faster than planned."""
    line = view.trail.line(from_s, least_s=LEAST_SPAN_S)
    if line is None:
        return 0.0
    rate = -line.slope_c_per_s * 3600
    return rate if rate - LIKELY * view.error_c_per_h(line) > planned_c_per_h else 0.0


def _wake_rate_c_per_h(view: View, planned_c_per_h: float, *, in_band: bool) -> float:
    """Return the fall from which it wakes [°C/h]; infinite where none does.

    Weighed: to wake only above the end of the advised first stage, some 20 K above the end of the range. By the slab
    a fall ten times as fast that begins below it leaves no more stress (tests of the advice). But an open lid or lost
    power, which make such a fall, do not end by themselves, and where the glass stands is only an estimate.
    """
    if not in_band:
        return THICK_WAKE_TIMES * planned_c_per_h if view.thickness_mm > THICK_MM else inf
    limit = WAKE_TIMES * planned_c_per_h
    suffers = waking_cooling_c_per_h(view.glass, view.thickness_mm, view.faces)
    # A plan that is itself as fast as the load suffers is the maker's choice.
    return min(limit, suffers) if suffers > AS_GOOD_TIMES * planned_c_per_h else limit


def _bears_c_per_h(view: View, *, in_band: bool) -> float:
    """Return the cooling that the thickest piece ordinarily bears [°C/h]: through the band, or further down here."""
    asks = anneal(view.glass, view.thickness_mm, view.faces)
    return asks.bears_c_per_h if in_band else asks.bears_at_c_per_h(view.temp_c)


def _facts(view: View, fall_c_per_h: float, planned_c_per_h: float | None, *, in_band: bool) -> CoolingTooFast:
    """Return what the words need: the fall, the planned one, what the load bears, and what would stay in it."""
    one_face, two_faces = (staying_rate_c_per_h(view.glass, view.thickness_mm, faces, 1.0) for faces in (1, 2))
    return CoolingTooFast(
        fall_c_per_h, planned_c_per_h, _bears_c_per_h(view, in_band=in_band), view.temp_c, view.faces,
        view.glass.band_low_c, in_band, (one_face, two_faces))


def _free_through_band(view: View, planned: PlannedPart) -> Finding[CoolingTooFast] | None:
    """Return the look for a plan that itself falls freely through the band, where the load suffers from the fall."""
    suffers = waking_cooling_c_per_h(view.glass, view.thickness_mm, view.faces)
    found = surest(view, suffers, fall_from_s(view), way=-1)
    if found is None:
        return None
    return Finding(KIND, Rank.LOOK, found.since_s, _facts(view, found.c_per_h, None, in_band=True), planned.step)


def _breaks_off(finding: Finding[CoolingTooFast], view: View) -> Interruption | None:
    """Return where the fall began: in the annealing range the anneal has to be done again."""
    if not finding.facts.in_band:
        return None
    ramp = next(part for part in view.parts if part.step == finding.step)  # a step begins with its ramp
    return Interruption(finding.since_s, ramp.index, 0.0, view.trail.temps[view.trail.index_at(finding.since_s)])


def _words(finding: Finding[CoolingTooFast], speaker: Speaker) -> Text:
    facts, rate, temp = finding.facts, speaker.rate, speaker.temp
    asked = f"planned {rate(facts.planned_c_per_h)}" if facts.planned_c_per_h else "planned free"
    what = f"Cooling too fast, {rate(facts.fall_c_per_h)}, {asked}. The kiln is at {temp(facts.temp_c)}."
    head = f"Cooling too fast: {asked}."
    faces = "one cooled face" if facts.faces == 1 else "both faces cooled"
    load = (f"{speaker.thickness_mm:g} mm usually bears about {rate(facts.bears_c_per_h)} here ({faces}; estimate "
            "for flat, even glass; edges and uneven work are weaker).")
    look = f"Look: is the lid, a vent or the peephole open? {CLOSE_LID}"
    if not facts.in_band:
        return speaker.text(what, "Here stress no longer stays, but thick glass can still crack. " + load, (look,),
                            head=head, caution=CLOSED)
    again_c = speaker.anneal_again_below_c
    is_below = again_c is not None and facts.temp_c < again_c
    will_be_below = again_c is not None and facts.temp_c - facts.fall_c_per_h * _AT_KILN_S / 3600 < again_c
    if facts.planned_c_per_h is None:
        then = (f"All closed? The plan itself is too fast here: next time key in about {rate(facts.bears_c_per_h)}.",)
    elif again_c is None:
        then = (f"All closed? Key in the planned rate, {rate(facts.planned_c_per_h)}.",)
    else:
        then = (f"Was it open, is it closed now, and is the kiln still above {temp(again_c)}? That is all.",)
    if again_c is None:
        when = "If it fell far below the anneal:"
    elif is_below:
        when = f"It is below {temp(again_c)}:"
    elif will_be_below:
        when = f"By the time you arrive it is below {temp(again_c)}, so"
    else:
        when = "It is colder, or nothing was open:"
    keys = speaker.back_to_anneal(facts.temp_c, when)
    return speaker.text(
        what=what, head=head, meaning=_staying(facts) + load,
        acts=(look, *(() if is_below or (will_be_below and facts.planned_c_per_h) else then), keys),
        if_not_keyed=IfNotKeyed.LEAVE, caution=CLOSED,
        time_left_s=max(0.0, (facts.temp_c - facts.band_low_c) / facts.fall_c_per_h * 3600),
    )


def _staying(facts: CoolingTooFast) -> str:
    """Return what stays in the glass at the measured and at the planned rate, from two cooled faces to one."""
    one_face, two_faces = facts.one_mpa_c_per_h

    def stays(c_per_h: float) -> str:
        return f"{c_per_h / two_faces:.1f} to {c_per_h / one_face:.1f} MPa"

    at_plan = f" (as planned: {stays(facts.planned_c_per_h)})" if facts.planned_c_per_h else ""
    return (f"Stress that stays in the glass: about {stays(facts.fall_c_per_h)}{at_plan}. Up to {TARGET_MPA:g} MPa "
            "is well annealed. ")


_ONE_MPA = (196.6, 786.6)
"""For the examples: 6 mm of family 90, one and two faces cooled [°C/h].
[derived: 3·2κ(1−ν)/(1.7·Eα·L²), see tests/daemon/glass]"""
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
    asked_for_by=("over-temperature",),  # as firing-stopped: the plan is over for whoever was told to switch off
    breaks_off=_breaks_off,
)
