"""The one decision: ``step(state, entry) -> (state, events)``.

Live, replayed, rehearsed and re-judged firings all run through here with the same stored entries, so
they come to the same events. The state belongs to its firing and is used up by the call: go on with
the one returned. The stored entries are the truth: stepping through them again, from the beginning or
from a checkpoint (daemon/lifecycle/checkpoint.py), gives the same state.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from statistics import median
from typing import Any

from daemon.firing.alerts.maker_actions import unexplained
from daemon.firing.consequence import is_anneal_lost, was_anneal_enough, weigh
from daemon.firing.detection.blindness import Blindness, is_coded_zero
from daemon.firing.detection.runaway import holds_as_planned, stands_after_fall
from daemon.firing.energy.known_kiln import kiln_now
from daemon.firing.events import Event, PartsRevised, Rank, Said, Sample, Saying
from daemon.firing.kind import Family, Finding, Reading, Stage
from daemon.firing.plan.near_target import near_k
from daemon.firing.plan.plan import Plan
from daemon.firing.setup import Setup
from daemon.firing.situation.interruption import InterruptionMemory
from daemon.firing.situation.level_doubt import low_doubt_k
from daemon.firing.situation.phase import is_before_top, is_blindness_dangerous, planned_free_fall
from daemon.firing.situation.view import SLOW_WINDOW_STEPS, View
from daemon.firing.state import State
from daemon.firing.told_before import is_to_come, take_over
from daemon.firing.tracking.boundary_time import Uncertainty
from daemon.firing.tracking.follower import BEAT_S, SLOPE_WINDOW_S, SWING_MOST_K, SWING_WINDOW_S, Follower
from daemon.firing.tracking.segments import Segment
from daemon.firing.tracking.state_costs import Beat
from daemon.firing.watches import sudden_drop
from daemon.regression import Line

_PEAK_S = 60.0
"""The peak is the highest median of so many seconds. [chosen: a spike is no peak]"""
_RECENT_S = 30.0
"""The temperature of a beat is the median of so many seconds. [chosen: six stored readings, a beat and a half]"""

_SWINGS_WIDELY_K = 8.0
"""Readings that swing by more tell where the kiln is only as a mean over a few swings [K]. [chosen: a little more
than half of how near a hold counts as at its target]"""

_CLIMBS_C_PER_H = 10.0
"""Air that comes back climbs faster than this [°C/h]; slower, it is as warm as the kiln. [chosen: the slope of a beat
is known to some °C/h]"""


def begin(setup: Setup) -> State:
    """Return the state of a firing that has no reading yet."""
    return State(setup)


def begin_keyed_in(setup: Setup, before: State, entries: Iterable[Sample | Said]) -> State:
    """Return the state of a firing by the plan from lines that are being keyed in; as ``begin``, but sooner.

    Parameters
    ----------
    setup
        With that plan.
    before
        The state by the plan that is left, which has taken ``entries``. It is used up.
    entries
        All of the firing until now, in time order.
    """
    state = State(setup)
    for entry in entries:
        _take(state, entry)
    state.before = before
    return state


def step(state: State, entry: Sample | Said) -> tuple[State, tuple[Event, ...]]:
    """Take one entry in time order and return the state after it with what it brought about.

    A reading at or before the last one says nothing new and is passed over. Until the lines of the plan were keyed
    in, the plan before tells, and what comes of the new one is told to nobody (daemon/firing/told_before.py).
    """
    if state.before is None:
        return state, _take(state, entry)
    if not is_to_come(state, entry.t_s):
        return state, (*take_over(state, entry.t_s), *_take(state, entry))
    state.before, events = step(state.before, entry)
    _take(state, entry)
    return state, events


def _take(state: State, entry: Sample | Said) -> tuple[Event, ...]:
    """Take one entry and return what it brings about by the plan of ``state``."""
    if isinstance(entry, Said):
        return _hear(state, entry)
    if state.last is not None and entry.t_s <= state.last.t_s:
        return ()
    if state.probe_out:
        state.last = entry  # it is kept, but says nothing of the kiln
        return ()
    if is_coded_zero(entry.temp_c, state.trail.temps[-1] if state.trail.temps else None):
        entry = entry._replace(temp_c=None, fault="silent")
    if state.setup.offset_k and entry.temp_c is not None:
        entry = entry._replace(temp_c=entry.temp_c - state.setup.offset_k)
    events: list[Event] = []
    state.last = entry
    now = Reading(entry, state.trail, state.offset, state.dangerous, state.blindness.see(entry),
                  by_the_clock=state.by_the_clock, undone_at=state.undone_at, is_anneal_lost=state.is_anneal_lost,
                  is_before_top=state.is_before_top, too_hot_for_any=state.too_hot_for_any)
    if entry.temp_c is None:
        _judge(state, Stage.ENTRY, now, events)
        return tuple(events)
    state.blind.see(entry.t_s, entry.temp_c, state.trail.longest_step_s)
    state.trail.offer(entry.t_s, entry.temp_c)
    (state.unplanned or state.boundaries).count_in(entry.temp_c)
    if state.segments is not None:
        state.segments.count_in(entry.temp_c)
    state.load.offer(entry.t_s, entry.temp_c)
    events += state.calls.see(entry.t_s, entry.temp_c)
    state.minute.append((entry.t_s, entry.temp_c))
    if state.tonight is not None:
        state.tonight.take(entry.t_s, entry.temp_c)
    if state.first_c is None:
        state.first_c, state.first_s = entry.temp_c, entry.t_s
    drop = state.drop.see(entry.t_s, entry.temp_c, state.trail, state.wander.sd_k, falls=state.falls,
                          natural_per_h=state.natural_fall.per_h)
    if drop is not None:
        now = now._replace(drop=drop)
    _judge(state, Stage.ENTRY, now, events)
    _judge(state, Stage.TEMPERATURE, now, events)
    state.doubt.see(entry.t_s, entry.temp_c)
    if entry.t_s >= state.next_beat_s:
        state.next_beat_s = entry.t_s + BEAT_S
        view = _beat(state, entry, events)
        if view is not None:
            now = now._replace(view=view)
    _judge(state, Stage.AFTER_BEAT, now, events)
    return tuple(events)


def _judge(state: State, stage: Stage, now: Reading, events: list[Event]) -> None:
    """Let the watches of ``stage`` see a reading and the board judge what they find."""
    seen = state.watches.see_reading(stage, now)
    for finding in seen:
        false = finding.kind.disbelieves(finding.facts)
        if false is not None:
            state.doubt.tell(false, finding.since_s)
    if not seen and state.board.is_idle:
        return
    t_s = now.sample.t_s
    findings = unexplained(seen, state.said, t_s)
    if findings or now.view is not None or stage is not Stage.AFTER_BEAT:
        events += state.board.judge(t_s, findings, state.watches.kinds_at(stage))


def _hear(state: State, said: Said) -> tuple[Event, ...]:
    """Take what the maker said; return what it brought about."""
    if said.what in (Saying.ACKNOWLEDGE, Saying.QUIET, Saying.OWN_DISPLAY, Saying.OWN_DISPLAY_OFF):
        return tuple(state.board.hear(said))
    if said.what is Saying.CALL:
        state.calls.ask(said, state.trail.temps[-1] if state.trail.temps else None)
    elif said.what is Saying.CALL_OFF:
        state.calls.drop(said)
    elif said.what is Saying.PROBE_OUT:
        state.probe_out = True
        return tuple(state.board.lay_down(said.t_s))
    elif said.what is Saying.PROBE_BACK:
        # What it read meanwhile was not the kiln: nothing that went missing then is a fault or a power cut.
        state.probe_out, state.breaks, state.blindness = False, InterruptionMemory(), Blindness()
        state.watches.forget_entries()
        state.doubt.forget()
    else:
        state.said.append(said)
    return ()


def _beat(state: State, entry: Sample, events: list[Event]) -> View | None:
    """Do what is done every BEAT_S: peak, follower, parts, offset, watches, milestones."""
    _peak(state, entry.t_s)
    follower, plan = state.follower, state.setup.plan
    settled_s = max(state.trail.unbroken_from_s, state.drop.settled_from_s)
    if state.unplanned is not None:
        revised = state.unplanned.see(entry.t_s, state.wander.sd_k, settled_s)
        events += [revised] if revised else []
        state.dangerous = state.unplanned.is_dangerous()
    line = state.trail.line(max(entry.t_s - max(SLOPE_WINDOW_S, SLOW_WINDOW_STEPS * state.trail.step_s), settled_s))
    if follower is None or plan is None or line is None:
        return None
    recent = state.trail.temps[state.trail.index_at(entry.t_s - _RECENT_S):]
    temp_c = median(recent) if recent else state.trail.temps[-1]
    if _follow(state, follower, entry.t_s, temp_c, line, settled_s):
        events.append(PartsRevised(entry.t_s, state.found))
    here = follower.here()
    part = state.parts[here - 1] if 1 <= here <= len(state.parts) else None
    state.natural_fall.see(entry.t_s, temp_c, line, part, is_under_air=state.drop.kiln_c is not None)
    state.closed.see(entry.t_s, temp_c, line, part, state.natural_fall.per_h)
    state.elements.see(entry.t_s, temp_c, state.natural_fall.ended_s)
    view = _view(state, follower, plan, entry.t_s, temp_c, settled_s)
    if state.progress is not None:
        state.progress.see(entry.t_s, temp_c - view.usual_k, low_doubt_k(view, state.progress.hold),
                           falls_freely=view.fell_until_s == view.t_s)
    if state.dwell is not None:
        state.dwell.see(entry.t_s, temp_c - view.offset_k, here - 1)
    state.wander.learn(view.present_hold, entry.t_s, settled_s)
    state.dangerous, state.is_before_top = is_blindness_dangerous(view), is_before_top(view)
    state.falls = planned_free_fall(view)
    view.broken = state.breaks.see(view)
    state.board.enter(view.phase)
    if holds_as_planned(view) or (state.doubt.present is None
                                  and stands_after_fall(view, state.board.told_to_end_s)):
        state.board.see_plan_run(entry.t_s)
    findings = _asked(state.watches.see_beat(view), plan)
    if findings:
        findings = weigh(findings, view, is_lid_told=state.board.stands(sudden_drop.KIND.name))
    state.is_anneal_lost = any(is_anneal_lost(finding) for finding in findings)
    enough = [known for finding in findings if (known := was_anneal_enough(finding)) is not None]
    state.was_anneal_enough = enough[-1] if enough else state.was_anneal_enough
    broken = [left for finding in findings if (left := finding.kind.breaks_off(finding, view))]
    state.breaks.note(broken, view)
    if state.dwell is not None:
        for left in broken:
            state.dwell.was_left(left.index, left.held_s)
    calms = any(finding.kind.calms(finding.facts) for finding in findings)
    is_calmed = state.is_calmed or state.doubt.is_scale_false
    findings = _calmed(unexplained(findings, state.said, entry.t_s), is_calmed=is_calmed)
    state.is_calmed = calms
    events += state.board.judge(entry.t_s, findings, state.watches.kinds_at_beats)
    if state.doubt.present is None:
        events += state.milestones.see(view)
    return view


def _asked(findings: list[Finding[Any]], plan: Plan) -> list[Finding[Any]]:
    """Return the findings without those that hold the kiln against a step that nobody planned (see KeyedIn)."""
    made_up = plan.keyed_in.made_up if plan.keyed_in is not None else ()
    return [finding for finding in findings
            if finding.step not in made_up or finding.kind.is_of_firing or finding.kind.family is not Family.PLAN]


def _calmed(findings: list[Finding[Any]], *, is_calmed: bool) -> list[Finding[Any]]:
    """Return the findings; where ``is_calmed``, those that only compare with the chosen plan wake nobody."""
    return [replace(finding, rank=Rank.LOOK)
            if is_calmed and finding.kind.family is Family.PLAN and finding.rank is Rank.WAKE else finding
            for finding in findings]


def _follow(state: State, follower: Follower, t_s: float, temp_c: float, line: Line, settled_s: float) -> bool:
    """Let follower, boundaries and usual difference take the beat; return whether the parts are worth telling."""
    drift = state.trail.line(max(t_s - max(SWING_WINDOW_S, SLOW_WINDOW_STEPS * state.trail.step_s), settled_s))
    swings_k = state.trail.swings_k
    if drift is None or drift.sse > max(SWING_MOST_K, swings_k / 2) ** 2 * drift.number:
        drift = line
    elif swings_k > _SWINGS_WIDELY_K:
        line, temp_c = drift, drift.at(t_s)  # what swings is where its middle is
    error = state.trail.slope_error(line, state.wander.sd_k, BEAT_S) * 3600
    drift_error = state.trail.slope_error(drift, state.wander.sd_k, BEAT_S) * 3600
    if not (follower.started and _is_air(state, temp_c, line)):  # else as in a gap: no part of the plan reads so
        follower.beat(Beat(t_s, temp_c, line.slope_c_per_s * 3600, error, drift.slope_c_per_s * 3600, drift_error))
    offset_k, known = state.offset.at(temp_c)
    uncertainty = Uncertainty(state.wander.sd_k, offset_k, near_k(known=known))
    revised = state.boundaries.revise(follower.latest(), t_s, uncertainty, state.drop.stood, state.drop.over)
    if state.offset.learn(state.boundaries.found, t_s, state.drop.air_s):
        follower.learn_offset(state.offset.learned_k or 0.0)
    return revised


def _is_air(state: State, temp_c: float, line: Line) -> bool:
    """Return whether the readings are those of air colder than the kiln: under an open lid, or coming back.

    After a short look or a vent it is back within minutes, in the same part.
    """
    comes_back = bool(state.drop.stood) and state.kiln_c is not None and temp_c < state.kiln_c and (
        line.slope_c_per_s * 3600 > _CLIMBS_C_PER_H)
    return state.drop.hides_kiln or comes_back


def _view(state: State, follower: Follower, plan: Plan, t_s: float, temp_c: float, settled_s: float) -> View:
    """Return what the watches may look at in this beat."""
    here, (offset_k, known) = follower.here(), state.offset.at(temp_c)
    return View(
        t_s=t_s, temp_c=temp_c, trail=state.trail, wander_k=state.wander.sd_k, plan=plan, parts=state.parts,
        anneal=state.anneal, top=state.top, glass=state.setup.glass, thickness_mm=state.setup.thickness_mm,
        faces=state.setup.faces, state=here, found=state.boundaries.found, offset_k=offset_k, offset_known=known,
        peak_c=state.peak_c or temp_c, resumed_s=settled_s,
        first_c=temp_c if state.first_c is None else state.first_c, first_s=state.first_s,
        offset_elsewhere_k=state.offset.elsewhere(here - 1, temp_c), haze_s=state.load.haze_s,
        new_segments=_new_segments(state, t_s, settled_s), vents=state.drop.may_be_vent,
        kiln_c=state.kiln_c, dropped_s=state.drop.seen_s, vented_s=state.drop.vented_s,
        is_offset_near=state.offset.is_shown_near(temp_c, here - 1), progress=state.progress,
        fell_until_s=state.natural_fall.ended_s, is_caught=state.natural_fall.is_caught,
        natural_fall_c_per_h=state.natural_fall.rate_c_per_h(temp_c),
        elements=state.elements, stood=tuple(state.drop.stood), kiln=kiln_now(state.setup.kiln, state.tonight),
    )


def _new_segments(state: State, t_s: float, settled_s: float) -> tuple[Segment, ...] | None:
    """Return what the readings show without the plan; None where it is not due to be looked at anew."""
    segments = state.segments
    return segments.found if segments is not None and segments.see(t_s, state.wander.sd_k, settled_s) else None


def _peak(state: State, t_s: float) -> None:
    """Raise the peak to the median of the last minute, where that is higher."""
    minute = state.minute
    while minute and minute[0][0] <= t_s - _PEAK_S:
        minute.popleft()
    temps = [temp_c for _, temp_c in minute]
    if state.peak_c is not None and max(temps) <= state.peak_c:
        return  # nor is any median of them higher
    middle = median(temps)
    if state.peak_c is None or middle > state.peak_c:
        state.peak_c, state.peak_s = middle, t_s
