"""Good news, the daily word, a return and a test: who gets them, how loudly, in which words."""

from datetime import time
from pathlib import Path

import pytest

from daemon.firing.events import Milestone, Rank
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.notify.alert_messages import Channel
from daemon.notify.other_messages import (
    MILESTONES,
    Post,
    is_hushed,
    of_milestone,
    of_return,
    of_test,
    of_waking,
)

PHONE = Channel("phone", Path("phone.url"))
BELL = Channel("bell", Path("bell.url"), (Rank.WAKE,))
SISTER = Channel("sister", Path("sister.url"), after_min=10.0)
ALL = (PHONE, BELL, SISTER)
ANNEAL = Milestone(20_000.0, "anneal-begun", "The anneal hold at 516 °C has begun.")


def test_good_news_is_quiet_unless_chosen():
    usual = {name: loudness for name, (_, loudness) in MILESTONES.items()}
    assert {name for name, loudness in usual.items() if loudness != "no"} == {"step", "call", "dry"}
    assert of_milestone(ANNEAL, "Bowl", Post(ALL)) == []


def test_a_quiet_milestone_goes_where_looks_go_and_one_that_rings_where_wakes_go():
    quiet, = of_milestone(ANNEAL, "Bowl", Post(ALL, {"anneal-begun": "quiet"}))
    assert (quiet.channel, quiet.rank, quiet.title) == ("phone", "look", "The anneal hold at 516 °C has begun")
    ringing = of_milestone(ANNEAL, "Bowl", Post(ALL, {"anneal-begun": "ring"}))
    assert [(letter.channel, letter.rank) for letter in ringing] == [("phone", "wake"), ("bell", "wake")]
    assert ringing[0].title == "CALL: The anneal hold at 516 °C has begun"
    assert ringing[0].body.splitlines() == ["The anneal hold at 516 °C has begun.", "Bowl.", NO_SAFETY_DEVICE]


@pytest.mark.parametrize(("name", "choice"), [("step-3", "step"), ("call-640", "call"), ("call-640-falling", "call"),
                                              ("may-be-opened", "may-be-opened")])
def test_every_step_and_every_call_is_chosen_together(name, choice):
    assert Post(ALL, {choice: "ring"}).loudness(name) == "ring"
    assert Post(ALL, {choice: "no"}).loudness(name) == "no"


def test_a_return_tells_the_gap_and_why():
    letters = of_return("Bowl", 2700.0, "the computer was off", Post(ALL))
    assert [letter.channel for letter in letters] == ["phone", "bell"]
    assert letters[0].title == "Lehrling is back after 45 min without a reading"
    assert letters[0].body.startswith("No reading for 45 min: the computer was off.")


def test_the_daily_word_goes_everywhere_and_tells_trouble():
    letters = of_waking("Kiln: no firing is open.", ["Delivery: a message waits for phone."], Post(ALL))
    assert [letter.channel for letter in letters] == ["phone", "bell", "sister"]
    assert letters[0].title == "Lehrling is awake, with trouble"
    assert "A day without it: look after Lehrling." in letters[0].body


def test_a_test_goes_the_way_of_a_wake():
    assert [(letter.channel, letter.rank) for letter in of_test(ALL)] == [
        ("phone", "wake"), ("bell", "wake"), ("sister", "wake")]


@pytest.mark.parametrize(("now", "hushed"), [("21:59", False), ("22:00", True), ("02:10", True), ("06:59", True),
                                             ("07:00", False), ("12:00", False)])
def test_quiet_hours_go_over_midnight(now, hushed):
    assert is_hushed((time(22), time(7)), time.fromisoformat(now)) is hushed
    assert not is_hushed(None, time.fromisoformat(now))


def test_quiet_hours_within_a_day():
    assert is_hushed((time(13), time(15)), time(14))
    assert not is_hushed((time(13), time(15)), time(15))
