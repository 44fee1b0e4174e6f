"""Answers read back from where they were stored or handed over as JSON.

A verdict stored since answers have a kind and a result is read by those. One stored before has only its words;
``_from_words`` alone knows them, and the words of later versions never reach it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.other_unit import in_unit
from daemon.firing.verdict.verdict_words import AnswerInWords

_OLD_QUESTIONS = {
    "Did it reach its top, and no more?": Question.TOP,
    "Did it get its whole anneal hold?": Question.ANNEAL_HOLD,
    "Did it cool as slowly as planned from there?": Question.COOLING,
    "Did it climb gently enough while brittle?": Question.CLIMB,
    "Did the hold relax the glass?": Question.RELAXED,
    "Did it cool gently enough below the range?": Question.COOLING_BELOW_RANGE,
}
_OLD_STRESS = re.compile(r"Did little enough stress stay in (?:it|([0-9]+(?:\.[0-9]+)?) mm)\?")
_OLD_ANSWERS = (
    ("Yes, if ", Result.YES_IF), ("Yes", Result.YES), ("Not known", Result.NOT_KNOWN), ("Not if ", Result.NO_IF),
    ("Doubtful", Result.DOUBTFUL), ("In time, but ", Result.PARTLY), ("Nothing was read", Result.NOT_KNOWN),
    ("The cooling steps were not seen", Result.NOT_KNOWN),
)
"""How the answers of earlier versions began; the first that fits decides, and anything else was a no."""


def stored_verdict(told: Mapping[str, Any], unit: str) -> tuple[AnswerInWords, ...]:
    """Return the answers of a stored judgement in ``unit``, "C" or "F".

    A judgement holds them in both units, each made from the measured values. One of an earlier version has only the
    words in the unit that its owner read then: its figures are converted, and may be a degree off.
    """
    other = told.get("other_unit")
    if isinstance(other, Mapping) and other.get("unit") == unit:
        return stored_answers(other.get("verdict"))
    answers = stored_answers(told.get("verdict"))
    return answers if told.get("unit") == unit else tuple(in_unit(answer, unit) for answer in answers)


def stored_answers(rows: Any) -> tuple[AnswerInWords, ...]:
    """Return the answers of a stored ``verdict``; what is no list of answers gives none."""
    if not isinstance(rows, Iterable) or isinstance(rows, str | bytes):
        return ()
    return tuple(_stored_answer(row) for row in rows if isinstance(row, Mapping))


def _stored_answer(row: Mapping[str, Any]) -> AnswerInWords:
    """Return one answer: by its kind and result where this program knows them, else by its words."""
    question, answer = str(row.get("question", "")), str(row.get("answer", ""))
    measured, asked, thickness = row.get("measured"), row.get("asked"), row.get("thickness_mm")
    kind: Question | None
    try:
        kind, result = Question(row.get("kind", "")), Result(row.get("result", ""))
        thickness_mm = float(thickness) if isinstance(thickness, int | float) else None
    except ValueError:
        kind, result, thickness_mm = _from_words(question, answer)
    return AnswerInWords(kind, result, question, answer, measured if isinstance(measured, str) else None,
                         asked if isinstance(asked, str) else None, thickness_mm)


def _from_words(question: str, answer: str) -> tuple[Question | None, Result, float | None]:
    """Return kind, result and thickness [mm] of an answer stored by a version that kept only words."""
    result = next((result for words, result in _OLD_ANSWERS if answer.startswith(words)), Result.NO)
    stress = _OLD_STRESS.fullmatch(question)
    if stress is not None:
        return Question.STRESS, result, float(stress[1]) if stress[1] else None
    return _OLD_QUESTIONS.get(question), result, None
