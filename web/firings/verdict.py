"""What the probe saw: the verdict of a firing, as it was kept that night or as the kept parts give it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from daemon.firing.durations import duration
from daemon.firing.evidence import alarms_answer
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.plan_verdict import Evidence, verdict
from daemon.firing.verdict.stored_answers import stored_verdict
from daemon.firing.verdict.verdict_words import AnswerInWords, in_words
from daemon.glass.exposure import HAZE_C
from daemon.service.state_reader import number
from daemon.store.judgements import Judgement
from web import words
from web.firings.record import Record

_SUBJECTS = {
    Question.TOP: "the top",
    Question.HOLDS: "a hold",
    Question.ANNEAL_HOLD: "the anneal hold",
    Question.COOLING: "the cooling",
    Question.CLIMB: "the climb",
    Question.RELAXED: "the relaxing in the hold",
    Question.STRESS: "the stress that stays",
    Question.COOLING_BELOW_RANGE: "the cooling below the range",
    Question.ALARMS: "the alarms",
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
        """Return what was measured and what was asked, as a sentence; empty where there is neither."""
        asked = f"asked {self.told.asked}" if self.told.asked else ""
        said = ", ".join(part for part in (self.told.measured, asked) if part)
        return words.bound(f"{said[:1].upper()}{said[1:].removesuffix('.')}.") if said else ""

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
        of_plan = [line for line in self.lines if _is_of_plan(line)]
        return " ".join([_by_plan(of_plan), *self._glass(), *self._alarms()])

    def _glass(self) -> list[str]:
        """Return what to look at in the glass, as one sentence, and what of it is not known; empty where all is well.

        A climb that loose layers bear, and alarms, are not of the glass.
        """
        strayed = [line for line in self.lines if not _is_of_plan(line) and not line.well
                   and line.told.kind is not Question.ALARMS and line.told.result is not Result.NO_IF]
        unknown = [line.subject for line in strayed if line.told.result is Result.NOT_KNOWN]
        look = [line.subject for line in strayed if line.told.result is not Result.NOT_KNOWN]
        return ([f"Look at {', '.join(look)}."] if look else []) + _unknown(unknown)

    def _alarms(self) -> list[str]:
        """Return how many alarms there were, as one sentence; which they were stands with the answer."""
        return [words.bound(f"{words.capital(line.told.clause)}.") for line in self.lines
                if line.told.kind is Question.ALARMS and not line.well]


def _by_plan(lines: Sequence[VerdictLine]) -> str:
    """Return in one or two sentences how a firing held to its plan; the lines are those about the plan."""
    if not lines:
        return "No plan to hold it against."
    strayed = [f"{line.subject}, {words.bound(line.told.clause)}" for line in lines
               if not line.well and line.told.result is not Result.NOT_KNOWN]
    unknown = [line.subject for line in lines if line.told.result is Result.NOT_KNOWN]
    said = [f"Strayed from its plan: {'; '.join(strayed)}."] if strayed else []
    if not strayed and len(unknown) < len(lines):
        said = ["As planned."] if not unknown else ["The rest as planned."]
    return " ".join(_unknown(unknown) + said if not strayed else said + _unknown(unknown))


def _unknown(subjects: Sequence[str]) -> list[str]:
    """Return that these are not known, as one sentence; empty where there are none."""
    return [f"Not known: {', '.join(subjects)}."] if subjects else []


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
    units = Units(record.picture.unit)
    alarms = lines_of([in_words(alarms_answer(record.alerts), units)])
    if kept is not None:
        glass = kept.told.get("glass")
        lines = kept_lines(kept, units.unit)
        if all(line.told.kind is not Question.ALARMS for line in lines):  # judged before alarms were counted
            lines = (*lines, *alarms)
        return FiringVerdict(lines, exposure_of(glass if isinstance(glass, Mapping) else {}, units),
                             kept.wall_utc, kept.version)
    if record.plan is None:
        return FiringVerdict(alarms)
    parts = planned_parts(record.plan.parsed())
    anneal = None if record.glass is None else anneal_hold(parts, record.glass)
    run = tuple(leg.run for leg in record.course if leg.run is not None)
    answers = verdict(parts, anneal, Evidence(run, peak_c, None))
    return FiringVerdict((*lines_of([in_words(answer, units) for answer in answers]), *alarms))


def kept_lines(kept: Judgement | None, unit: str) -> tuple[VerdictLine, ...]:
    """Return the verdict of a night in the reader's unit; empty where none was kept."""
    if kept is None:
        return ()
    units, peak_c = Units(unit), number(kept.told, "peak_c")
    return lines_of([_of_top(told, units, peak_c) for told in stored_verdict(kept.told, unit)])


def _of_top(told: AnswerInWords, units: Units, peak_c: float | None) -> AnswerInWords:
    """Return an answer; that about the top with the peak as it was judged, which the page shows elsewhere too."""
    if told.kind is not Question.TOP or told.measured is None or peak_c is None:
        return told
    return replace(told, measured=units.temp(peak_c))


def lines_of(answers: Sequence[AnswerInWords]) -> tuple[VerdictLine, ...]:
    """Return answers as lines."""
    return tuple(VerdictLine(answer) for answer in answers)


def exposure_of(glass: Mapping[str, Any], units: Units) -> tuple[str, ...]:
    """Return the minutes a piece spent in the haze range and above each limit, as sentences."""
    found = []
    haze = glass.get("haze_range_s")
    if isinstance(haze, Mapping):
        rising, falling = number(haze, "rising"), number(haze, "falling")
        if rising is not None and falling is not None and rising + falling > 0:
            found.append(f"Between {units.bare(HAZE_C[0])} and {units.temp(HAZE_C[1])}, where haze forms: "
                         f"{duration(rising)} rising, {duration(falling)} falling.")
    above = glass.get("time_above_s")
    if isinstance(above, Mapping):
        spans = [(limit, number(above, limit)) for limit in above
                 if isinstance(limit, str) and limit.replace(".", "", 1).isdecimal()]
        said = [f"{duration(s)} above {units.temp(float(limit))}" for limit, s in spans if s]
        if said:
            found.append(f"{words.capital('; '.join(said))}.")
    return tuple(words.bound(line) for line in found)
