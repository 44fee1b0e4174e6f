"""What is asked of a firing in the morning, and how an answer is held: as values, without words.

Colour, order and truth of a verdict follow from ``kind`` and ``result`` alone; ``verdict_words`` puts an answer into
sentences, in the owner's unit, when it is shown or stored.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from daemon.firing.situation.probe_doubt import Disbelief
from daemon.firing.verdict.answer_values import (
    AlarmCount,
    ClimbLimit,
    ClimbRate,
    CoolingRates,
    MeasuredHold,
    PlannedHold,
    ProbeError,
    RelativeError,
    Relaxation,
    RelaxationNeed,
    StressLimit,
    StressRange,
    Temperature,
    Tension,
)


class Question(StrEnum):
    """What a verdict asks; the value is the ``kind`` of the JSON and of the store, and never changes."""

    TOP = "top"
    """Did it reach its top, and no more?"""
    HOLDS = "holds"
    """Was each hold, besides the anneal, as long as planned?"""
    ANNEAL_HOLD = "anneal-hold"
    """Was the anneal hold as long and as hot as planned?"""
    COOLING = "cooling"
    """Did it cool as slowly as planned after the anneal hold?"""
    CLIMB = "climb"
    """Did it climb gently enough while the glass was brittle?"""
    RELAXED = "relaxed"
    """Did the time in the annealing range relax the glass?"""
    STRESS = "stress"
    """Did little enough stress stay? Asked once for each thickness of a load."""
    COOLING_BELOW_RANGE = "cooling-below-range"
    """Did it cool gently enough below the annealing range?"""
    ALARMS = "alarms"
    """Did the firing go by without an alarm?"""

    @property
    def is_of_plan(self) -> bool:
        """Return whether it holds the firing against its plan; the others are about the glass itself."""
        return self in (Question.TOP, Question.HOLDS, Question.ANNEAL_HOLD, Question.COOLING)


class Result(StrEnum):
    """How a question was answered; the value is the ``result`` of the JSON and of the store, and never changes."""

    YES = "yes"
    YES_IF = "yes-if"
    """Yes, on a condition that the probe cannot check and that ordinary work meets."""
    NO = "no"
    NO_IF = "no-if"
    """No only where something is so that the probe cannot know: no fault of the firing by itself."""
    PARTLY = "partly"
    """In one respect yes, in another no: a hold that was long enough, but not at its temperature."""
    DOUBTFUL = "doubtful"
    """Within the uncertainty, or so near the limit that the piece has to be looked at."""
    NOT_KNOWN = "not-known"
    """The probe saw too little to say."""

    @property
    def is_well(self) -> bool:
        """Return whether it is the result hoped for."""
        return self in (Result.YES, Result.YES_IF)


@dataclass(frozen=True, slots=True)
class Unseen:
    """A stretch without a temperature on which an answer rests.

    Attributes
    ----------
    length_s
        How long in all [s].
    if_straight
        What the result would be if the kiln had gone straight across it, where the answer is NOT_KNOWN for it;
        None where the answer stands nevertheless, or nothing can be said.
    """

    length_s: float
    if_straight: Result | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """One question answered. Each question has its own kind of answer below, with its own values.

    Attributes
    ----------
    kind
        Which question it answers.
    result
        The answer itself.
    measured, asked
        The values behind it; None where there is none.
    uncertainty
        How far ``measured`` may be off; None where nothing is said of that.
    unseen
        What of the firing was not seen and matters here; None for nothing.
    lost
        From where on the probe told nothing that can be believed, where the answer is NOT_KNOWN for it; else None.
    """

    kind: ClassVar[Question]
    result: Result
    measured: object
    asked: object
    uncertainty: object = None
    unseen: Unseen | None = None
    lost: Disbelief | None = None


@dataclass(frozen=True, slots=True)
class TopAnswer(Answer):
    """Whether the top was reached, not passed, and once; ``again`` is how hot it was made after its anneal.

    ``is_twice`` where it went to the top a second time before its anneal.
    """

    kind: ClassVar[Question] = Question.TOP
    measured: Temperature | None
    asked: Temperature
    again: Temperature | None = None
    is_twice: bool = False


@dataclass(frozen=True, slots=True)
class HoldsAnswer(Answer):
    """Whether the holds besides the anneal were as long as planned, in the plan's order; one not seen is None."""

    kind: ClassVar[Question] = Question.HOLDS
    measured: tuple[MeasuredHold | None, ...]
    asked: tuple[PlannedHold, ...]


@dataclass(frozen=True, slots=True)
class AnnealHoldAnswer(Answer):
    """Whether the anneal hold was as planned; ``measured`` is None where no such hold was seen.

    ``undone`` is a hold that was seen and that counts no more, since the kiln was heated far above it afterwards.
    """

    kind: ClassVar[Question] = Question.ANNEAL_HOLD
    measured: MeasuredHold | None
    asked: PlannedHold
    undone: MeasuredHold | None = None


@dataclass(frozen=True, slots=True)
class CoolingAnswer(Answer):
    """Whether the cooling steps were as slow as planned; both values are None where none was seen."""

    kind: ClassVar[Question] = Question.COOLING
    measured: CoolingRates | None
    asked: CoolingRates | None


@dataclass(frozen=True, slots=True)
class ClimbAnswer(Answer):
    """Whether the climb was gentle enough; NO_IF where loose layers would have borne it."""

    kind: ClassVar[Question] = Question.CLIMB
    measured: ClimbRate
    asked: ClimbLimit


@dataclass(frozen=True, slots=True)
class RelaxedAnswer(Answer):
    """Whether the glass relaxed; YES_IF where there was too little time to even out as well, or less than planned.

    ``is_annealed`` is False where its hold was too short for this glass, by the alert's own judgement.
    """

    kind: ClassVar[Question] = Question.RELAXED
    measured: Relaxation
    asked: RelaxationNeed
    uncertainty: ProbeError
    is_annealed: bool = True


@dataclass(frozen=True, slots=True)
class StressAnswer(Answer):
    """Whether little enough stress stayed; ``thickness_mm`` where a load has several, to tell them apart.

    YES_IF where the plan's anneal hold was not whole: the glass is reckoned as flat and even, and a longer hold is
    for what is not. ``is_annealed`` is False where the hold was too short for this glass: no figure is told then.
    """

    kind: ClassVar[Question] = Question.STRESS
    measured: StressRange
    asked: StressLimit
    uncertainty: RelativeError
    thickness_mm: float | None = None
    is_annealed: bool = True


@dataclass(frozen=True, slots=True)
class CoolingBelowRangeAnswer(Answer):
    """Whether the cooling below the annealing range pulled no more than glass ordinarily bears."""

    kind: ClassVar[Question] = Question.COOLING_BELOW_RANGE
    measured: Tension
    asked: StressLimit
    uncertainty: RelativeError


@dataclass(frozen=True, slots=True)
class AlarmsAnswer(Answer):
    """Whether the firing went by without an alarm; nothing is asked but that."""

    kind: ClassVar[Question] = Question.ALARMS
    measured: AlarmCount
    asked: None = None
