"""In the morning one question: asked once, answered on Now or on the firing, for the whole load."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from daemon.store import firings, outcomes

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
ASKED = "How did River bowl come out?"


@pytest.fixture
def ended(studio):
    number = studio.fill(ended=True)
    studio.say(None)
    return number


def _load_of(studio, number, piece_ids):
    studio.store(lambda db: firings.name_firing(db, number, {}, piece_ids))


def test_now_asks_once_and_the_answer_goes_to_the_piece(client, studio, ended):
    assert ASKED in client.get("/").text
    answer = client.post(f"/firings/{ended}/came-out", headers=SAME,
                         data={"word": ["as hoped", "bubbles"], "note": "Two at the rim.", "back": "now"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    kept = studio.store(lambda db: outcomes.of_firing(db, ended))[1]
    assert (kept.words, kept.note) == (("as hoped", "bubbles"), "Two at the rim.")
    assert ASKED not in client.get("/").text
    page = client.get(f"/firings/{ended}").text
    assert ASKED not in page
    assert "as hoped, bubbles" in page


def test_the_firing_asks_too_and_leads_back_to_itself(client, ended):
    assert ASKED in client.get(f"/firings/{ended}").text
    answer = client.post(f"/firings/{ended}/came-out", headers=SAME, data={"word": "clear"})
    assert answer.headers["Location"] == f"/firings/{ended}#pieces"


def test_a_load_without_pieces_has_an_outcome_of_its_own_that_can_be_said_again(client, studio, ended):
    _load_of(studio, ended, [])
    assert "How did it come out?" in client.get("/").text
    client.post(f"/firings/{ended}/came-out", headers=SAME, data={"word": "haze", "note": "At the foot."})
    assert studio.store(lambda db: outcomes.of_load(db, ended)).words == ("haze",)
    page = client.get(f"/firings/{ended}").text
    assert "Came out: <strong>haze</strong>" in page
    assert 'name="word" value="haze" checked' in page
    client.post(f"/firings/{ended}/came-out", headers=SAME, data={"word": "clear"})
    assert "Came out: <strong>clear</strong>" in client.get(f"/firings/{ended}").text


def test_each_piece_of_a_load_gets_the_words(client, studio, ended):
    from daemon.store import pieces

    other = studio.store(lambda db: pieces.add_piece(db, name="Reed plate", glass="90", thickness_mm=6.0,
                                                     now_utc=studio.clock.wall))
    _load_of(studio, ended, [1, other])
    assert "These words go to each of the 2 pieces." in client.get("/").text
    client.post(f"/firings/{ended}/came-out", headers=SAME, data={"word": "clear"})
    assert {number: o.words for number, o in studio.store(lambda db: outcomes.of_firing(db, ended)).items()} == {
        1: ("clear",), other: ("clear",)}


def test_now_says_when_the_firing_that_has_ended_did(client, studio, ended):
    from daemon.store import firings

    firing = studio.store(lambda db: firings.firing(db, ended))
    there = (firing.started_utc + timedelta(seconds=firing.ended_s)).astimezone(ZoneInfo("Europe/Berlin"))
    assert f"It ended on {there:%a} {there.day} {there:%b, %H:%M}." in client.get("/").text


def test_a_firing_that_nobody_named_is_not_called_by_its_want_of_a_name(client, studio):
    studio.fill(ended=True, title="Not named yet", opened_by="climb")
    studio.say(None)
    assert "A firing without a name</a> has ended" in client.get("/").text


@pytest.mark.parametrize(("typed", "said"), [
    ({}, "Choose at least one word"), ({"word": ["clear", "haze"]}, "can’t both be"),
    ({"word": "lovely"}, "Choose words of the list"), ({"note": "x" * 5000}, "Use at most 4000"),
])
def test_what_cannot_be_kept_is_said_and_what_was_typed_stays(client, studio, ended, typed, said):
    kept = {"note": "Kept?", **typed} if typed else {}
    answer = client.post(f"/firings/{ended}/came-out", headers=SAME, data=kept)
    assert (answer.status_code, said in answer.text) == (400, True)
    assert studio.store(lambda db: outcomes.of_firing(db, ended)) == {}
    if "word" in typed:
        assert "Kept?" in answer.text


def test_now_does_not_ask_while_one_runs_nor_after_a_week_nor_of_a_cold_one(client, studio):
    number = studio.fill(until_s=600.0, ended=True)  # 56 °C: the probe was tried
    studio.say(None)
    assert "come out?" not in client.get("/").text
    number = studio.fill(ended=True)
    assert "come out?" in client.get("/").text
    studio.clock.wall += timedelta(days=7, seconds=1)
    studio.say(None)
    assert "come out?" not in client.get("/").text
    assert "come out?" in client.get(f"/firings/{number}").text
    running = studio.fill()
    studio.say(running)
    assert "come out?" not in client.get("/").text
    assert client.post(f"/firings/{running}/came-out", headers=SAME, data={"word": "clear"}).status_code == 409
