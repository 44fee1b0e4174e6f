"""The stops fit another plan better than the one chosen, or this one read wrongly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from daemon.firing.detection.other_plan import Better, PlanComparison
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.plan.plan import Plan, to_unit
from daemon.firing.setup import Setup
from daemon.firing.situation.view import View
from daemon.firing.speaker import CLOSED, ELECTRIC, OWN_DISPLAY, Speaker


@dataclass(frozen=True, slots=True)
class OtherStoredPlan:
    """The stops are another plan's."""

    stopped_c: tuple[float, ...]
    """Where the kiln stopped, first and last [°C]."""
    asked_c: tuple[float, ...]
    """What the other plan asks there [°C]."""
    title: str
    """The other plan's."""
    explains: bool = False
    """Whether it explains what the kiln does now."""


@dataclass(frozen=True, slots=True)
class WrongUnit:
    """The stops are the chosen plan's figures, taken for the other unit."""

    stopped_c: tuple[float, ...]
    asked_c: tuple[float, ...]
    unit: str
    """The unit the figures are in, "C" or "F"."""
    explains: bool = False


@dataclass(frozen=True, slots=True)
class WrongType:
    """The stops are the chosen plan's, as a probe of another type reads."""

    stopped_c: tuple[float, ...]
    true_c: tuple[float, ...]
    """The chosen plan's temperatures there [°C]."""
    types: tuple[str, str]
    """The type of the probe, and the one it is set to."""
    explains: bool = False


Facts = OtherStoredPlan | WrongUnit | WrongType


class WrongPlanWatch:
    """Compares the chosen plan with every other one whenever the kiln has stopped anew.

    Others are the maker's stored plans, and the chosen one read wrongly: its figures in the other unit, or a probe of
    another type. A look where another fits surely better, and a line in the log where it is doubtful; what was told
    of steps meanwhile takes this name. See daemon.firing.detection.other_plan for what is no other plan.
    """

    def __init__(self, setup: Setup, plan: Plan) -> None:
        self._plan = plan
        self._comparison = PlanComparison(plan, setup.others, setup.glass)
        self._known_c = 0.0 if setup.offset_k is not None else None

    def see(self, view: View) -> Finding[Facts] | None:
        """Return the finding while another plan fits better.

        Once that is sure, it is so since the first reading: what was told of steps before came of it.

        The usual difference is 0 where the owner has set one, since it was subtracted already. What holds have shown
        is not used: it was learned by the chosen plan.
        """
        compared = self._comparison
        if view.new_segments is not None:
            compared.see(view.new_segments, view.first_c, self._known_c)
        if compared.better is None:
            return None
        facts = replace(_facts(self._plan, compared.better), explains=compared.explains_now)
        if not compared.better.is_sure:
            return Finding(KIND, Rank.LOG, compared.since_s, facts)
        return Finding(KIND, Rank.LOOK, view.first_s, facts)


def _facts(plan: Plan, better: Better) -> Facts:
    """Return the facts of a better plan, with its first and its last stop."""
    close = (better.close[0], better.close[-1])[:len(better.close)]
    stopped_c = tuple(stop.level_c for stop, _, _ in close)
    asked_c = tuple(asked for _, asked, _ in close)
    read = better.other.read
    if read is None:
        return OtherStoredPlan(stopped_c, asked_c, better.other.name)
    if read.types is None:
        return WrongUnit(stopped_c, asked_c, read.unit)
    return WrongType(stopped_c, tuple(plan.steps[at].to_c for _, _, at in close), read.types)


def _words(finding: Finding[Facts], speaker: Speaker) -> Text:
    facts, temp = finding.facts, speaker.temp
    stopped = f"It stopped at {_and(temp(c) for c in facts.stopped_c)}"
    if isinstance(facts, WrongType):
        return _wrong_type(facts, stopped, speaker)
    if isinstance(facts, WrongUnit):
        figures = _and(str(round(to_unit(c, facts.unit))) for c in facts.asked_c)
        head = f"The controller may be set to °{facts.unit}, not °{'C' if facts.unit == 'F' else 'F'}."
        return speaker.text(
            what=f"{head} {stopped}: the plan's {figures}, read as °{facts.unit}.", head=head,
            meaning="Then the kiln misses every temperature of the plan, and what Lehrling says of its steps may be "
                    "wrong.",
            acts=("Look at the controller's unit.", "Is it wrong? Stop the firing there and let the kiln cool."),
            caution=CLOSED,
        )
    head = "The controller may run another plan."
    return speaker.text(
        what=f"{head} {stopped}, as the plan “{facts.title}” asks: {_and(temp(c) for c in facts.asked_c)}.",
        head=head,
        meaning="Then what Lehrling says of its steps is wrong.",
        acts=("Look which program the controller runs.", "Is it the right one? Choose its plan on Lehrling's page.",
              "Is it the wrong one? Go on, or stop it and let the kiln cool."),
        caution=CLOSED,
    )


def _wrong_type(facts: WrongType, stopped: str, speaker: Speaker) -> Text:
    """Return the words for a probe of another type than the chip is set to."""
    probe, shown = facts.types
    probe = "S or R" if probe == "S" else probe
    true = _and(speaker.temp(c) for c in facts.true_c)
    head = "The sensor type is set wrong in Lehrling."
    return speaker.text(
        what=f"{head} {stopped}: the plan's {true}, as a type {probe} sensor reads when type {shown} is set.",
        head=head,
        meaning="Readings are false, the kiln is perhaps fine. What Lehrling says of steps and glass is wrong.",
        acts=(OWN_DISPLAY,
              "In the morning, compare the mark on the sensor with the type that is set.",
              "Touch nothing at a hot kiln."),
        caution=ELECTRIC,
    )


def _and(words: Iterable[str]) -> str:
    """Return one or two words as a sentence names them."""
    return " and ".join(words)


def _explains(facts: Facts) -> bool:
    """Return whether the other plan explains what the kiln does now."""
    return facts.explains


KIND: Kind[Facts] = Kind(
    name="wrong-plan",
    title="another plan or unit",
    watch=AtBeats(lambda setup: WrongPlanWatch(setup, setup.plan).see if setup.plan else None),
    words=_words,
    examples=(
        Example(OtherStoredPlan((668.0, 746.0), (670.0, 745.0), "Tack fuse"), "another stored plan", Rank.LOOK),
        Example(WrongUnit((354.0, 428.0), (354.4, 426.7), "F"), "figures read in the other unit", Rank.LOOK),
        Example(WrongType((573.0,), (670.0,), ("N", "K")), "a sensor of another type", Rank.LOOK),
    ),
    on_delay_s=0.0, off_delay_s=600.0,
    explains=(Family.PLAN,),
    gathers=(Family.PLAN,),
    # A climb through a hold compares with the plan as well; a runaway never loses its name.
    may_replace=(Vaguer(Family.PLAN, float("inf"), is_uncaused=True),
                 Vaguer("over-temperature", float("inf"), is_uncaused=True, below=Rank.WAKE)),
    may_replace_now=_explains,
    calms=_explains,
)
