"""The page of ways to the owner: what is told to whom, what came of it, and a test that goes the way of a wake."""

from __future__ import annotations

import re
from datetime import time, timedelta
from pathlib import Path

import pytest

from daemon.firing.events import Rank
from daemon.notify.alert_messages import Channel
from daemon.notify.milestone_choice import chosen
from daemon.notify.other_messages import MILESTONES
from daemon.notify.sends_nothing import MARK
from daemon.settings.config import Config
from daemon.settings.notifications import Alive
from daemon.store import outbox
from daemon.store.outbox import Mark
from web.now.page import rings

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
CONFIG = Config(
    channels=(Channel("phone", Path("phone.url")), Channel("mail", Path("mail.url"), (Rank.LOOK,)),
              Channel("sister", Path("sister.url"), after_min=10.0)),
    milestones={"anneal-begun": "ring"}, quiet_hours=(time(22), time(7)), alive=Alive(Path("alive.url")))


@pytest.fixture
def page(studio):
    studio.say(studio.fill())
    return studio.app(config=CONFIG).test_client()


def mark(studio, **fates):
    db = studio.open_store()
    for fate in outbox.unsent(db):
        trouble = fates[fate.channel]
        outbox.mark(db, [Mark(fate.outbox_id, 1, sent_utc=None if trouble else studio.clock.utc(), error=trouble)])
    db.close()


def test_every_channel_says_what_it_is_told_and_that_nothing_was_sent_yet(page):
    text = page.get("/reach").text
    for words in ("“Get up” and “Look in the morning”", "“Get up” that nobody has answered for 10 min",
                  "Nothing was sent yet."):
        assert words in text
    assert "url" not in text.split("<main")[1].split("</main")[0], "no address, and not even its file"


def test_a_test_that_nothing_sends_does_not_wait_for_ever_but_says_what_to_do(page, studio):
    answer = page.post("/reach/test", data={"channel": "phone"}, headers=SAME)
    studio.clock.wall += timedelta(seconds=90)
    shown = page.get(answer.headers["Location"])
    assert "The test to phone: still not sent, after 2 min." in shown.text
    said = re.sub(r"\s+", " ", shown.text)
    assert said.index("keep the page Now open beside you, with its sound on") < said.index("lehrling deliver")
    assert 'http-equiv="refresh"' not in shown.text


def test_a_demonstration_says_that_it_sends_nothing_and_asks_for_no_command(page, studio):
    assert "it sends nothing" not in page.get("/reach").text
    (studio.folder / MARK).touch()
    studio.say(None, trouble=[{"ailing": "delivery", "text": "A message waits for phone."}])
    answer = page.post("/reach/test", data={"channel": "phone"}, headers=SAME)
    studio.clock.wall += timedelta(seconds=90)
    shown = page.get(answer.headers["Location"]).text
    assert "This is a demonstration: it sends nothing." in shown
    assert "The test to phone: not sent." in shown
    assert "lehrling deliver" not in shown
    assert "A message waits" not in shown


def test_a_test_is_written_for_delivery_and_its_result_is_shown(page, studio):
    answer = page.post("/reach/test", data={"channel": "phone"}, headers=SAME)
    assert answer.status_code == 303
    shown = page.get(answer.headers["Location"])
    assert "The test to phone: waits." in shown.text
    assert 'http-equiv="refresh"' in shown.text
    mark(studio, phone="")
    shown = page.get(answer.headers["Location"])
    assert "The test to phone: taken." in shown.text
    assert 'http-equiv="refresh"' not in shown.text


def test_what_a_channel_refused_stands_beside_it(page, studio):
    page.post("/reach/test", headers=SAME)
    mark(studio, phone="", mail="the server answered 550", sister="")
    text = page.get("/reach").text
    assert "not taken (the server answered 550)." in text
    assert text.count('class="shape look"') == 1


def test_a_test_of_no_channel_is_refused_and_writes_nothing(page, studio):
    assert page.post("/reach/test", data={"channel": "gong"}, headers=SAME).status_code == 400
    db = studio.open_store()
    assert outbox.unsent(db) == []
    db.close()


@pytest.mark.parametrize("typed", ["x", "1,2,,", "9" * 40, "-1", "٣"])
def test_a_strange_list_of_tests_is_no_slip(page, typed):
    assert page.get("/reach", query_string={"tested": typed}).status_code == 200


def test_without_a_channel_it_says_that_nobody_is_told(studio):
    studio.say(studio.fill())
    text = studio.app().test_client().get("/reach").text
    assert "Nobody gets a message." in text
    assert "Add a way below: your phone first." in text
    assert "nobody notices when it dies" in text
    (studio.folder / MARK).touch()
    text = studio.app().test_client().get("/reach").text
    assert "Nobody gets a message." in text
    assert "Add a way below" not in text  # a demonstration would never use it


def test_choices_quiet_hours_and_signs_of_life_are_told(page):
    text = page.get("/reach").text
    for words in ("rings as when you must get up", "a quiet message", "not from 22:00 to 07:00", "every 60 s",
                  "There is no sounder at the kiln", "battery of its own"):
        assert words in text


def test_of_lehrlings_own_troubles_the_page_shows_those_of_delivery(studio, page):
    studio.say(None, trouble=[
        {"ailing": "delivery", "text": "Two messages wait for phone."},
        {"ailing": "record", "text": "The disk is full."}])
    text = page.get("/reach").text
    assert "Two messages wait for phone." in text
    assert "The disk is full." not in text


# --- the page's own sound ------------------------------------------------------------------------


class Said:
    def __init__(self, *alerts, t_s=1000.0):
        self._alerts, self._t_s = alerts, t_s

    def number(self, key):
        return self._t_s if key == "t_s" else None

    def tables(self, key):
        return self._alerts


def alert(**others):
    return {"no": 1, "kind": "cooling-too-fast", "rank": "wake", "since_s": 0.0, "raised_s": 0.0, "woke_s": 0.0,
            "cleared_s": None, "acknowledged_s": None, "quiet_until_s": None, "step": 1, "under": None,
            "text": {"what": "", "meaning": "", "do": "", "time_left_s": None}, **others}


@pytest.mark.parametrize(("alerts", "sound"), [
    ([], ""), ([alert()], "wake"), ([alert(rank="look")], ""), ([alert(cleared_s=900.0)], ""),
    ([alert(quiet_until_s=1600.0)], ""), ([alert(quiet_until_s=900.0)], "wake"),
    ([alert(kind="over-temperature", quiet_until_s=1600.0)], "runaway"),
])
def test_the_page_sounds_for_a_wake_that_is_not_quiet_and_for_a_runaway_always(alerts, sound):
    assert rings(Said(*alerts)) == sound


def test_the_state_of_an_alert_says_until_when_it_is_quiet(studio, client):
    firing_id = studio.fill(alert=True)
    studio.say(firing_id, alerts=[alert(acknowledged_s=30_000.0, quiet_until_s=31_600.0)])
    assert "quiet until" in client.get("/").text


def test_good_news_is_chosen_on_the_page_and_holds_at_once(page, studio):
    before = page.get("/reach").text
    assert re.search(r'name="anneal-begun">.*?value="ring" selected', before)  # as the settings say
    wanted = dict.fromkeys(MILESTONES, "no") | {"top-reached": "ring"}
    answer = page.post("/reach/milestones", headers=SAME, data=wanted)
    assert answer.status_code == 303
    after = page.get("/reach").text
    assert re.search(r'name="top-reached">.*?value="ring" selected', after)
    assert re.search(r'name="anneal-begun">.*?value="no" selected', after)
    assert studio.store(chosen)["top-reached"] == "ring"


@pytest.mark.parametrize("data", [{}, {"top-reached": "loud"}])
def test_half_a_choice_of_good_news_is_refused_and_keeps_nothing(page, studio, data):
    assert page.post("/reach/milestones", headers=SAME, data=data).status_code == 400
    assert studio.store(chosen) == {}
