"""The one sentence of Now: first what is to be said, as values, then its words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from daemon.firing.alerts.registry import RUNAWAY
from daemon.firing.events import Alert, Rank, Text
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.state import State
from daemon.firing.tracking.boundaries import end_open_part
from daemon.firing.units import Units
from daemon.firing.verdict.answer import Result
from daemon.firing.verdict.glass_status import MOVING_C_PER_H
from daemon.firing.verdict.plan_verdict import anneal_answer

_NEAR_K = 3.0
"""Nearer to its plan than this a kiln is as planned [K]. [chosen: less is told as on its plan]"""


class Subject(Enum):
    """What the sentence is about; the first that applies, in this order."""

    NOTHING_YET = auto()
    """No reading has come."""
    PROBE_OUT = auto()
    ALERT = auto()
    BLIND = auto()
    """The last reading has no temperature."""
    NO_PLAN = auto()
    PLAN = auto()
    """What the kiln does, and how near to its plan."""


class Activity(Enum):
    """What the kiln does."""

    WAITING = auto()
    """There is a plan, and nothing climbs yet."""
    STEADY = auto()
    CLIMBING = auto()
    FALLING = auto()
    PLAN_DONE = auto()
    HOLDING = auto()
    ANNEAL_HOLD = auto()
    TOP_HOLD = auto()
    CLIMBING_TO = auto()
    FALLING_FREELY_TO = auto()
    COOLING_THROUGH_ANNEAL_TO = auto()
    COOLING_TO = auto()


@dataclass(frozen=True, slots=True)
class Headline:
    """What the one sentence says.

    Attributes
    ----------
    subject
        What it is about.
    alert
        The text of the alert that it is about, in fresh words.
    activity, temp_c
        What the kiln does, and where it holds or goes to [°C]; None where it does so without a target.
    off_plan_k
        Reading minus plan, after the usual difference of the probe [K]; None where the plan has no temperature now.
    anneal
        Whether the anneal hold that is behind the kiln was whole; None while it is ahead, or where there is none.
    """

    subject: Subject
    alert: Text | None = None
    activity: Activity | None = None
    temp_c: float | None = None
    off_plan_k: float | None = None
    anneal: Result | None = None


def headline_of(state: State, planned: PlannedPart | None, planned_c: float | None,
                rate_c_per_h: float | None) -> Headline:
    """Return what is to be said after the state's last entry.

    Parameters
    ----------
    state
        The firing.
    planned
        The part of the plan that the kiln is in; None before and after it.
    planned_c
        Where the aligned plan has the kiln now [°C].
    rate_c_per_h
        What the kiln does now [°C/h]; None where that can't be told.
    """
    last = state.last
    if last is None:
        return Headline(Subject.NOTHING_YET)
    if state.probe_out:
        return Headline(Subject.PROBE_OUT)
    loud = _loudest(state.board.alerts)
    if loud is not None:
        return Headline(Subject.ALERT, alert=state.board.text_now(loud.no) or loud.text)
    if last.temp_c is None:
        return Headline(Subject.BLIND)
    activity, temp_c = _activity(state, planned, rate_c_per_h)
    if not state.parts:
        return Headline(Subject.NO_PLAN, activity=activity, temp_c=temp_c)
    off_k = None
    if planned_c is not None and state.trail.temps:
        off_k = state.trail.temps[-1] - (state.offset.learned_k or 0.0) - planned_c
    return Headline(Subject.PLAN, None, activity, temp_c, off_k, _anneal_behind(state, planned, last.t_s))


def _loudest(alerts: tuple[Alert, ...]) -> Alert | None:
    """Return the standing alert to be told of, a runaway before other wakes; None where none is more than noted."""
    standing = [alert for alert in alerts if alert.cleared_s is None]
    names = {alert.kind for alert in standing} | {name for alert in standing for _, name in alert.named}
    loud = max((alert for alert in standing if alert.under not in names),
               key=lambda alert: (alert.rank.height, alert.kind == RUNAWAY), default=None)
    return None if loud is None or loud.rank is Rank.LOG else loud


def _anneal_behind(state: State, planned: PlannedPart | None, t_s: float) -> Result | None:
    """Return whether the anneal hold was whole, where it is behind the kiln at ``t_s``."""
    anneal = state.anneal
    if anneal is None or not (state.finished or (planned and planned.index > anneal.index)):
        return None
    run = end_open_part(state.boundaries.found, t_s)
    return anneal_answer(anneal, run, state.offset.learned_k, state.blind.holes(t_s)).result


def _activity(state: State, planned: PlannedPart | None, rate_c_per_h: float | None) -> tuple[Activity, float | None]:
    """Return what the kiln does, and where it holds or goes to [°C]."""
    here = state.found[-1] if state.unplanned and state.found else None
    if here is not None and here.part == "hold" and here.mean_c is not None:
        return Activity.HOLDING, here.mean_c
    if planned is None:
        if state.finished:
            return Activity.PLAN_DONE, None
        if rate_c_per_h is None or abs(rate_c_per_h) < MOVING_C_PER_H:
            return Activity.WAITING if state.parts else Activity.STEADY, None
        return Activity.CLIMBING if rate_c_per_h > 0 else Activity.FALLING, None
    return _planned_activity(state, planned), planned.to_c


def _planned_activity(state: State, planned: PlannedPart) -> Activity:
    """Return what the kiln does in a part of its plan."""
    anneal, top = state.anneal, state.top
    if planned.part == "hold":
        if anneal and planned.index == anneal.index:
            return Activity.ANNEAL_HOLD
        return Activity.TOP_HOLD if top and planned.index == top.index else Activity.HOLDING
    if planned.direction > 0:
        return Activity.CLIMBING_TO
    if planned.rate_c_per_h is None:
        return Activity.FALLING_FREELY_TO
    after_anneal = anneal is not None and planned.index == anneal.index + 1
    return Activity.COOLING_THROUGH_ANNEAL_TO if after_anneal else Activity.COOLING_TO


_ACTIVITY_WORDS = {
    Activity.WAITING: "Waiting for the kiln to start", Activity.STEADY: "Steady", Activity.CLIMBING: "Climbing",
    Activity.FALLING: "Falling", Activity.PLAN_DONE: "The plan is done; cooling", Activity.HOLDING: "Holding at {}",
    Activity.ANNEAL_HOLD: "In the anneal hold at {}", Activity.TOP_HOLD: "At the top, {}",
    Activity.CLIMBING_TO: "Climbing to {}", Activity.FALLING_FREELY_TO: "Falling freely to {}",
    Activity.COOLING_THROUGH_ANNEAL_TO: "Cooling through the anneal to {}", Activity.COOLING_TO: "Cooling to {}",
}
"""What the kiln does, in words; ``{}`` stands for where it holds or goes to."""
_ANNEAL_WORDS = {
    Result.NOT_KNOWN: "Whether it was annealed is not known: the probe saw too little of the hold.",
    Result.NO: "The anneal hold was not whole: leave the kiln closed, and anneal the glass again before it is used.",
}
"""What to say of an anneal hold behind the kiln; of any other result nothing."""


def headline_words(said: Headline, units: Units) -> str:
    """Return the sentence, its figures in the owner's unit."""
    if said.subject is Subject.NOTHING_YET:
        return "No reading yet."
    if said.subject is Subject.PROBE_OUT:
        return "The probe is out of service, as you said. Nothing is watched until you say that it is back."
    if said.alert is not None:
        return said.alert.what
    if said.subject is Subject.BLIND or said.activity is None:
        return "No reading from the probe just now."
    doing = _ACTIVITY_WORDS[said.activity].format("" if said.temp_c is None else units.temp(said.temp_c))
    if said.subject is Subject.NO_PLAN:
        return f"{doing}. No plan: nothing but the reading is watched."
    do = "Nothing to do, by this probe."
    if said.anneal is not None:
        do = _ANNEAL_WORDS.get(said.anneal, do)
    return f"{doing}{_off_plan(said.off_plan_k, units)}. {do}"


def _off_plan(off_plan_k: float | None, units: Units) -> str:
    """Return how near to its plan the kiln is, as a clause; empty where that is not known."""
    if off_plan_k is None:
        return ""
    if abs(off_plan_k) < _NEAR_K:
        return ", as planned"
    return f", {units.difference(abs(off_plan_k))} {'above' if off_plan_k > 0 else 'below'} plan"
