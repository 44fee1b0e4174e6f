"""Where the firing stands, what comes next and when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

from daemon.firing.alerts.registry import HALTING_KINDS, RUNAWAY
from daemon.firing.events import Alert, Call, Part, Rank
from daemon.firing.headline import headline_of, headline_words
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.situation.probe_doubt import Disbelief
from daemon.firing.situation.view import SLOW_WINDOW_STEPS
from daemon.firing.state import State
from daemon.firing.tracking.boundaries import SETTLE_S
from daemon.firing.units import Units
from daemon.firing.verdict.cooldown_forecast import Opening, opening
from daemon.firing.verdict.glass_status import GlassNow, glass_lines, glass_now
from daemon.firing.verdict.glass_verdict import unknown_from
from daemon.firing.verdict.slowing import Slowing
from daemon.firing.verdict.verdict_words import lost_words

_RATE_WINDOW_S = 300.0
"""The rate now is the slope over so many seconds. [chosen: follows a change, and does not jump with each reading]"""
_LEAST_RATE_SPAN_S = 100.0
"""Less than this of readings tells no rate [s]. [chosen: twenty readings; noise alone makes 300 °C/h of three]"""
_ROOM_C = 50.0
"""A kiln that was never hotter than this does nothing to the glass [°C]. [chosen: above any room in summer]"""
_LEAST_RATE_C_PER_H = 5.0
"""The end of a ramp that goes on more slowly than this is not forecast [°C/h]. [chosen: it would be hours off]"""


@dataclass(frozen=True, slots=True)
class OtherUnit:
    """The sentences of a glance in the unit that the owner does not read, for who reads that."""

    unit: str
    sentence: str
    glass_lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BrokeOff:
    """In which planned part the firing broke off, and when."""

    part: PlannedPart
    at_s: float
    """When [s of firing]."""
    held_s: float
    """How much of the part was done by then, where it is a hold [s]."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A glance at the firing, for the page and the status line; derived, never stored."""

    t_s: float
    temp_c: float | None
    """Last temperature [°C]; None while blind."""
    rate_c_per_h: float | None
    part: Part | None
    confidence: float
    """How sure the follower is of ``part``, 0 to 1."""
    planned_c: float | None
    """Where the aligned plan has the kiln now [°C]."""
    finished: bool
    sentence: str
    """The one sentence of the Now page."""
    nothing_to_do: bool = False
    """Whether that sentence says that there is nothing to do."""
    broke_off: BrokeOff | None = None
    """Where the firing broke off, while an alert stands that it did; nothing is forecast then."""
    next_step: int | None = None
    next_part: Literal["ramp", "hold"] | None = None
    next_at_s: float | None = None
    open_at_s: float | None = None
    """Forecast of 40 °C at the probe [s of firing], where it can be made."""
    open_margin_s: float | None = None
    """Give or take so much [s]."""
    fall_off_share: float | None = None
    """By what share that forecast of the fall may be off, where it rests on how the kiln falls now; else None."""
    anneal_at_s: float | None = None
    """When the anneal hold begins, where past firings of the kiln tell it [s of firing]."""
    anneal_margin_s: float | None = None
    """Give or take so much [s]."""
    anneal_step: int | None = None
    """The step of that hold."""
    learned_firings: int | None = None
    """From how many past firings of the kiln the forecasts were made; None where from none."""
    is_apart: bool = False
    """Whether the kiln does what only looks like a part of the plan."""
    offset_k: float | None = None
    glass: GlassNow | None = None
    """What the glass goes through now."""
    glass_lines: tuple[str, ...] = ()
    """The same in sentences, in the owner's unit."""
    calls: tuple[Call, ...] = ()
    """Calls the maker asked for that have not been made yet."""
    lost_s: float | None = None
    """Since when nothing is read that can be believed [s]; None while it can."""
    clock: ByClock | None = None
    """Where the plan is by its clock, while nothing can be believed; None where that is not known."""
    alerts: tuple[Alert, ...] = field(default=())
    """All alerts of the firing so far, first raised first; those that stand in the words of the present."""
    is_own_display_watched: bool = False
    """Whether the maker watches the kiln's own display, so that a blind Lehrling rings nobody."""
    other: OtherUnit | None = None
    """The sentences in the other unit."""
    peak_c: float | None = None
    """The highest so far, as the verdict will have it [°C]; None before it is known."""


    def forecast_over(self, other: Standing) -> Standing:
        """Return ``other`` with the forecasts of this one."""
        return replace(other, open_at_s=self.open_at_s, open_margin_s=self.open_margin_s,
                       anneal_at_s=self.anneal_at_s, anneal_margin_s=self.anneal_margin_s,
                       anneal_step=self.anneal_step, learned_firings=self.learned_firings)


def is_too_hot(alerts: Iterable[Alert]) -> bool:
    """Return whether a kiln that is too hot has woken: nobody knows when it cools before it is switched off."""
    return any(alert.kind == RUNAWAY and alert.rank is Rank.WAKE and alert.cleared_s is None for alert in alerts)


def standing(state: State, slows: Slowing | None = None) -> Standing:
    """Return where the firing stands after its last entry; part, plan, forecasts and glass only where it is known.

    ``slows`` is how this kiln's last fall becomes slower, where past firings have shown it.
    """
    last = state.last
    if last is None:
        return Standing(t_s=0.0, temp_c=None, rate_c_per_h=None, part=None, confidence=0.0, planned_c=None,
                        finished=False, sentence=headline_words(headline_of(state, None, None, None), state.wording),
                        is_own_display_watched=state.board.is_own_display_watched)
    line = state.trail.line(last.t_s - max(_RATE_WINDOW_S, SLOW_WINDOW_STEPS * state.trail.step_s))
    told = line is not None and last.temp_c is not None and line.span_s >= _LEAST_RATE_SPAN_S
    rate = line.slope_c_per_s * 3600 if line is not None and told else None
    found = state.boundaries.found
    here = state.follower.here() if state.follower and state.follower.started else 0
    planned = state.parts[here - 1] if 1 <= here <= len(state.parts) else None
    part = found[-1] if found and planned and found[-1].index == planned.index else None
    is_apart = False
    if part is not None and part.start_s > max((run.start_s for run in state.found), default=-1.0):
        planned = part = None  # what the kiln does only looks like that part
        is_apart = True
    if state.unplanned is not None:
        part = state.found[-1] if state.found else None
    lost = state.lost
    if lost is not None:
        planned = part = rate = None
    planned_c = _planned_now(planned, part, last.t_s)
    next_at_s = _next_at(state, planned, part, rate, last.t_s)
    broke_off = _broke_off(state)
    goes_on = here < len(state.parts) and lost is None and broke_off is None and not is_apart
    upcoming = state.parts[here] if goes_on else None
    found_open = None if lost is not None or broke_off is not None or is_too_hot(state.board.present) else _opening(
        state, next_at_s, here, slows)
    glass_lost = unknown_from(state.unbelieved(), state.setup.glass)
    is_idle = glass_lost is not None or state.peak_c is None or state.peak_c < _ROOM_C
    glass = None if is_idle else _glass(state, rate, planned, part, last.t_s)
    said = headline_of(state, planned, planned_c, rate)
    (sentence, lines), other = (
        (headline_words(said, words), _glass_words(glass, glass_lost, words))
        for words in (state.wording, state.other_wording))
    return Standing(
        t_s=last.t_s, temp_c=last.temp_c, rate_c_per_h=rate, part=part,
        confidence=state.follower.confidence() if state.follower and state.follower.started else 0.0,
        planned_c=planned_c, finished=state.finished,
        sentence=sentence, nothing_to_do=said.is_calm, broke_off=broke_off,
        next_step=upcoming.step if upcoming else None, next_part=upcoming.part if upcoming else None,
        next_at_s=next_at_s if broke_off is None else None, open_at_s=found_open.at_s if found_open else None,
        open_margin_s=found_open.margin_s if found_open else None,
        fall_off_share=found_open.off_share if found_open else None, is_apart=is_apart,
        offset_k=state.offset.learned_k,
        glass=glass, glass_lines=lines, other=OtherUnit(state.other_wording.unit, *other),
        lost_s=None if lost is None else lost.since_s,
        clock=None if lost is None else state.by_the_clock(lost.since_s, last.t_s),
        calls=state.calls.waiting, alerts=state.board.present,
        is_own_display_watched=state.board.is_own_display_watched, peak_c=state.peak_c,
    )


def _broke_off(state: State) -> BrokeOff | None:
    """Return where the firing broke off; None where no alert stands that it did.

    The plan does not go on by itself then, and when the kiln is cold depends on what is keyed in. A hold ended where
    the readings bend, which the boundary says once the follower has seen the hold. A watch dates a fall less closely:
    after a free fall a kiln may sink under the target of the hold long before it falls.
    """
    stands = any(alert.kind in HALTING_KINDS and alert.cleared_s is None for alert in state.board.present)
    broken = state.breaks.broken if stands else None
    if broken is None:
        return None
    part = state.parts[broken.index]
    run = next((run for run in reversed(state.found) if run.index == broken.index), None)
    if part.part == "hold" and run and run.end_s is not None and abs(run.end_s - broken.t_s) <= SETTLE_S:
        return BrokeOff(part, run.end_s, run.end_s - run.start_s)
    return BrokeOff(part, broken.t_s, broken.held_s)


def _glass_words(glass: GlassNow | None, lost: Disbelief | None, words: Units) -> tuple[str, ...]:
    """Return what the glass goes through in sentences, in one unit; or since when that is not known."""
    if lost is not None:
        return (f"What the glass went through is not known: {lost_words(lost, words)}.",)
    return () if glass is None else tuple(glass_lines(glass, words))


def _glass(state: State, rate: float | None, planned: PlannedPart | None, part: Part | None,
           t_s: float) -> GlassNow | None:
    """Return the glass now; what falls towards its anneal hold does not go on like that."""
    anneal = state.anneal
    hold = (anneal, part) if anneal and part and part.index == anneal.index else None
    if anneal and planned and planned.index < anneal.index:
        rate = None
    return glass_now(state.setup.glass, state.load.figures(), rate, hold, t_s)


def _planned_now(planned: PlannedPart | None, part: Part | None, t_s: float) -> float | None:
    """Return where the plan, laid along the parts really run, has the kiln now [°C]; None where nobody planned it."""
    if planned is None or part is None or planned.is_made_up:
        return None
    if planned.part == "hold":
        return planned.to_c
    if planned.rate_c_per_h is None:
        return None
    gone = (t_s - part.start_s) / planned.duration_s if planned.duration_s > 0 else 1.0
    return planned.from_c + (planned.to_c - planned.from_c) * min(1.0, gone)


def _next_at(state: State, planned: PlannedPart | None, part: Part | None, rate: float | None,
             t_s: float) -> float | None:
    """Return when the present part should end [s]."""
    if planned is None or part is None:
        return None
    if planned.part == "hold":
        return max(t_s, part.start_s + planned.duration_s)
    if rate is None or not state.trail.temps or rate * planned.direction < _LEAST_RATE_C_PER_H:
        return None
    offset_k = state.offset.learned_k or 0.0
    left = (planned.to_c + offset_k - state.trail.temps[-1]) * planned.direction
    return t_s + max(0.0, left) / abs(rate) * 3600


def _opening(state: State, next_at_s: float | None, here: int, slows: Slowing | None) -> Opening | None:
    """Return the forecast of 40 °C at the probe; None while the plan still climbs."""
    last_climb = max((p.index for p in state.parts if p.direction > 0), default=-1)
    if not state.trail.temps or state.last is None or here - 1 <= last_climb:
        return None
    now = state.parts[here - 1] if here <= len(state.parts) else None
    left_s = None if next_at_s is None else next_at_s - state.last.t_s
    found = state.found[-1] if state.found else None
    began_s = None
    if found is not None and now is None:
        began_s = found.end_s  # the plan is over: its last part was held back by the controller
    elif found is not None and now is not None and found.index == now.index:
        began_s = found.start_s
    return opening(state.trail, state.first_c, now, state.parts[here:], left_s, began_s, state.wander.sd_k,
                   slows)
