"""The box looked over on the page."""

from __future__ import annotations

import pytest

from web.kiln import check

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def client(studio):
    studio.open_store().close()
    studio.say(None, cold_junction_c=25.0)
    return studio.app().test_client()


def test_before_the_first_look_the_page_says_so_and_the_kiln_s_page_leads_there(client):
    assert 'href="/kiln/check"' in client.get("/kiln").text
    assert "The box has not been looked over yet" in client.get("/kiln/check").text


def test_a_look_is_shown_with_what_to_mend_first(client, studio):
    answer = client.post("/kiln/check", headers=SAME)
    assert (answer.status_code, answer.location) == (303, "/kiln/check")
    text = client.get("/kiln/check").text
    assert "Looked over" in text
    assert "There is none, so no phone rings." in text
    states = [line.split('class="when">')[1].split("<")[0] for line in text.splitlines()
              if 'class="when">' in line and "lead" not in line]
    states = [state for state in states if state]
    assert states == sorted(states, key=["mend", "note", "good"].index)
    assert set(states) == {"mend", "note", "good"}


def test_the_page_never_opens_the_probe(client, studio, monkeypatch):
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    (studio.folder / "present.json").unlink()  # nobody watches
    client.post("/kiln/check", headers=SAME)
    assert "Not known while nobody watches." in client.get("/kiln/check").text


def test_a_second_press_meanwhile_does_nothing_and_waits_for_nothing(client, studio, monkeypatch):
    monkeypatch.setattr(check, "examine", lambda *_, **__: pytest.fail("it looked twice at once"))
    with check._ONE_AT_A_TIME:
        assert client.post("/kiln/check", headers=SAME).status_code == 303


def test_a_kept_result_that_makes_no_sense_is_no_error(client, studio):
    (studio.folder / "doctor.json").write_text('{"checked_utc": "yesterday"}')
    assert client.get("/kiln/check").status_code == 200


def test_somebody_elsewhere_cannot_make_it_look(client):
    assert client.post("/kiln/check", headers={"Origin": "http://evil.example"}).status_code == 403
