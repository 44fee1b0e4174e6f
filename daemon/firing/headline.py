"""The one sentence of Now: first what is to be said, as values, then its words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from daemon.firing.alerts.registry import PROBE_KINDS, RUNAWAY
from daemon.firing.durations import duration
from daemon.firing.events import Alert, Rank, Text
from daemon.firing.evidence import evidence
from daemon.firing.kind import SAME_TROUBLE_S
from daemon.firing.plan.near_target import near_k
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.probe_doubt import Cause, Disbelief
from daemon.firing.state import State
from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.glass_status import MOVING_C_PER_H
from daemon.firing.verdict.glass_verdict import glass_answers
from daemon.firing.verdict.plan_verdict import anneal_answer

_NEAR_K = 3.0
"""Nearer to its plan than this a kiln is as planned [K]. [chosen: less is told as on its plan]"""
_ROOM_C, _FIRST_CLIMB_C_PER_H = 50.0, 20.0
"""A kiln that was never hotter than the first moves only where it climbs at the second [°C, °C/h]: the rest is the
noise of the probe and the room. One that climbs so in a part that falls is not told as
falling. [chosen: above any room; below the gentlest climb of common practice]"""
_LATE_S = 180.0
"""So much earlier or later than planned a ramp is still on its plan [s]. [chosen: as the band of the drawn plan]"""


class Subject(Enum):
    """What the sentence is about; the first that applies, in this order."""

    NOTHING_YET = auto()
    """No reading has come."""
    PROBE_OUT = auto()
    ALERT = auto()
    BLIND = auto()
    """The last reading has no temperature."""
    LOST = auto()
    """The readings can't be believed."""
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


class Do(Enum):
    """What there is to do in a firing by its plan, where no alert says it."""

    NOTHING = auto()
    AIR_COMES_BACK = auto()
    """The reading stepped down, as under an open lid, and comes back: the air climbs, perhaps nothing else."""
    LOOK_AT_CONTROLLER = auto()
    """The kiln is beyond the tolerance of its plan, or an alarm is over that nobody has answered."""
    ANNEAL_AGAIN = auto()
    """The anneal hold was not whole, or it did not relax the glass."""
    ANNEAL_NOT_KNOWN = auto()
    STRESS_TO_SEE = auto()
    """An alarm stood in this firing, and what stays in the glass is not decided yet."""
    STRESSED = auto()
    """An alarm stood in this firing, and more stress may stay in the glass than is aimed at."""


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
    do
        What there is to do in a firing by its plan.
    lost, lost_for_s
        Why the readings can't be believed, and for how long they could not [s]; None where they can.
    """

    subject: Subject
    alert: Text | None = None
    activity: Activity | None = None
    temp_c: float | None = None
    off_plan_k: float | None = None
    do: Do = Do.NOTHING
    lost: Disbelief | None = None
    lost_for_s: float = 0.0

    @property
    def is_calm(self) -> bool:
        """Return whether there is nothing to do."""
        return self.subject in (Subject.PLAN, Subject.NO_PLAN) and self.do is Do.NOTHING


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
    loud = _loudest(state.board.alerts, last.t_s)
    if loud is not None:
        return Headline(Subject.ALERT, alert=state.board.text_now(loud.no) or loud.text)
    if last.temp_c is None:
        return Headline(Subject.BLIND)
    lost = state.lost
    if lost is not None:
        return Headline(Subject.LOST, lost=lost, lost_for_s=last.t_s - lost.since_s)
    if planned is not None and (
            _is_noise(state, planned, rate_c_per_h) or _climbs_in_a_fall(planned, rate_c_per_h)):
        planned = planned_c = None
    activity, temp_c = _activity(state, planned, rate_c_per_h)
    if not state.parts:
        return Headline(Subject.NO_PLAN, activity=activity, temp_c=temp_c)
    off_k = None
    if planned_c is not None and state.trail.temps:
        off_k = state.trail.temps[-1] - (state.offset.learned_k or 0.0) - planned_c
    return Headline(Subject.PLAN, None, activity, temp_c, off_k, _do(state, planned, off_k))


def _loudest(alerts: tuple[Alert, ...], now_s: float) -> Alert | None:
    """Return the standing alert to be told of, a runaway before other wakes; None where none is more than noted.

    A consequence is left to its cause, also while that has only just gone: after a lid is shut, "not heating" would
    be told of a kiln that climbs again. Where it still stands SAME_TROUBLE_S later, it is told by itself.
    """
    standing = [alert for alert in alerts if alert.cleared_s is None]
    causes = [alert for alert in alerts if alert.cleared_s is None or now_s - alert.cleared_s < SAME_TROUBLE_S]
    names = {alert.kind for alert in causes} | {name for alert in causes for _, name in alert.named}
    loud = max((alert for alert in standing if alert.under not in names),
               key=lambda alert: (alert.rank.height, alert.kind == RUNAWAY), default=None)
    return None if loud is None or loud.rank is Rank.LOG else loud


def _do(state: State, planned: PlannedPart | None, off_plan_k: float | None) -> Do:
    """Return what there is to do: first what the glass lacks, then where the kiln is.

    Nothing is only said where no alarm stood whose consequence can still be mended, and within the plan's tolerance.
    """
    anneal = state.anneal
    woken = [alert for alert in state.board.alerts if alert.rank is Rank.WAKE and alert.kind not in PROBE_KINDS]
    if anneal is not None and (state.finished or (planned and planned.index > anneal.index)):
        whole = anneal_answer(anneal, evidence(state)).result
        if whole is Result.NOT_KNOWN or (whole is Result.NO and not state.was_anneal_enough):
            return Do.ANNEAL_AGAIN if whole is Result.NO else Do.ANNEAL_NOT_KNOWN
        kept = _kept(state) if woken or whole is Result.PARTLY else Do.NOTHING
        if kept is not Do.NOTHING:
            return kept
    elif any(alert.acknowledged_s is None for alert in woken):
        return Do.LOOK_AT_CONTROLLER if state.kiln_c is None else Do.AIR_COMES_BACK
    if off_plan_k is not None and planned is not None and abs(off_plan_k) > _tolerance_k(state, planned):
        return Do.LOOK_AT_CONTROLLER
    return Do.NOTHING


def _kept(state: State) -> Do:
    """Return what to do for the glass after its anneal, by what it was given and by what stays in it."""
    figures = state.load.figures()
    told = glass_answers(state.setup.glass, figures, loose=True)
    answers = {answer.kind: answer.result for answer in reversed(told)}
    if answers.get(Question.RELAXED, Result.NO) is Result.NO:
        return Do.ANNEAL_AGAIN
    stays = answers.get(Question.STRESS)
    if stays is None:
        return Do.STRESS_TO_SEE
    return Do.NOTHING if stays.is_well else Do.STRESSED


def _tolerance_k(state: State, planned: PlannedPart) -> float:
    """Return how far from its plan the kiln may be with nothing to do [K]: as a target is told, and some minutes."""
    return near_k(known=state.offset.learned_k is not None) + abs(planned.rate_c_per_h or 0.0) * _LATE_S / 3600


def _activity(state: State, planned: PlannedPart | None, rate_c_per_h: float | None) -> tuple[Activity, float | None]:
    """Return what the kiln does, and where it holds or goes to [°C]."""
    here = state.found[-1] if state.unplanned and state.found else None
    if here is not None and here.part == "hold" and here.mean_c is not None:
        return Activity.HOLDING, here.mean_c
    if planned is None:
        if state.finished:
            return Activity.PLAN_DONE, None
        least_c_per_h = _FIRST_CLIMB_C_PER_H if _at_room(state) else MOVING_C_PER_H
        if rate_c_per_h is None or abs(rate_c_per_h) < least_c_per_h or (_at_room(state) and rate_c_per_h < 0):
            return Activity.WAITING if state.parts else Activity.STEADY, None
        return Activity.CLIMBING if rate_c_per_h > 0 else Activity.FALLING, None
    return _planned_activity(state, planned), planned.to_c


def _at_room(state: State) -> bool:
    """Return whether the kiln was never hotter than a room."""
    return state.peak_c is None or state.peak_c < _ROOM_C


def _is_noise(state: State, planned: PlannedPart, rate_c_per_h: float | None) -> bool:
    """Return whether the climb that the follower sees in a cold kiln is no more than noise."""
    return planned.index == 0 and planned.direction > 0 and _at_room(state) and (
        rate_c_per_h is None or rate_c_per_h < _FIRST_CLIMB_C_PER_H)


def _climbs_in_a_fall(planned: PlannedPart, rate_c_per_h: float | None) -> bool:
    """Return whether the kiln climbs in a part that falls: after a lid was shut the follower is minutes behind."""
    return planned.direction < 0 and rate_c_per_h is not None and rate_c_per_h > _FIRST_CLIMB_C_PER_H


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
_DO_WORDS = {
    Do.NOTHING: "Nothing to do.",
    Do.AIR_COMES_BACK: "Perhaps only the air, after the lid was shut: read the kiln’s own display.",
    Do.LOOK_AT_CONTROLLER: "Look whether the controller runs this plan.",
    Do.ANNEAL_AGAIN:
        "The anneal hold was not whole: leave the kiln closed, and anneal the glass again before it is used.",
    Do.ANNEAL_NOT_KNOWN: "Whether it was annealed is not known: the probe saw too little of the hold.",
    Do.STRESS_TO_SEE: "Leave the kiln closed. What stays in the glass after this night’s alarm is known when it is "
                      "cooler.",
    Do.STRESSED: "More stress may stay in the glass than is good: leave the kiln closed until it is cold, and look "
                 "between crossed polarisers before you use it.",
}
"""What there is to do, in words."""
_LOST_WORDS = {
    Cause.FROZEN: "it has stood still at {}", Cause.COLDER_THAN_ROOM: "it has been colder than any room",
    Cause.FELL: "since it fell from {} as no kiln cools", Cause.BLIND: "there was none",
}
"""Why the reading is not believed; ``{}`` stands for the last temperature that was."""


def headline_words(said: Headline, units: Units) -> str:
    """Return the sentence, its figures in the owner's unit."""
    if said.subject is Subject.NOTHING_YET:
        return "No reading yet."
    if said.subject is Subject.PROBE_OUT:
        return "The probe is out of service, as you said. Nothing is watched until you say that it is back."
    if said.alert is not None:
        return said.alert.in_unit(units.unit).what
    if said.subject is Subject.LOST and said.lost is not None:
        why = _LOST_WORDS[said.lost.cause].format(units.temp(said.lost.from_c))
        return (f"The reading can’t be believed, for {duration(said.lost_for_s)}: {why}. Where kiln and glass are is "
                "not known: read the kiln’s own display.")
    if said.subject is Subject.BLIND or said.activity is None:
        return "No reading from the probe just now."
    doing = _ACTIVITY_WORDS[said.activity].format("" if said.temp_c is None else units.temp(said.temp_c))
    if said.subject is Subject.NO_PLAN:
        return f"{doing}. No plan: nothing but the reading is watched."
    return f"{doing}{_off_plan(said.off_plan_k, units)}. {_DO_WORDS[said.do]}"


def _off_plan(off_plan_k: float | None, units: Units) -> str:
    """Return how near to its plan the kiln is, as a clause; empty where that is not known."""
    if off_plan_k is None:
        return ""
    if abs(off_plan_k) < _NEAR_K:
        return ", as planned"
    return f", {units.difference(abs(off_plan_k))} {'above' if off_plan_k > 0 else 'below'} plan"
