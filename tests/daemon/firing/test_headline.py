"""The one sentence of Now: what it is about and what the kiln does, from states made by hand, and their words."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from daemon.firing.events import Alert, Part, Rank, Sample, Text
from daemon.firing.headline import Activity, Do, Headline, Subject, headline_of, headline_words
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts, top_hold
from daemon.firing.situation.probe_doubt import Cause, Disbelief
from daemon.firing.units import Units
from daemon.firing.verdict.answer import Question, Result

PARTS = planned_parts(Plan("full fuse", "C", (
    Step(200.0, 540.0, 600.0, None), Step(300.0, 800.0, 600.0, "top"), Step(None, 516.0, 3600.0, "anneal"),
    Step(55.0, 370.0, 0.0), Step(100.0, 60.0, 0.0))))
RISE, SOAK, _, TOP, FREE, ANNEAL, SLOW, LAST = PARTS
HOT = Sample(30_000.0, 520.0)
HELD = (Part(ANNEAL.index, ANNEAL.step, "hold", 20_000.0, 23_600.0, None, 516.0),)


def state(**others: object) -> SimpleNamespace:
    """Return as much of a State as the sentence looks at."""
    given = {
        "last": HOT, "probe_out": False, "parts": PARTS, "anneal": ANNEAL, "top": top_hold(PARTS), "finished": False,
        "unplanned": None, "found": HELD, "boundaries": SimpleNamespace(found=HELD),
        "trail": SimpleNamespace(temps=(520.0,)), "offset": SimpleNamespace(learned_k=None),
        "unbelieved": lambda: (), "lost": None, "peak_c": 800.0, "dwell": None, "setup": SimpleNamespace(glass=None),
        "load": SimpleNamespace(figures=lambda: None), "kiln_c": None, "drop": SimpleNamespace(stood=()),
        "was_anneal_enough": None,
        "board": SimpleNamespace(alerts=(), text_now=lambda no: None), **others}
    return SimpleNamespace(**given)


def alert(no: int, kind: str, rank: Rank, **others: object) -> Alert:
    return replace(Alert(no, kind, rank, 0.0, 0.0, Text(f"{kind} it is.", "", "")), **others)


def about(*alerts: Alert) -> Headline:
    fresh = SimpleNamespace(alerts=alerts, text_now=lambda no: None)
    return headline_of(state(board=fresh), ANNEAL, 516.0, 0.0)


@pytest.mark.parametrize(("others", "subject"), [
    ({"last": None, "probe_out": True}, Subject.NOTHING_YET), ({"probe_out": True}, Subject.PROBE_OUT),
    ({"last": Sample(30_000.0, None, "open")}, Subject.BLIND), ({"parts": ()}, Subject.NO_PLAN), ({}, Subject.PLAN),
])
def test_the_sentence_is_about_the_first_thing_that_applies(others: dict[str, object], subject: Subject) -> None:
    assert headline_of(state(**others), ANNEAL, 516.0, 0.0).subject is subject


def test_the_loudest_standing_alert_is_told_before_what_the_kiln_does() -> None:
    look, wake = alert(1, "hold-overrun", Rank.LOOK), alert(2, "not-cooling", Rank.WAKE)
    assert about(look, wake).alert.what == "not-cooling it is."
    runaway = alert(3, "over-temperature", Rank.WAKE)
    assert about(wake, runaway).alert.what == "over-temperature it is."
    assert about(runaway, wake).alert.what == "over-temperature it is."


def test_an_alert_that_is_over_noted_or_a_consequence_is_not_told() -> None:
    over = alert(1, "not-cooling", Rank.WAKE, cleared_s=10.0)
    noted = alert(2, "haze-range", Rank.LOG)
    assert about(over, noted).subject is Subject.PLAN
    assert about(replace(over, kind="sensor-fault"), noted).do is Do.NOTHING
    cause = alert(3, "firing-stopped", Rank.LOOK)
    consequence = alert(4, "hold-cut-short", Rank.WAKE, under="firing-stopped")
    assert about(cause, consequence).alert.what == "firing-stopped it is."
    renamed = alert(3, "restarted", Rank.LOOK, named=((5.0, "firing-stopped"),))
    assert about(renamed, consequence).alert.what == "restarted it is."


def test_a_consequence_is_left_to_its_cause_until_that_is_a_quarter_of_an_hour_over() -> None:
    # After an open lid is shut the kiln climbs again, and "not heating" stands until its off-delay is past.
    consequence = alert(4, "firing-stopped", Rank.LOOK, under="sudden-drop")
    gone = alert(3, "sudden-drop", Rank.WAKE, cleared_s=HOT.t_s - 890.0)
    assert about(gone, consequence).subject is Subject.PLAN
    long_gone = replace(gone, cleared_s=HOT.t_s - 910.0)
    assert about(long_gone, consequence).alert.what == "firing-stopped it is."
    assert about(gone, replace(consequence, under=None)).alert.what == "firing-stopped it is."


def test_a_standing_alert_is_told_in_the_words_it_has_now() -> None:
    board = SimpleNamespace(alerts=(alert(1, "not-cooling", Rank.WAKE),), text_now=lambda no: Text("Fresh.", "", ""))
    assert headline_words(headline_of(state(board=board), ANNEAL, 516.0, 0.0), Units("C")) == "Fresh."


@pytest.mark.parametrize(("planned", "activity", "words"), [
    (RISE, Activity.CLIMBING_TO, "Climbing to 540 °C"), (SOAK, Activity.HOLDING, "Holding at 540 °C"),
    (TOP, Activity.TOP_HOLD, "At the top, 800 °C"), (FREE, Activity.FALLING_FREELY_TO, "Falling freely to 516 °C"),
    (ANNEAL, Activity.ANNEAL_HOLD, "In the anneal hold at 516 °C"),
    (SLOW, Activity.COOLING_THROUGH_ANNEAL_TO, "Cooling through the anneal to 370 °C"),
    (LAST, Activity.COOLING_TO, "Cooling to 60 °C"),
])
def test_each_part_of_a_plan_has_its_activity(planned: object, activity: Activity, words: str) -> None:
    said = headline_of(state(), planned, None, 0.0)
    assert (said.activity, said.temp_c) == (activity, planned.to_c)
    assert headline_words(said, Units("C")) == f"{words}. Nothing to do."


@pytest.mark.parametrize(("others", "rate_c_per_h", "activity"), [
    ({}, None, Activity.WAITING), ({}, 7.9, Activity.WAITING), ({"parts": ()}, -7.9, Activity.STEADY),
    ({"parts": ()}, 8.1, Activity.CLIMBING), ({}, -8.1, Activity.FALLING), ({"finished": True}, 0.0,
                                                                          Activity.PLAN_DONE),
])
def test_outside_every_part_the_rate_says_what_the_kiln_does(
        others: dict[str, object], rate_c_per_h: float | None, activity: Activity) -> None:
    assert headline_of(state(**others), None, None, rate_c_per_h).activity is activity


def test_a_kiln_that_climbs_is_never_told_as_falling_nor_its_anneal_as_lost() -> None:
    # A lid was open in the anneal and is shut: the follower still has the kiln in the fall after it.
    woke = alert(1, "sudden-drop", Rank.WAKE, cleared_s=HOT.t_s - 60.0)
    told = headline_of(state(board=SimpleNamespace(alerts=(woke,), text_now=lambda no: None)), LAST, 300.0, 900.0)
    assert headline_words(told, Units("C")) == "Climbing. Look whether the controller runs this plan."
    slowly = headline_of(state(), LAST, 520.0, 5.0)
    assert slowly.activity is Activity.COOLING_TO


def test_a_hold_that_no_plan_asked_for_is_told_by_its_mean() -> None:
    found = (Part(0, 1, "hold", 0.0, None, None, 643.0),)
    said = headline_of(state(parts=(), unplanned=object(), found=found), None, None, 200.0)
    assert (said.activity, said.temp_c) == (Activity.HOLDING, 643.0)


@pytest.mark.parametrize(("planned_c", "learned_k", "words"), [
    (518.0, None, ", as planned."), (516.0, None, ", 4 °C above plan."), (530.0, None, ", 10 °C below plan."),
    (516.0, 3.0, ", as planned."), (None, None, "516 °C. Nothing"),
])
def test_how_near_its_plan_it_is_counts_after_the_usual_difference(
        planned_c: float | None, learned_k: float | None, words: str) -> None:
    said = headline_of(state(offset=SimpleNamespace(learned_k=learned_k)), ANNEAL, planned_c, 0.0)
    assert words in headline_words(said, Units("C"))


@pytest.mark.parametrize(("found", "do", "words"), [
    (HELD, Do.NOTHING, "Nothing to do"), ((), Do.ANNEAL_AGAIN, "The anneal hold was not whole"),
    ((replace(HELD[0], end_s=21_000.0),), Do.ANNEAL_AGAIN, "anneal the glass again before it is used"),
])
def test_an_anneal_hold_behind_the_kiln_is_told_of_where_it_was_not_whole(
        found: tuple[Part, ...], do: Do, words: str) -> None:
    said = headline_of(state(found=found), SLOW, None, -55.0)
    assert said.do is do
    assert words in headline_words(said, Units("C"))
    assert headline_of(state(found=found), ANNEAL, None, 0.0).do is Do.NOTHING


def test_an_anneal_that_was_short_but_enough_is_not_to_be_done_again() -> None:
    short = (replace(HELD[0], end_s=21_000.0),)
    assert headline_of(state(found=short, was_anneal_enough=True), SLOW, None, -55.0).do is Do.NOTHING
    assert headline_of(state(found=short, was_anneal_enough=False), SLOW, None, -55.0).do is Do.ANNEAL_AGAIN


def woken(**others: object) -> SimpleNamespace:
    """Return a board with a wake that is over."""
    return SimpleNamespace(alerts=(alert(1, "sudden-drop", Rank.WAKE, cleared_s=9000.0, **others),),
                           text_now=lambda no: None)


def test_after_an_alarm_that_nobody_answered_the_controller_is_to_be_looked_at() -> None:
    assert headline_of(state(board=woken()), ANNEAL, 518.0, 0.0).do is Do.LOOK_AT_CONTROLLER
    air = headline_of(state(board=woken(), kiln_c=515.0), ANNEAL, 518.0, 1600.0)
    assert headline_words(air, Units("C")).endswith("after the lid was shut: read the kiln’s own display.")
    answered = headline_of(state(board=woken(acknowledged_s=9100.0)), ANNEAL, 518.0, 0.0)
    assert headline_words(answered, Units("C")).endswith("as planned. Nothing to do.")


@pytest.mark.parametrize(("planned_c", "planned", "do"), [
    # Fourteen kelvins are the tolerance where the usual difference is not known, and 55 °C/h make 3 in three minutes.
    (506.0, ANNEAL, Do.NOTHING), (505.9, ANNEAL, Do.LOOK_AT_CONTROLLER), (505.9, SLOW, Do.NOTHING),
    (503.2, SLOW, Do.LOOK_AT_CONTROLLER), (148.0, LAST, Do.LOOK_AT_CONTROLLER),
])
def test_beyond_the_tolerance_of_the_plan_it_never_says_nothing_to_do(
        planned_c: float, planned: object, do: Do) -> None:
    said = headline_of(state(), planned, planned_c, 0.0)
    assert said.do is do
    assert ("Nothing to do" in headline_words(said, Units("C"))) is (do is Do.NOTHING)


@pytest.mark.parametrize(("stays", "do"), [
    (None, Do.STRESS_TO_SEE), (Result.YES, Do.NOTHING), (Result.DOUBTFUL, Do.STRESSED), (Result.NO, Do.STRESSED),
])
def test_after_an_alarm_the_glass_has_the_last_word(
        monkeypatch: pytest.MonkeyPatch, stays: Result | None, do: Do) -> None:
    told = [SimpleNamespace(kind=Question.RELAXED, result=Result.YES)]
    told += [SimpleNamespace(kind=Question.STRESS, result=stays)] if stays else []
    monkeypatch.setattr("daemon.firing.headline.glass_answers", lambda *_, **__: told)
    said = headline_of(state(board=woken(acknowledged_s=9100.0)), SLOW, None, -55.0)
    assert said.do is do
    assert ("Nothing to do" in headline_words(said, Units("C"))) is (do is Do.NOTHING)
    monkeypatch.setattr("daemon.firing.headline.glass_answers",
                        lambda *_, **__: [SimpleNamespace(kind=Question.RELAXED, result=Result.NO)])
    assert headline_of(state(board=woken()), SLOW, None, -55.0).do is Do.ANNEAL_AGAIN


@pytest.mark.parametrize(("cause", "words"), [
    (Cause.FROZEN, "for 25 min: it has stood still at 516 °C."),
    (Cause.FELL, "for 25 min: since it fell from 516 °C as no kiln cools."),
])
def test_a_reading_that_is_not_believed_is_never_told_as_the_kiln(cause: Cause, words: str) -> None:
    said = headline_of(state(lost=Disbelief(28_500.0, 516.0, cause)), ANNEAL, 516.0, 0.0)
    assert said.subject is Subject.LOST
    told = headline_words(said, Units("C"))
    assert words in told
    assert told.endswith("not known: read the kiln’s own display.")


def test_an_anneal_hold_that_was_not_seen_is_told_as_not_known() -> None:
    said = Headline(
        Subject.PLAN, activity=Activity.COOLING_TO, temp_c=60.0, off_plan_k=-20.0, do=Do.ANNEAL_NOT_KNOWN)
    # 60 °C = 140 °F, and 20 K are 36 °F.
    assert headline_words(said, Units("F")) == (
        "Cooling to 140 °F, 36 °F below plan. Whether it was annealed is not known: the probe saw too little of the "
        "hold.")


@pytest.mark.parametrize(("subject", "words"), [
    (Subject.NOTHING_YET, "No reading yet."),
    (Subject.BLIND, "No reading from the probe just now."),
    (Subject.PROBE_OUT,
     "The probe is out of service, as you said. Nothing is watched until you say that it is back."),
])
def test_where_nothing_is_seen_the_sentence_says_so(subject: Subject, words: str) -> None:
    assert headline_words(Headline(subject), Units("C")) == words


def test_without_a_plan_it_says_how_little_is_watched() -> None:
    said = Headline(Subject.NO_PLAN, activity=Activity.CLIMBING)
    assert headline_words(said, Units("C")) == "Climbing. No plan: nothing but the reading is watched."
