"""What the probe saw: the verdict of a firing, as it was kept that night or as the kept parts give it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.units import Units
from daemon.firing.verdict.plan_verdict import Answer, verdict
from daemon.service.state_reader import number
from daemon.store.judgements import Judgement
from web import words
from web.firings.record import Record

HAZE_WORDS = "between 700 and 760 °C"
_ALL_WELL = ("Yes",)
_IT_DEPENDS = "Not if"
"""An answer that is no fault of the firing by itself."""
_STAYS = "Did little enough stress stay in "
_SUBJECTS = {
    "Did it reach its top, and no more?": "the top",
    "Did it get its whole anneal hold?": "the anneal hold",
    "Did it cool as slowly as planned from there?": "the cooling",
    "Did it climb gently enough while brittle?": "the climb",
    "Did the hold relax the glass?": "the relaxing in the hold",
    "Did little enough stress stay in it?": "the stress that stays",
    "Did it cool gently enough below the range?": "the cooling below the range",
}


_BY_PLAN = frozenset({
    "Did it reach its top, and no more?", "Did it get its whole anneal hold?",
    "Did it cool as slowly as planned from there?",
})


@dataclass(frozen=True, slots=True)
class Line:
    """One question with its answer, and the figures behind it."""

    question: str
    answer: str
    figures: str
    well: bool
    """Whether the answer is the one hoped for."""


@dataclass(frozen=True)
class Saw:
    """The verdict, and what else the trace tells."""

    lines: tuple[Line, ...]
    exposure: tuple[str, ...]
    """Minutes above limits, as sentences."""
    judged: datetime | None
    """When it was judged; None where it is put together now from the kept parts."""
    version: str = ""

    @property
    def sentence(self) -> str:
        """Return the whole in one sentence."""
        if not self.lines:
            return ""
        strayed = [line for line in self.lines if not line.well]
        plan = [_strayed(line) for line in strayed if line.question in _BY_PLAN]
        glass = [_SUBJECTS.get(line.question, line.question) for line in strayed
                 if line.question not in _BY_PLAN and not line.answer.startswith(_IT_DEPENDS)]
        said = f"Strayed from its plan: {'; '.join(plan)}." if plan else "As planned, by this probe."
        return f"{said} Look at {', '.join(glass)}." if glass else said


def saw_of(record: Record, kept: Judgement | None, peak_c: float | None) -> Saw:
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
        told = kept.told.get("verdict")
        rows = told if isinstance(told, list) else []
        glass = kept.told.get("glass")
        return Saw(lines_of([answer_of(row) for row in rows if isinstance(row, Mapping)]),
                   exposure_of(glass if isinstance(glass, Mapping) else {}), kept.wall_utc, kept.version)
    if record.plan is None:
        return Saw((), (), None)
    plan = record.plan.parsed()
    parts = planned_parts(plan)
    anneal = None if record.glass is None else anneal_hold(parts, record.glass)
    run = tuple(leg.run for leg in record.course if leg.run is not None)
    found = verdict(parts, run, anneal, peak_c, None, Units(record.picture.unit))
    return Saw(lines_of(found), (), None)


def night_of(kept: Judgement | None) -> str:
    """Return the verdict of a night in one sentence; empty where none was kept."""
    rows = kept.told.get("verdict") if kept is not None else None
    if not isinstance(rows, list):
        return ""
    return Saw(lines_of([answer_of(row) for row in rows if isinstance(row, Mapping)]), (), None).sentence


def lines_of(answers: Sequence[Answer]) -> tuple[Line, ...]:
    """Return answers as lines."""
    return tuple(
        Line(a.question, words.bound(a.answer), words.bound(_figures(a)), a.answer.startswith(_ALL_WELL))
        for a in answers
    )


def exposure_of(glass: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the minutes a piece spent in the haze range and above each limit, as sentences."""
    found = []
    haze = glass.get("haze_range_s")
    if isinstance(haze, Mapping):
        rising, falling = number(haze, "rising"), number(haze, "falling")
        if rising is not None and falling is not None and rising + falling > 0:
            found.append(f"{words.capital(HAZE_WORDS)}, where haze forms: {words.duration(rising)} rising, "
                         f"{words.duration(falling)} falling.")
    above = glass.get("time_above_s")
    if isinstance(above, Mapping):
        spans = [(limit, number(above, limit)) for limit in above if isinstance(limit, str)]
        said = [f"{words.duration(s)} above {limit} °C" for limit, s in spans if s]
        if said:
            found.append(f"{words.capital('; '.join(said))}.")
    return tuple(words.bound(line) for line in found)


def _figures(answer: Answer) -> str:
    if answer.measured is None:
        return f"asked {answer.asked}" if answer.asked else ""
    return f"{answer.measured}, asked {answer.asked}" if answer.asked else answer.measured


def _strayed(line: Line) -> str:
    subject = _SUBJECTS.get(line.question, line.question)
    if line.question.startswith(_STAYS):
        subject = f"the stress that stays in {line.question.removeprefix(_STAYS).rstrip('?')}"
    answer = line.answer.removeprefix("No, ").rstrip(".")
    return f"{subject}, {answer[:1].lower()}{answer[1:]}"


def answer_of(row: Mapping[str, Any]) -> Answer:
    """Return an answer as it was kept or handed over."""
    measured, asked = row.get("measured"), row.get("asked")
    return Answer(str(row.get("question", "")), str(row.get("answer", "")),
                  measured if isinstance(measured, str) else None, asked if isinstance(asked, str) else None)
