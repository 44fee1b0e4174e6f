"""Verdicts read back: the new ones by kind and result whatever their words, last winter's by their words."""

from __future__ import annotations

import json

import pytest

from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result, TopAnswer
from daemon.firing.verdict.answer_values import Temperature
from daemon.firing.verdict.stored_answers import stored_answers, stored_verdict
from daemon.firing.verdict.verdict_words import in_words

TOP, HOLD = "Did it reach its top, and no more?", "Did it get its whole anneal hold?"
COOLING, CLIMB = "Did it cool as slowly as planned from there?", "Did it climb gently enough while brittle?"
RELAXED, BELOW = "Did the hold relax the glass?", "Did it cool gently enough below the range?"
STRESS, STRESS_12 = "Did little enough stress stay in it?", "Did little enough stress stay in 12 mm?"


@pytest.mark.parametrize(("question", "answer", "kind", "result", "thickness_mm"), [
    (TOP, "Yes, by this probe.", Question.TOP, Result.YES, None),
    (TOP, "12 °C above, by this probe.", Question.TOP, Result.NO, None),
    (TOP, "20 °F below, by this probe.", Question.TOP, Result.NO, None),
    (TOP, "Nothing was read.", Question.TOP, Result.NOT_KNOWN, None),
    (HOLD, "Yes.", Question.ANNEAL_HOLD, Result.YES, None),
    (HOLD, "No, 12 min are missing.", Question.ANNEAL_HOLD, Result.NO, None),
    (HOLD, "No, none was seen.", Question.ANNEAL_HOLD, Result.NO, None),
    (HOLD, "No, the hold was not seen.", Question.ANNEAL_HOLD, Result.NO, None),
    (HOLD, "Not known: 46 min were not seen.", Question.ANNEAL_HOLD, Result.NOT_KNOWN, None),
    (HOLD, "In time, but 8 °C above plan.", Question.ANNEAL_HOLD, Result.PARTLY, None),
    (COOLING, "Yes, on the mean of each step.", Question.COOLING, Result.YES, None),
    (COOLING, "No, up to 122 °C/h.", Question.COOLING, Result.NO, None),
    (COOLING, "The cooling steps were not seen.", Question.COOLING, Result.NOT_KNOWN, None),
    (CLIMB, "Yes.", Question.CLIMB, Result.YES, None),
    (CLIMB, "Yes. But 20 min were not seen; it is reckoned straight across them.", Question.CLIMB, Result.YES, None),
    (CLIMB, "Not if it was fused already; loose layers bear more.", Question.CLIMB, Result.NO_IF, None),
    (CLIMB, "No, faster than common practice even for loose layers.", Question.CLIMB, Result.NO, None),
    (CLIMB, "No, faster than common practice for loose layers.", Question.CLIMB, Result.NO, None),
    (RELAXED, "Yes, if the piece was even by then; there was little time for that.", Question.RELAXED, Result.YES_IF,
     None),
    (RELAXED, "No, about 40% of a standing stress was left; anneal it again.", Question.RELAXED, Result.NO, None),
    (RELAXED, "No, about 40 % of a standing stress was left; anneal it again.", Question.RELAXED, Result.NO, None),
    (RELAXED, "Not known: 90 min of the annealing range were not seen. Drawn straight across them it would be: Yes.",
     Question.RELAXED, Result.NOT_KNOWN, None),
    (STRESS, "Yes, about 0.2 to 0.8 MPa.", Question.STRESS, Result.YES, None),
    (STRESS, "Doubtful, about 1 to 2 MPa: look between crossed polarisers, and anneal it again if in doubt.",
     Question.STRESS, Result.DOUBTFUL, None),
    (STRESS_12, "No, about 2 to 7 MPa: leave it closed until cold, don't cut or drill it, and anneal it again.",
     Question.STRESS, Result.NO, 12.0),
    ("Did little enough stress stay in 4.5 mm?", "Yes, less than 0.1 MPa.", Question.STRESS, Result.YES, 4.5),
    (BELOW, "Doubtful, about 4 to 6 MPa stood in it: look for cracks when it is cold.", Question.COOLING_BELOW_RANGE,
     Result.DOUBTFUL, None),
    ("Did something a later version asks?", "Perhaps.", None, Result.NO, None),
])
def test_an_answer_stored_without_kind_and_result_is_known_by_its_words(
        question: str, answer: str, kind: Question | None, result: Result, thickness_mm: float | None) -> None:
    (found,) = stored_answers([{"question": question, "answer": answer, "measured": "48 min", "asked": None}])
    assert (found.kind, found.result, found.thickness_mm) == (kind, result, thickness_mm)
    assert (found.question, found.answer, found.measured, found.asked) == (question, answer, "48 min", None)


def test_a_stored_answer_comes_back_as_it_was_written() -> None:
    told = in_words(TopAnswer(Result.NO, Temperature(812.0), Temperature(800.0)), Units("C"))
    assert stored_answers(json.loads(json.dumps([told.as_json()]))) == (told,)


HIGH = TopAnswer(Result.NO, Temperature(811.4), Temperature(800.0))
"""Its peak is 1492.5 °F, its top 1472 °F, so that it is 21 °F above as the two are shown; 11 °C would be 20 °F."""


def kept(owner: str, other: str) -> dict[str, object]:
    """Return a judgement with the answer in both units."""
    rows = {unit: [in_words(HIGH, Units(unit)).as_json()] for unit in (owner, other)}
    return {"unit": owner, "verdict": rows[owner], "other_unit": {"unit": other, "verdict": rows[other]}}


@pytest.mark.parametrize(("owner", "other"), [("C", "F"), ("F", "C")])
@pytest.mark.parametrize("unit", ["C", "F"])
def test_a_judgement_in_both_units_is_read_in_the_one_asked_for(owner: str, other: str, unit: str) -> None:
    assert stored_verdict(json.loads(json.dumps(kept(owner, other))), unit) == (in_words(HIGH, Units(unit)),)
    assert in_words(HIGH, Units("F")).answer == "21 °F above."


def test_a_judgement_of_an_earlier_version_is_converted_and_may_be_a_degree_off() -> None:
    earlier = {"verdict": kept("C", "F")["verdict"]}
    assert stored_verdict(earlier, "C") == (in_words(HIGH, Units("C")),)
    (found,) = stored_verdict(earlier, "F")
    assert found.answer == "20 °F above."


@pytest.mark.parametrize("other", [None, 7, "F", {"unit": "K", "verdict": []}, {}])
def test_another_unit_that_makes_no_sense_leaves_the_words_that_are_there(other: object) -> None:
    told = {**kept("C", "F"), "other_unit": other}
    assert stored_verdict(told, "C") == (in_words(HIGH, Units("C")),)
    assert [found.result for found in stored_verdict(told, "F")] == [Result.NO]


def test_kind_and_result_decide_whatever_the_words_say() -> None:
    (found,) = stored_answers([{"question": TOP, "answer": "Yes, by this probe.", "measured": None, "asked": None,
                                "kind": "stress", "result": "doubtful", "thickness_mm": 19}])
    assert (found.kind, found.result, found.thickness_mm) == (Question.STRESS, Result.DOUBTFUL, 19.0)


@pytest.mark.parametrize("rows", [None, 7, "Yes.", {"answer": "Yes."}, [1, None, "Yes."]])
def test_what_is_no_list_of_answers_gives_none(rows: object) -> None:
    assert stored_answers(rows) == ()


def test_a_kind_that_makes_no_sense_is_passed_over_for_the_words() -> None:
    (found,) = stored_answers([{"question": HOLD, "answer": "Yes.", "kind": ["top"], "result": {}}])
    assert (found.kind, found.result) == (Question.ANNEAL_HOLD, Result.YES)
