"""The one decision: ``step(state, entry) -> (state, events)``.

Live, replayed, rehearsed and re-judged firings all run through here with the same stored entries, so
they come to the same events. The state belongs to its firing and is used up by the call: go on with
the one returned. It is never stored; after a restart the daemon steps through the stored entries
again.
"""

from __future__ import annotations

from statistics import median

from daemon.firing.events import Event, PartsRevised, Said, Sample, Saying
from daemon.firing.plan.near_target import near_c
from daemon.firing.plan.plan import Plan
from daemon.firing.setup import Setup
from daemon.firing.situation.interruption import InterruptionMemory
from daemon.firing.situation.maker_actions import unexplained
from daemon.firing.situation.phase import is_blindness_dangerous, planned_free_fall
from daemon.firing.situation.view import Finding, View
from daemon.firing.state import State
from daemon.firing.tracking.boundary_time import Uncertainty
from daemon.firing.tracking.follower import BEAT_S, SLOPE_WINDOW_S, SWING_MOST_K, SWING_WINDOW_S, Follower
from daemon.firing.tracking.state_costs import Beat
from daemon.firing.watches.climbing import heating_too_fast, not_climbing, not_started
from daemon.firing.watches.cooling import cooling_too_fast
from daemon.firing.watches.firing_stopped import not_cooling
from daemon.firing.watches.haze import haze_range
from daemon.firing.watches.hold_off_target import hold_off_target
from daemon.firing.watches.holds import hold_cut_short, hold_overrun
from daemon.firing.watches.over_temperature import over_temperature_ahead
from daemon.firing.watches.restarted import power_back
from daemon.firing.watches.sensor_fault import SensorWatch
from daemon.firing.watches.wrong_plan import calmed
from daemon.regression import Line

_BEAT_WATCHES = {
    "restarted": power_back, "not-started": not_started,
    "hold-cut-short": hold_cut_short, "hold-overrun": hold_overrun, "hold-off-target": hold_off_target,
    "not-climbing": not_climbing, "heating-too-fast": heating_too_fast, "not-cooling": not_cooling,
    "cooling-too-fast": cooling_too_fast, "haze-range": haze_range,
}
"""Causes before consequences, so that a consequence finds its cause standing."""
_SENSOR_KINDS = ("sensor-fault", "readings-missing")
_PEAK_S = 60.0
_RECENT_S = 30.0
_FALLEN_SINCE_K = 12.0
"""A reading this far below the line of a forecast has left it: a lid has just opened [K]."""


def begin(setup: Setup) -> State:
    """Return the state of a firing that has no reading yet."""
    return State(setup)


def step(state: State, entry: Sample | Said) -> tuple[State, tuple[Event, ...]]:
    """Take one entry in time order and return the state after it with what it brought about.

    A reading at or before the last one says nothing new and is passed over.
    """
    if isinstance(entry, Said):
        return state, _hear(state, entry)
    if state.last is not None and entry.t_s <= state.last.t_s:
        return state, ()
    if state.probe_out:
        state.last = entry  # it is kept, but says nothing of the kiln
        return state, ()
    if state.setup.offset_c and entry.temp_c is not None:
        entry = entry._replace(temp_c=entry.temp_c - state.setup.offset_c)
    events: list[Event] = []
    finding = state.sensor.see(entry, dangerous=state.dangerous)
    events += state.board.judge(entry.t_s, [finding] if finding else [], _SENSOR_KINDS)
    state.last = entry
    if entry.temp_c is None:
        return state, tuple(events)
    state.blind.see(entry.t_s, entry.temp_c, state.trail.longest_step_s)
    state.trail.offer(entry.t_s, entry.temp_c)
    (state.unplanned or state.boundaries).count_in(entry.temp_c)
    if state.wrong_plan is not None:
        state.wrong_plan.count_in(entry.temp_c)
    state.load.offer(entry.t_s, entry.temp_c)
    events += state.calls.see(entry.t_s, entry.temp_c)
    state.minute.append((entry.t_s, entry.temp_c))
    if state.first_c is None:
        state.first_c, state.first_s = entry.temp_c, entry.t_s
    _watch_drop(state, entry.t_s, entry.temp_c, events)
    ahead: Finding | None = None
    view: View | None = None
    if entry.t_s >= state.next_beat_s:
        state.next_beat_s = entry.t_s + BEAT_S
        view = _beat(state, entry, events)
        ahead = _ahead(state, view) if view else None
    _watch_top(state, entry, ahead, events, on_beat=view is not None)
    return state, tuple(events)


def _hear(state: State, said: Said) -> tuple[Event, ...]:
    if said.what in (Saying.ACKNOWLEDGE, Saying.QUIET):
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
        state.probe_out, state.breaks, state.sensor = False, InterruptionMemory(), SensorWatch()
    else:
        state.said.append(said)
    return ()


def _watch_drop(state: State, t_s: float, temp_c: float, events: list[Event]) -> None:
    found = state.drop.see(t_s, temp_c, state.trail, state.wander.c, falls=state.falls)
    findings = unexplained([found], state.said, t_s) if found else []
    events += state.board.judge(t_s, findings, ("sudden-drop",))


def _ahead(state: State, view: View) -> Finding | None:
    """Return the louder of a climb that will be too hot and one that should not be at all."""
    found = [finding for finding in (over_temperature_ahead(view), state.runaway.see(view)) if finding is not None]
    return max(found, key=lambda finding: finding.rank.height, default=None)


def _watch_top(state: State, entry: Sample, ahead: Finding | None, events: list[Event], *, on_beat: bool) -> None:
    if state.over is None or entry.temp_c is None:
        return
    offset_c, known = state.offset.at(entry.temp_c)
    if ahead is not None and entry.temp_c < ahead.facts["temp_c"] - _FALLEN_SINCE_K:
        ahead = None  # a lid has just opened: the line drawn on ends above the reading
    finding = state.over.see(entry.t_s, entry.temp_c, offset_c, offset_known=known) or ahead
    if finding is not None or on_beat:
        events += state.board.judge(entry.t_s, [finding] if finding else [], ("over-temperature",))


def _beat(state: State, entry: Sample, events: list[Event]) -> View | None:
    """Do what is done every BEAT_S: peak, follower, parts, offset, watches, milestones."""
    _peak(state, entry.t_s)
    follower, plan = state.follower, state.setup.plan
    settled_s = max(state.trail.unbroken_from_s, state.drop.settled_from_s)
    if state.unplanned is not None:
        revised = state.unplanned.see(entry.t_s, state.wander.c, settled_s)
        events += [revised] if revised else []
        state.dangerous = state.unplanned.is_dangerous()
    line = state.trail.line(max(entry.t_s - max(SLOPE_WINDOW_S, 3 * state.trail.step_s), settled_s))
    if follower is None or plan is None or line is None:
        return None
    recent = state.trail.temps[state.trail.index_at(entry.t_s - _RECENT_S):]
    temp_c = median(recent) if recent else state.trail.temps[-1]
    if _follow(state, follower, entry.t_s, temp_c, line, settled_s):
        events.append(PartsRevised(entry.t_s, state.boundaries.found))
    view = _view(state, follower, plan, entry.t_s, temp_c, settled_s)
    state.wander.learn(view.present_hold, entry.t_s, settled_s)
    state.dangerous = is_blindness_dangerous(view)
    state.falls = planned_free_fall(view)
    view.broken = state.breaks.see(view)
    state.board.enter(view.phase)
    seen = {"firing-stopped": state.stopped.see(view), **{
        kind: watch(view) for kind, watch in _BEAT_WATCHES.items()}}
    seen["restarted"] = state.runaway.hold_on(seen["restarted"], view)
    findings = [finding for finding in seen.values() if finding is not None]
    state.breaks.note(findings, view)
    findings = calmed(unexplained(findings, state.said, entry.t_s), state.wrong_plan)
    other = _other_plan(state, view)
    events += state.board.judge(entry.t_s, [*other, *findings], ("wrong-plan", *seen))
    events += state.milestones.see(view)
    return view


def _follow(state: State, follower: Follower, t_s: float, temp_c: float, line: Line, settled_s: float) -> bool:
    """Let follower, boundaries and usual difference take the beat; return whether the parts are worth telling."""
    error = state.trail.slope_error(line, state.wander.c, BEAT_S) * 3600
    drift = state.trail.line(max(t_s - max(SWING_WINDOW_S, 3 * state.trail.step_s), settled_s))
    if drift is None or drift.sse > SWING_MOST_K**2 * drift.number:
        drift = line
    drift_error = state.trail.slope_error(drift, state.wander.c, BEAT_S) * 3600
    follower.beat(Beat(t_s, temp_c, line.slope_c_per_s * 3600, error, drift.slope_c_per_s * 3600, drift_error))
    offset_c, known = state.offset.at(temp_c)
    uncertainty = Uncertainty(state.wander.c, offset_c, near_c(known=known))
    revised = state.boundaries.revise(follower.latest(), t_s, uncertainty)
    if state.offset.learn(state.boundaries.found, t_s):
        follower.learn_offset(state.offset.learned_c or 0.0)
    return revised


def _view(state: State, follower: Follower, plan: Plan, t_s: float, temp_c: float, settled_s: float) -> View:
    here, (offset_c, known) = follower.here(), state.offset.at(temp_c)
    return View(
        t_s=t_s, temp_c=temp_c, trail=state.trail, wander_c=state.wander.c, plan=plan, parts=state.parts,
        anneal=state.anneal, top=state.top, glass=state.setup.glass, thickness_mm=state.setup.thickness_mm,
        faces=state.setup.faces, state=here, found=state.boundaries.found, offset_c=offset_c, offset_known=known,
        peak_c=state.peak_c or temp_c, resumed_s=settled_s,
        first_c=temp_c if state.first_c is None else state.first_c, first_s=state.first_s,
        offset_elsewhere_c=state.offset.elsewhere(here - 1, temp_c), haze_s=state.load.haze_s,
        planned_haze_s=state.planned_haze_s, vents=state.drop.may_be_vent, dropped_s=state.drop.seen_s,
    )


def _other_plan(state: State, view: View) -> list[Finding]:
    known_c = 0.0 if state.setup.offset_c is not None else None
    watch = state.wrong_plan
    finding = watch and watch.see(view.t_s, view.wander_c, view.resumed_s, first_c=view.first_c, offset_c=known_c)
    return [finding] if finding else []


def _peak(state: State, t_s: float) -> None:
    minute = state.minute
    while minute and minute[0][0] <= t_s - _PEAK_S:
        minute.popleft()
    middle = median(temp for _, temp in minute)
    if state.peak_c is None or middle > state.peak_c:
        state.peak_c, state.peak_s = middle, t_s
