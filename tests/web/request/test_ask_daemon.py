"""What the page asks of the daemon, and what it says where a form is wrong."""

from __future__ import annotations

import re

import pytest

from daemon.store import requests

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
HOSTILE = '<script>alert("x")</script>'


def test_starting_asks_the_daemon_and_takes_glass_and_thickness_from_the_pieces(client, studio, form_of_start):
    studio.fill(ended=True)
    form = form_of_start(client, piece="1", plan="1", faces="2")
    answer = client.post("/start", data=form, headers=SAME)
    assert answer.status_code == 303
    assert studio.asked() == [("start", {
        "title": "River bowl", "piece_ids": [1], "plan_id": 1, "glass": "90", "thickness_mm": 6.0, "faces": 2,
        "saw_firing_id": None, "token": form["token"],
    })]
    studio.say(None)
    assert "The watch takes it in a moment." in client.get(answer.headers["Location"]).text


def test_a_firing_can_be_started_with_nothing_said_at_all(client, studio, form_of_start):
    studio.open_store().close()
    client.post("/start", data=form_of_start(client), headers=SAME)
    [(kind, payload)] = studio.asked()
    assert kind == "start"
    assert (payload["plan_id"], payload["piece_ids"], payload["thickness_mm"]) == (None, [], 6.0)


def test_a_request_nobody_takes_is_not_done_later(client, studio, form_of_start):
    studio.fill(ended=True)
    studio.say(None)
    address = client.post("/start", data=form_of_start(client), headers=SAME).headers["Location"]
    from datetime import timedelta

    studio.clock.wall += timedelta(minutes=6)
    assert "The watch did not take it." in client.get(address).text


def test_a_refusal_is_told(client, studio):
    number = studio.fill()
    studio.say(number)
    address = client.post(f"/firings/{number}/end", headers=SAME).headers["Location"]
    studio.store(lambda db: requests.settle(db, 1, "this firing has ended already", studio.clock.wall))
    assert "Not done: this firing has ended already" in client.get(address).text


@pytest.mark.parametrize(("act", "typed", "payload"), [
    ("acknowledge", {"alert_no": "1"}, {"firing_id": 1, "alert_no": 1}),
    ("acknowledge", {}, {"firing_id": 1, "alert_no": None}),
    ("quiet", {"alert_no": "1"}, {"firing_id": 1, "alert_no": 1, "for_s": 1800.0}),
    ("end", {}, {"firing_id": 1}),
])
def test_the_buttons_ask_what_they_say(client, studio, act, typed, payload):
    studio.fill(alert=True)
    assert client.post(f"/firings/1/{act}", data=typed, headers=SAME).status_code == 303
    assert studio.asked() == [(act, payload)]


def test_a_firing_that_opened_itself_can_be_named(client, studio):
    number = studio.fill(opened_by="climb", title="A climb")
    studio.say(number)
    assert "Name it and choose its plan." in client.get("/").text
    form = client.get(f"/firings/{number}/name").text
    assert 'value="A climb"' in form
    client.post(f"/firings/{number}/name", headers=SAME,
                data={"title": "Slump of the bowl", "plan": "1", "piece": "1", "thickness": "6,5", "glass": "96"})
    [(kind, payload)] = studio.asked()
    assert (kind, payload["title"], payload["plan_id"], payload["thickness_mm"], payload["glass"]) == (
        "name", "Slump of the bowl", 1, 6.5, "96")


def test_a_wrong_start_is_told_field_by_field_and_keeps_what_was_typed(client, studio, form_of_start):
    studio.fill(ended=True)
    answer = client.post("/start", headers=SAME, data=form_of_start(
        client, title=HOSTILE, thickness="six", piece=["1", "99"], glass="lead", plan="1"))
    assert answer.status_code == 400
    page = answer.text
    assert "“six” is not a number. Write a number of mm, or inches as 1/4" in page
    assert "Choose again." in page
    assert 'value="six"' in page
    assert "&lt;script&gt;alert(" in page
    assert re.search(r'name="piece" value="1" checked', page)
    assert studio.asked() == []


def test_an_open_firing_is_said_before_another_is_started(client, studio):
    studio.fill(title="Still running")
    assert "“Still running” is still open" in client.get("/start").text
