"""How one reads, and who was let in."""

from __future__ import annotations

import stat
from datetime import timedelta

import pytest

from web.security import passcode
from web.security.sessions import FILE_NAME, Sessions

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
WORDS = "warm sand and slow rivers"


@pytest.fixture
def guarded(studio, monkeypatch):
    monkeypatch.setattr(passcode, "METHOD", "scrypt:1024:8:1")
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    passcode.keep(studio.folder / "passcode", WORDS)
    return studio.app(open_house=False)


def _entered(app):
    client = app.test_client()
    client.post("/enter", data={"passcode": WORDS}, headers={**SAME, "User-Agent": "Mozilla Android Firefox/1"})
    return client


def test_unit_clock_and_light_are_kept_by_the_browser(client, studio):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    client.post("/reading", headers=SAME, data={"unit": "F", "hours": "12", "light": "night"})
    page = client.get("/").text.replace("\u00a0", " ")
    assert 'data-light="night"' in page
    assert "896" in page  # 480 °C
    assert "2:00 am" in page
    measured = client.get("/firings/1/trace.json").json["figure"]
    assert measured["twelve"] is True
    other = studio.app().test_client().get("/").text
    assert "data-light" not in other
    assert "2:00 am" not in other


@pytest.mark.parametrize("cookie", ["", "unit=K&hours=13&light=red", "%00", "=" * 500, "unit=F" * 50])
def test_a_cookie_that_makes_no_sense_is_as_none(studio, cookie):
    studio.say(studio.fill(until_s=3000.0), 3000.0)
    client = studio.app().test_client()
    client.set_cookie("lehrling-reads", cookie)
    assert client.get("/").status_code == 200


def test_a_session_can_be_ended_from_another_browser(guarded):
    phone, desk = _entered(guarded), _entered(guarded)
    page = desk.get("/reading").text
    assert page.count("Firefox on Android") >= 2
    keys = [part.split('"')[0] for part in page.split('name="key" value="')[1:]]
    with phone.session_transaction() as kept:
        mine = kept["key"]
    assert mine in keys
    desk.post("/reading/sessions", headers=SAME, data={"key": mine})
    assert phone.get("/").status_code == 302
    assert desk.get("/").status_code == 200
    third = _entered(guarded)
    desk.post("/reading/sessions", headers=SAME, data={})
    assert third.get("/").status_code == 302
    assert desk.get("/").status_code == 200


def test_sessions_outlast_a_restart_and_end_after_ninety_days(studio, guarded):
    client = _entered(guarded)
    cookie = client.get_cookie("lehrling").value
    again = studio.app(open_house=False).test_client()
    again.set_cookie("lehrling", cookie)
    assert again.get("/").status_code == 200
    kept = studio.folder / FILE_NAME
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    studio.clock.second += timedelta(days=91).total_seconds()
    sessions = Sessions(kept, studio.clock)
    assert not sessions.alive(sessions.all()[0].key)


def test_who_was_let_in_is_shown_to_nobody_outside(studio, guarded):
    _entered(guarded)
    reader = studio.app(open_house=False, open_reading=True).test_client()
    assert "Who was let in" not in reader.get("/reading").text


def test_the_page_says_one_thing_of_the_passcode(studio):
    """Started open, nobody is asked; the foot and the text once said the opposite of each other."""
    page = studio.app(open_house=True).test_client().get("/reading").text
    assert "Nobody is asked for a passcode" in page
    assert "asks for the passcode" not in page
