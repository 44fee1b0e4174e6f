"""What follows if nobody gets up: the one place that decides whether a finding is worth a wake.

Finding and rank are two questions (the idea of alarm rationalisation in IEC 62682 and ISA-18.2, from memory). A watch
finds that the kiln does something else than planned, and how sure and lasting it is. Here it is asked what the glass
would lose by it and whether an act before morning changes that. Where the answer is no, a wake becomes a look. No
finding becomes louder here.

A look is for the morning. What ends by itself within minutes and has cost nothing leaves nothing to look at, and is
only noted until it has lasted.

One consequence is not the glass's: a kiln that may not stop is a danger to itself and to the house, and an act before
morning prevents it.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from daemon.firing.detection.fast_climb import SEVERAL
from daemon.firing.detection.hold_level import FAR_K
from daemon.firing.detection.known_climb import Beside
from daemon.firing.detection.late_climb import CREEPS_K
from daemon.firing.detection.rate_test import LIKELY, surest
from daemon.firing.detection.runaway import FALLS_C_PER_H
from daemon.firing.detection.steps.heat_under_air import GIVEN_BACK_S
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.anneal_outlook import does_as_read, is_held, will_be_held
from daemon.firing.situation.hold_measure import WAITS_S
from daemon.firing.situation.top_done import is_top_as_good_as_done, may_be_ended_by_hand
from daemon.firing.situation.view import NEVER_NEAR_K, View
from daemon.firing.watches.cooling_too_fast import CoolingTooFast
from daemon.firing.watches.firing_stopped import FiringStopped, least_natural_fall
from daemon.firing.watches.heating_too_fast import HeatingTooFast
from daemon.firing.watches.hold_cut_short import HoldCutShort
from daemon.firing.watches.hold_off_target import HoldOffTarget
from daemon.firing.watches.not_climbing import NotClimbing, left_k
from daemon.firing.watches.restarted import Restarted
from daemon.glass.advice import TRANSIENT_MPA, climbing_core_mpa
from daemon.glass.common_practice import is_opened_here

_CLIMBS_S = 600.0
"""A climb far too fast wakes once it has lasted so long [s].
[chosen: air under a lid just shut has come up by then]"""


_SLACKENS_S = 180.0
"""Whether a fall or climb slackens is asked of so long at least [s].
[chosen: two halves in each of which a slope is seen]"""
_CLIMBS_ON_S = 900.0
"""A climb that is too fast is a look once it has lasted so long [s]. [common practice: a kiln whose vent was shut
takes a quarter of an hour]"""
_PACE_S, _SOON_S = 300.0, 1800.0
"""How fast a kiln that heats again climbs is asked of so long [s], and it wakes so long before the glass loses by it
[s]. [chosen: two halves in each of which a slope is seen; time to wake up, to read the controller and to stop it]"""
_HARDLY_TIMES = 1.22
"""A fall of fewer times the planned one is only noted: a fifth more stress is less than is known of it.
[tuned: falls of 1.3 times, seed 1061, are read as 1.23 times or more when they are told]"""
_WARM_K = 10.0
"""An anneal hold that is too hot by less is only noted [K]. [derived: what stays is decided by the fall through the
range, and stress relaxes faster there; the range itself is some 50 K wide]"""


def weigh(findings: list[Finding[Any]], view: View, *, is_lid_told: bool = False) -> list[Finding[Any]]:
    """Return the findings, each no louder than what follows from it is worth.

    ``is_lid_told`` while the alert of an open lid stands. An anneal that is lost by it wakes nobody by itself: the
    lid does (daemon/firing/watches/sudden_drop.py), and it says what to key in, so that one trouble has one alert.
    """
    weighed = [_weighed(finding, view) for finding in findings]
    return [replace(finding, rank=_quieter(finding.rank)) if is_lid_told and is_anneal_lost(finding) else finding
            for finding in weighed]


def is_anneal_lost(finding: Finding[Any]) -> bool:
    """Return whether a finding, weighed, says that the anneal ended too soon for this glass."""
    return was_anneal_enough(finding) is False


def was_anneal_enough(finding: Finding[Any]) -> bool | None:
    """Return whether an anneal that ended too soon was long enough for this glass; None where it tells of none.

    This is the one answer: the alert's words, the verdict (daemon/firing/report.py) and the page of now go by it.
    """
    facts = finding.facts
    return facts.is_enough if isinstance(facts, HoldCutShort) and facts.undone is not None else None


def _weighed(finding: Finding[Any], view: View) -> Finding[Any]:
    """Return one finding, no louder than a look where nothing is lost or nothing can be done any more.

    A look that would be about nothing in the morning is a line in the log.
    """
    quiet = _woken(finding, view)
    return replace(quiet, rank=Rank.LOG) if quiet.rank is Rank.LOOK and _is_nothing_yet(quiet, view) else quiet


def _is_nothing_yet(finding: Finding[Any], view: View) -> bool:
    """Return whether a look leaves nothing to look at in the morning, should it end now."""
    lasted_s = view.t_s - finding.since_s
    match finding.facts:
        case CoolingTooFast(in_band=False, fall_c_per_h=fall, bears_c_per_h=bears, temp_c=temp_c) if (
                fall <= bears or is_opened_here(temp_c, view.thickness_mm)):
            return True  # no stress stays there, and the piece bears it
        case CoolingTooFast(fall_c_per_h=fall, planned_c_per_h=planned):
            return planned is not None and fall < _HARDLY_TIMES * planned
        case HeatingTooFast(may_not_stop=False):
            return lasted_s < _CLIMBS_ON_S
        case HoldOffTarget(is_anneal=True, off_k=off_k):
            return 0.0 < off_k < _WARM_K
        case NotClimbing(beside=Beside.WEAKER):
            return False
        case NotClimbing(flat_s=None):
            return left_k(view, finding.facts) < CREEPS_K
        case NotClimbing(flat_s=flat_s, late_s=late_s) if flat_s is not None:
            return flat_s < WAITS_S and (
                late_s is None or left_k(view, finding.facts) < FAR_K
                or _is_in_hold_before(view, finding.step or 0))
    return False


def _is_in_hold_before(view: View, step: int) -> bool:
    """Return whether the kiln stands where the step before ``step`` holds: the hold goes on, and no climb has begun.

    A maker adds minutes, and a controller counts them from its own set-point. A climb that stalls on its way does not
    stand there.
    """
    hold = next((part for part in view.parts if part.step == step - 1 and part.part == "hold"), None)
    return hold is not None and abs(view.temp_c - view.offset_k - hold.to_c) < view.near_k


def _woken(finding: Finding[Any], view: View) -> Finding[Any]:
    """Return one finding, a look where it would wake for nothing."""
    match finding.facts:
        case HoldCutShort(held_s=held_s, undone=undone) as facts if undone is not None and is_held(view, held_s):
            return replace(finding, rank=_quieter(finding.rank), facts=replace(facts, is_enough=True))
        case HoldOffTarget(is_anneal=True, off_k=off_k) as facts if off_k < 0.0 and will_be_held(
                view, off_k, finding.since_s):
            is_enough = does_as_read(view, off_k)
            return replace(finding, rank=_quieter(finding.rank),
                           facts=replace(facts, is_enough=is_enough, may_be_enough=not is_enough))
        case HeatingTooFast(may_not_stop=False) as facts if _is_borne(view, facts, finding.since_s):
            return replace(finding, rank=_quieter(finding.rank), facts=replace(facts, is_borne=True))
        case CoolingTooFast(planned_c_per_h=planned) if _dies_out(
                view, finding.since_s, way=-1, planned_c_per_h=planned or 0.0, least_c_per_h=0.0):
            return replace(finding, rank=_quieter(finding.rank))
        case HeatingTooFast(may_not_stop=False, planned_c_per_h=planned) if _dies_out(
                view, finding.since_s, way=+1, planned_c_per_h=planned, least_c_per_h=(SEVERAL - 1.0) * planned):
            return replace(finding, rank=_quieter(finding.rank))
        case Restarted(dark=False) as facts if _has_time(view, facts, finding.since_s):
            return replace(finding, rank=_quieter(finding.rank))
        case FiringStopped(undone=undone) if _needs_no_top(
                view, view.parts[undone.index], finding.since_s) or _dies_out(
                view, finding.since_s, way=-1, planned_c_per_h=0.0, least_c_per_h=least_natural_fall(view.temp_c)):
            return replace(finding, rank=_quieter(finding.rank))
    return finding


def _dies_out(view: View, since_s: float, *, way: int, planned_c_per_h: float, least_c_per_h: float) -> bool:
    """Return whether a fall (``way`` −1) or climb (+1) since ``since_s`` [s] goes back to its plan by itself.

    Counted is what it goes faster than planned. In the second half of the time looked at, which grows with its age,
    that must be no more than half of what it was in the first half, or half of ``least_c_per_h``, the least that is
    told (0 where none is). What slackens so costs less with every minute: waiting is cheap, and soon shows whether a
    controller has caught the kiln. What goes on as it did wakes. Where no least is told, the first half must also be
    LIKELY times its error: in the slow fall of thick glass noise would look like slackening.

    (Weighed: the elements of a kiln that lost its power. They cool within the first minutes, and its fall is slower
    after them, but by less than half. And that error asked of the second half: with it a fall must slacken for
    minutes more, while it wakes.)
    """
    span_s = max(_SLACKENS_S, (view.t_s - since_s) / 2)
    halves = view.trail.halves(view.t_s - span_s, view.t_s)
    if halves is None:
        return False
    before, now = (way * line.slope_c_per_s * 3600 - planned_c_per_h for line in halves)
    is_seen = least_c_per_h > 0.0 or before > LIKELY * view.error_c_per_h(halves[0])
    return is_seen and now <= max(before, least_c_per_h) / 2


def _has_time(view: View, again: Restarted, since_s: float) -> bool:
    """Return whether a kiln that heats again since ``since_s`` [s] may do so for another half hour at no cost.

    It may while its anneal is still to be done, and it has not been colder than the annealing range since its top:
    then no stress stays, and no glass is brittle. It costs something where a piece of this thickness does not
    ordinarily bear the climb, and where the kiln comes near its top. What climbs on after a quarter of an hour wakes
    in any case, as a program or a welded contact, unless it is about as hot as at its anneal.
    (Weighed: a reading that comes back after a fall without power, a vent or a swing of the controller. It may climb
    for longer than it takes to tell a climb, but ever more slowly, and ends near the anneal.)
    """
    line = view.line(_PACE_S, max(view.resumed_s, since_s))
    is_colder = view.was_near_top and again.lowest_c - view.offset_k < view.glass.band_low_c
    if line is None or view.is_annealed or is_colder:
        return False
    lasted_s, pace = view.t_s - since_s, max(0.0, line.slope_c_per_s * 3600)
    if lasted_s >= GIVEN_BACK_S and not view.is_near_anneal and _climbs_on(view, since_s):
        return False
    soon_c = view.temp_c - view.offset_k + (pace + LIKELY * view.error_c_per_h(line)) * _SOON_S / 3600
    core_mpa = climbing_core_mpa(view.glass, view.thickness_mm, view.faces, pace, lasted_s + _SOON_S)
    return core_mpa <= TRANSIENT_MPA and soon_c < view.plan.highest_c - NEVER_NEAR_K


def _climbs_on(view: View, since_s: float) -> bool:
    """Return whether a climb since ``since_s`` [s] surely went on in the last quarter of an hour."""
    from_s = max(view.resumed_s, since_s, view.t_s - GIVEN_BACK_S)
    return surest(view, FALLS_C_PER_H, from_s, way=+1) is not None and not _dies_out(
        view, since_s, way=+1, planned_c_per_h=0.0, least_c_per_h=0.0)


def _needs_no_top(view: View, undone: PlannedPart, left_s: float) -> bool:
    """Return whether ``undone``, left at ``left_s`` [s], is a top that nobody has to get up for."""
    return is_top_as_good_as_done(view, undone, left_s) or may_be_ended_by_hand(view, undone, left_s)


def _quieter(rank: Rank) -> Rank:
    """Return ``rank``, or a look where it is a wake."""
    return Rank.LOOK if rank is Rank.WAKE else rank


def _is_borne(view: View, climb: HeatingTooFast, since_s: float) -> bool:
    """Return whether a climb since ``since_s`` [s] is no reason to get up, whether or not it goes on.

    It is not where a fused piece of this thickness ordinarily bears it, nor where it is less than SEVERAL times as
    fast as planned: a maker who plans that fast knows her load, which may be loose grains that cannot crack. Nor
    before it has lasted for _CLIMBS_S.
    """
    if view.t_s - since_s < _CLIMBS_S or climb.rate_c_per_h < SEVERAL * climb.planned_c_per_h:
        return True
    return climbing_core_mpa(view.glass, view.thickness_mm, view.faces, climb.rate_c_per_h,
                             view.t_s - since_s) <= TRANSIENT_MPA
