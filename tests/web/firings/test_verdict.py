"""What the probe saw: in a sentence first, as judged that night, and beside it by today's rules."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result
from daemon.firing.verdict.stored_answers import stored_answers
from daemon.firing.verdict.verdict_words import AnswerInWords
from daemon.store import judgements
from web.firings.rejudge import pairs
from web.firings.verdict import FiringVerdict, exposure_of, lines_of

TOP, ANNEAL = "Did it reach its top, and no more?", "Did it get its whole anneal hold?"
TOP_YES = AnswerInWords(Question.TOP, Result.YES, TOP, "Yes.", "800 °C", "800 °C")
TOP_HIGH = AnswerInWords(Question.TOP, Result.NO, TOP, "11 °C above.", "811 °C", "800 °C")
SHORT = AnswerInWords(Question.ANNEAL_HOLD, Result.NO, ANNEAL, "No, 12 min are missing.", "48 min at 516 °C",
                      "516 °C, 60 min")
CLIMB_IF = AnswerInWords(Question.CLIMB, Result.NO_IF, "Did it climb gently enough while brittle?",
                         "Not if it was fused already; loose layers bear more.", None, None)
STRESSED = AnswerInWords(Question.STRESS, Result.DOUBTFUL, "Did little enough stress stay in it?",
                         "Doubtful, about 1 to 2 MPa: look.", None, None)


def seen_of(*answers: AnswerInWords) -> FiringVerdict:
    return FiringVerdict(lines_of(answers))


def test_a_firing_by_its_plan_is_said_in_one_sentence():
    assert seen_of(TOP_YES).sentence == "As planned."


def test_what_strayed_is_named_in_the_sentence():
    seen = seen_of(TOP_HIGH, SHORT)
    assert seen.sentence.replace("\u00a0", " ") == (
        "Strayed from its plan: the top, 11 °C above; the anneal hold, 12 min are missing.")
    assert seen.lines[1].figures.replace("\u00a0", " ") == "48 min at 516 °C, asked 516 °C, 60 min."


def test_minutes_above_limits_are_said_and_none_is_left_out_silently():
    said = exposure_of({"haze_range_s": {"rising": 840.0, "falling": 420.0},
                        "time_above_s": {"540": 11640.0, "760": 0.0, "much": 1.0}}, Units("C"))
    assert [line.replace("\u00a0", " ") for line in said] == [
        "Between 700 and 760 °C, where haze forms: 14 min rising, 7 min falling.", "3 h 14 min above 540 °C."]
    assert exposure_of({"haze_range_s": None, "time_above_s": "nonsense"}, Units("C")) == ()


def test_the_kept_judgement_is_what_is_shown(client, studio):
    number = studio.fill(until_s=30_000.0, ended=True)
    before = client.get(f"/firings/{number}").text
    assert "What the probe saw" in before
    assert "Did it get its whole anneal hold?" in before  # from the kept parts
    studio.store(lambda db: judgements.add_judgement(db, number, {"peak_c": 812.0, "glass": None, "verdict": [
        {"question": TOP, "answer": "12 °C above.", "measured": "812 °C", "asked": "800 °C"}]},
        "0.1.0", studio.clock.wall))
    after = client.get(f"/firings/{number}").text
    assert "highest 812&nbsp;°C" in after
    assert "As judged when it ended." in after
    assert ANNEAL not in after


@pytest.mark.slow  # over a second
def test_judging_again_stands_beside_what_was_told_and_writes_nothing(client, studio):
    number = studio.fill(until_s=30_000.0, ended=True, alert=True)
    held = studio.database.read_bytes()
    page = client.get(f"/firings/{number}/again").text
    assert "by today’s rules" in page
    assert "cooling too fast" in page  # told that night; the trace itself is by its plan
    assert "516 °C, 60 min" in page.replace("\u00a0", " ")
    assert studio.database.read_bytes() == held


def test_a_running_firing_has_no_verdict_yet(client, studio):
    assert "What the probe saw" not in client.get(f"/firings/{studio.fill(until_s=9000.0)}").text


def test_one_firing_has_one_peak_wherever_it_is_told(client, studio):
    number, other = studio.fill(ended=True), studio.fill(ended=True)
    for firing_id in (number, other):
        studio.store(lambda db, n=firing_id: judgements.add_judgement(
            db, n, {"peak_c": 777.0, "glass": None, "verdict": []}, "0.1.0", studio.clock.wall))
    for path in ("/firings", f"/firings/{number}", f"/firings/{number}/card",
                 f"/compare?firing={number}&firing={other}"):
        page = client.get(path).text
        assert "777" in page, path
        assert "highest 80" not in page
    assert "highest 777 °C" in client.get(f"/firings/{number}").text


def test_what_depends_is_no_fault_and_what_the_glass_bore_is_named_apart():
    seen = seen_of(TOP_YES, CLIMB_IF, STRESSED)
    assert seen.sentence == "As planned. Look at the stress that stays."


def test_the_stress_of_one_thickness_among_several_is_named_with_it():
    seen = seen_of(TOP_YES, replace(STRESSED, thickness_mm=12.0))
    assert seen.sentence.replace("\u00a0", " ") == (
        "As planned. Look at the stress that stays in 12 mm.")


@pytest.mark.parametrize("result", Result)
@pytest.mark.parametrize("kind", Question)
def test_changing_every_sentence_changes_no_truth_no_place_and_no_order(kind, result):
    told = replace(TOP_YES, kind=kind, result=result)
    for question, answer in ((TOP, "No, 12 min are missing."), (ANNEAL, "Yes."), ("Qua?", "Not if. Not known."),
                             ("", "")):
        other = replace(told, question=question, answer=answer, measured="7 °C", asked=None)
        kept = stored_answers([other.as_json(), SHORT.as_json()])
        lines, before = lines_of(kept), lines_of([told, SHORT])
        assert [line.well for line in lines] == [line.well for line in before]
        assert [line.subject for line in lines] == [line.subject for line in before]
        assert [line.identity for line in lines] == [line.identity for line in before]
        shown, as_was = (FiringVerdict(which).sentence for which in (lines, before))
        assert shown.startswith("Strayed from its plan: ") is as_was.startswith("Strayed from its plan: ") is True
        assert ("Look at" in shown) is ("Look at" in as_was)


def test_last_winters_verdict_without_kinds_reads_as_it_did():
    kept = stored_answers([
        {"question": TOP, "answer": "11 °C above.", "measured": "811 °C", "asked": "800 °C"},
        {"question": ANNEAL, "answer": "Not known: 46 min were not seen.", "measured": None,
         "asked": "516 °C, 60 min"},
        {"question": CLIMB_IF.question, "answer": CLIMB_IF.answer, "measured": None, "asked": None},
        {"question": "Did the hold relax the glass?", "measured": None, "asked": None,
         "answer": "Yes, if the piece was even by then; there was little time for that."},
        {"question": "Did it cool gently enough below the range?", "measured": None, "asked": None,
         "answer": "Doubtful, about 4 to 6 MPa stood in it: look for cracks when it is cold."}])
    seen = seen_of(*kept)
    assert [line.well for line in seen.lines] == [False, False, False, True, False]
    assert seen.sentence.replace("\u00a0", " ") == (
        "Strayed from its plan: the top, 11 °C above. Not known: the anneal hold. Look at the "
        "cooling below the range.")
    assert seen.lines[1].figures.replace("\u00a0", " ") == "Asked 516 °C, 60 min."


def test_two_judgements_are_laid_side_by_side_by_what_they_ask_and_not_by_their_words():
    today = replace(TOP_HIGH, question="Was the top reached?")
    thick = replace(STRESSED, thickness_mm=12.0)
    table = pairs(lines_of([TOP_YES, STRESSED]), lines_of([today, thick]))
    assert [(question, then is not None, now is not None) for question, then, now in table] == [
        (TOP, True, True), (STRESSED.question, True, False), (thick.question, False, True)]


def alarms(answer: str, result: Result) -> AnswerInWords:
    return AnswerInWords(Question.ALARMS, result, "Did it go by without an alarm?", answer, None, None)


def test_a_night_that_got_somebody_up_is_never_told_as_planned_alone():
    woken = alarms("No, it got you up twice; 3 more could wait for the morning.", Result.NO)
    assert seen_of(TOP_YES, woken).sentence == (
        "As planned. It got you up twice; 3 more could wait for the morning.")
    assert seen_of(TOP_YES, alarms("Yes.", Result.YES)).sentence == "As planned."


def test_a_top_held_too_long_has_strayed():
    held = AnswerInWords(Question.HOLDS, Result.NO, "Were its other holds as long as planned?",
                         "No, 800 °C 28 min longer.", "38 min", "10 min at 800 °C")
    assert seen_of(TOP_YES, held).sentence.replace("\u00a0", " ") == (
        "Strayed from its plan: a hold, 800 °C 28 min longer.")


def test_a_firing_without_a_plan_is_not_as_planned(client, studio):
    assert seen_of(STRESSED).sentence == "No plan to hold it against. Look at the stress that stays."
    number = studio.fill(until_s=30_000.0, ended=True, alert=True)
    studio.store(lambda db: db.execute("UPDATE firing SET plan_id = NULL WHERE firing_id = ?", [number]))
    page = client.get(f"/firings/{number}").text
    assert "No plan to hold it against. It got you up once." in page
    assert "As planned" not in page
    card = client.get(f"/firings/{number}/card").text
    assert "Fired without a plan." in card
    assert "it got you up once" in card


def test_what_the_probe_did_not_see_is_named_as_not_known_and_not_as_planned():
    unknown = replace(SHORT, result=Result.NOT_KNOWN, answer="Not known: the reading stood still.")
    assert seen_of(TOP_YES, unknown).sentence == "Not known: the anneal hold. The rest as planned."
    assert "planned" not in seen_of(unknown).sentence
