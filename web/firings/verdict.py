"""What the probe saw: the verdict of a firing, as it was kept that night or as the kept parts give it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from daemon.firing.durations import duration
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.plan_verdict import verdict
from daemon.firing.verdict.stored_answers import stored_answers
from daemon.firing.verdict.verdict_words import AnswerInWords, in_words
from daemon.service.state_reader import number
from daemon.store.judgements import Judgement
from web import words
from web.firings.record import Record

HAZE_WORDS = "between 700 and 760 °C"
_SUBJECTS = {
    Question.TOP: "the top",
    Question.ANNEAL_HOLD: "the anneal hold",
    Question.COOLING: "the cooling",
    Question.CLIMB: "the climb",
    Question.RELAXED: "the relaxing in the hold",
    Question.STRESS: "the stress that stays",
    Question.COOLING_BELOW_RANGE: "the cooling below the range",
}
"""What each question is about, for the one sentence of a firing."""


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """One answer as a line of the page, each figure bound to its unit."""

    told: AnswerInWords

    @property
    def question(self) -> str:
        """Return the question."""
        return self.told.question

    @property
    def answer(self) -> str:
        """Return the answer, a sentence."""
        return words.bound(self.told.answer)

    @property
    def figures(self) -> str:
        """Return what was measured and what was asked; empty where there is neither."""
        asked = f"asked {self.told.asked}" if self.told.asked else ""
        return words.bound(", ".join(part for part in (self.told.measured, asked) if part))

    @property
    def well(self) -> bool:
        """Return whether the answer is the one hoped for."""
        return self.told.result.is_well

    @property
    def identity(self) -> tuple[object, ...]:
        """Return what two judgements of a firing have in common where they answer the same question."""
        told = self.told
        return (told.question,) if told.kind is None else (told.kind, told.thickness_mm)

    @property
    def subject(self) -> str:
        """Return what the question is about: ``the stress that stays in 12 mm``."""
        told = self.told
        if told.kind is None:
            return told.question
        where = "" if told.thickness_mm is None else f" in {told.thickness_mm:g} mm"
        return words.bound(f"{_SUBJECTS[told.kind]}{where}")


@dataclass(frozen=True)
class FiringVerdict:
    """The verdict of a firing, and what else its trace tells."""

    lines: tuple[VerdictLine, ...]
    exposure: tuple[str, ...] = ()
    """Minutes above limits, as sentences."""
    judged: datetime | None = None
    """When it was judged; None where it is put together now from the kept parts."""
    version: str = ""

    @property
    def sentence(self) -> str:
        """Return the whole in one sentence."""
        if not self.lines:
            return ""
        strayed = [line for line in self.lines if not line.well]
        plan = [f"{line.subject}, {words.bound(line.told.clause)}" for line in strayed if _is_of_plan(line)]
        glass = [line.subject for line in strayed if not _is_of_plan(line) and line.told.result is not Result.NO_IF]
        said = f"Strayed from its plan: {'; '.join(plan)}." if plan else "As planned, by this probe."
        return f"{said} Look at {', '.join(glass)}." if glass else said


def _is_of_plan(line: VerdictLine) -> bool:
    """Return whether a line holds the firing against its plan."""
    return line.told.kind is not None and line.told.kind.is_of_plan


def verdict_of(record: Record, kept: Judgement | None, peak_c: float | None) -> FiringVerdict:
    """Return what the probe saw of a firing that has ended.

    Parameters
    ----------
    record
        The firing.
    kept
        How it was judged when it ended; None of a firing from before that was kept.
    peak_c
        Its highest reading [°C], for a firing without a kept judgement.
    """
    if kept is not None:
        glass = kept.told.get("glass")
        return FiringVerdict(kept_lines(kept), exposure_of(glass if isinstance(glass, Mapping) else {}),
                             kept.wall_utc, kept.version)
    if record.plan is None:
        return FiringVerdict(())
    parts = planned_parts(record.plan.parsed())
    anneal = None if record.glass is None else anneal_hold(parts, record.glass)
    run = tuple(leg.run for leg in record.course if leg.run is not None)
    units = Units(record.picture.unit)
    return FiringVerdict(lines_of([in_words(answer, units) for answer in verdict(parts, run, anneal, peak_c, None)]))


def kept_lines(kept: Judgement | None) -> tuple[VerdictLine, ...]:
    """Return the verdict of a night; empty where none was kept."""
    return () if kept is None else lines_of(stored_answers(kept.told.get("verdict")))


def lines_of(answers: Sequence[AnswerInWords]) -> tuple[VerdictLine, ...]:
    """Return answers as lines."""
    return tuple(VerdictLine(answer) for answer in answers)


def exposure_of(glass: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the minutes a piece spent in the haze range and above each limit, as sentences."""
    found = []
    haze = glass.get("haze_range_s")
    if isinstance(haze, Mapping):
        rising, falling = number(haze, "rising"), number(haze, "falling")
        if rising is not None and falling is not None and rising + falling > 0:
            found.append(f"{words.capital(HAZE_WORDS)}, where haze forms: {duration(rising)} rising, "
                         f"{duration(falling)} falling.")
    above = glass.get("time_above_s")
    if isinstance(above, Mapping):
        spans = [(limit, number(above, limit)) for limit in above if isinstance(limit, str)]
        said = [f"{duration(s)} above {limit} °C" for limit, s in spans if s]
        if said:
            found.append(f"{words.capital('; '.join(said))}.")
    return tuple(words.bound(line) for line in found)
