"""Strangers who guess are slow, are told to the owner, and keep no known browser out."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.web.security.conftest import SAME, WORDS
from web.security.rate_limit import GUESSES_FROM_ONE, LONG_FROM_ALL, LONG_FROM_ONE
from web.security.wrong_tries import A_SLIP, MOST, WrongTries


def _enter(client, words=WORDS, address="192.168.1.9"):
    return client.post("/enter", data={"passcode": words}, headers=SAME, environ_overrides={"REMOTE_ADDR": address})


def _guess_for(hours, guarded, studio):
    """Let strangers of two hundred addresses guess every five seconds; return how many guesses were looked at."""
    client, looked_at = guarded.test_client(), 0
    for number in range(round(hours * 720)):
        looked_at += _enter(client, "not this one", f"192.168.2.{number % 200}").status_code == 403
        studio.clock.second += 5
        studio.clock.wall += timedelta(seconds=5)
    return looked_at


@pytest.mark.slow
def test_strangers_guess_thirty_times_an_hour_however_many_they_are(guarded, studio):
    looked_at = _guess_for(2, guarded, studio)
    assert 2 * LONG_FROM_ALL - 5 <= looked_at <= 2 * LONG_FROM_ALL
    assert looked_at * 12 < 800  # a day's worth; it was 14,400


def test_one_address_guesses_twenty_times_an_hour(guarded, studio):
    client = guarded.test_client()
    answers = []
    for _ in range(60):
        answers.append(_enter(client, "not this one").status_code)
        studio.clock.second += 60 / GUESSES_FROM_ONE
    assert answers.count(403) == LONG_FROM_ONE


def test_a_known_browser_is_let_in_while_strangers_guess_and_a_new_one_waits(guarded, studio):
    mine = guarded.test_client()
    _enter(mine)
    mine.post("/leave", headers=SAME)
    _guess_for(0.2, guarded, studio)
    assert _enter(guarded.test_client(), address="192.168.1.77").status_code == 429
    assert _enter(mine, address="192.168.1.30").status_code == 302, "from another address too"
    assert mine.get("/").status_code == 200


def test_a_known_browser_has_no_more_tries_than_anybody(guarded):
    mine = guarded.test_client()
    _enter(mine)
    mine.post("/leave", headers=SAME)
    answers = [_enter(mine, "not this one", f"192.168.3.{n}").status_code for n in range(GUESSES_FROM_ONE + 1)]
    assert answers == [403] * GUESSES_FROM_ONE + [429]


def test_wrong_tries_are_told_on_now_until_they_are_seen(guarded, studio):
    stranger, owner = guarded.test_client(), guarded.test_client()
    for _ in range(4):
        _enter(stranger, "not this one", "192.168.1.66")
        studio.clock.second += 60
    _enter(owner)
    for path in ("/", "/reading"):
        page = owner.get(path).text.replace("\u00a0", " ")
        assert "A wrong passcode was entered 4 times from 192.168.1.66, last on Wed 4 Mar at 02:00." in page
    assert "192.168.1.66" not in stranger.get("/enter").text
    reader = studio.app(open_house=False, open_reading=True).test_client()
    assert "192.168.1.66" not in reader.get("/").text
    assert owner.post("/reading/tries", headers=SAME).status_code == 303
    assert "A wrong passcode" not in owner.get("/").text


def test_a_slip_of_the_hand_is_not_told_and_a_stranger_who_got_in_cannot_hide(tmp_path, studio):
    kept = WrongTries(tmp_path / "tries")
    now = studio.clock.wall
    for _ in range(A_SLIP):
        kept.count("a", now)
    kept.entered("a")
    assert kept.all() == []
    for _ in range(A_SLIP + 1):
        kept.count("b", now)
    kept.entered("b")
    (one,) = WrongTries(tmp_path / "tries").all()
    assert (one.address, one.count, one.then_entered) == ("b", A_SLIP + 1, True)


def test_who_got_in_after_many_tries_is_named_so(guarded, studio):
    client = guarded.test_client()
    for _ in range(A_SLIP + 1):
        _enter(client, "not this one")
        studio.clock.second += 20
    _enter(client)
    assert "Then the right one came from there." in client.get("/").text


def test_so_many_addresses_are_kept(tmp_path, studio):
    kept = WrongTries(tmp_path / "tries")
    for number in range(MOST + 5):
        kept.count(f"192.168.1.{number}", studio.clock.wall)
    assert next(one.address for one in kept.all()) == f"192.168.1.{MOST + 4}"
    assert len(kept.all()) == MOST
    (tmp_path / "tries").write_text("nonsense")
    assert WrongTries(tmp_path / "tries").all() == []
