"""What a box gives to its studio's server: nothing unless turned on, nothing without the token, nothing to change."""

from __future__ import annotations

import logging

import pytest

from web.security import passcode, studio_token

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
ADDRESSES = ("/collect/overview.json", "/collect/chain/1.json", "/collect/beside.json?of=1-", "/collect/studio.json")


@pytest.fixture
def token(studio):
    return studio_token.token(passcode.page_key(studio.folder), passcode.fingerprint(studio.folder / "passcode"))


@pytest.mark.parametrize("address", ADDRESSES)
def test_it_is_off_until_the_owner_turns_it_on(studio, token, address):
    studio.fill()
    answer = studio.app().test_client().get(address, headers={"Authorization": f"Bearer {token}"})
    assert answer.status_code == 404
    assert "lehrling settings set page.studio true" in answer.text


@pytest.mark.parametrize("shown", [
    None, "", "Bearer", "Bearer ", "Bearer f" * 3, "Basic {}", "{}", "bearer {}", "Bearer {}0"])
@pytest.mark.parametrize("address", ADDRESSES)
def test_without_the_token_nothing_is_given(studio, token, address, shown):
    studio.fill()
    client = studio.app(studio=True, open_reading=True).test_client()
    headers = {} if shown is None else {"Authorization": shown.format(token)}
    answer = client.get(address, headers=headers)
    assert (answer.status_code, answer.headers["WWW-Authenticate"]) == (401, "Bearer")
    assert "lehrling studio token prints it" in answer.text


def test_the_passcode_of_a_person_opens_nothing_here(studio, cheap_hash):
    studio.fill()
    passcode.keep(studio.folder / "passcode", "four plain words here")
    client = studio.app(studio=True, open_house=False).test_client()
    client.post("/enter", data={"passcode": "four plain words here"}, headers=SAME)
    assert client.get("/firings").status_code == 200
    assert client.get("/collect/overview.json").status_code == 401


def test_what_the_server_has_already_is_not_given_again(studio, token):
    studio.fill(until_s=4000.0)
    client = studio.app(studio=True).test_client()

    def ask(address):
        return client.get(address, headers={"Authorization": f"Bearer {token}"}).json

    overview = ask("/collect/overview.json")
    assert overview["firings"][0][0] == 1
    assert ask(f"/collect/overview.json?known={overview['mark']}")["firings"] is None
    things = ask("/collect/studio.json")
    assert things["content"]["pieces"][0]["name"] == "River bowl"
    assert ask(f"/collect/studio.json?known={things['mark']}")["content"] is None
    (rest,) = ask("/collect/beside.json?of=1-,99-")["beside"]
    assert ask(f"/collect/beside.json?of=1-{rest['mark']}") == {"beside": []}
    last = overview["firings"][0][1]
    answer = ask(f"/collect/chain/1.json?after={last}")
    assert (answer["links"], answer["more"]) == ([], False)
    assert answer["fresh"][-1][0] == 4000


@pytest.mark.parametrize("address", [
    "/collect/chain/1.json?after=x", "/collect/chain/1.json?after=-2",
    "/collect/chain/1.json?after=99999999999999999999", "/collect/chain/99999999999999999999.json",
    "/collect/beside.json?of=x", "/collect/beside.json?of=1%20OR%201",
    "/collect/beside.json?of=" + ",".join(["1-"] * 21)])
def test_a_question_that_can_not_be_is_refused(studio, token, address):
    studio.fill(until_s=4000.0)
    answer = studio.app(studio=True).test_client().get(address, headers={"Authorization": f"Bearer {token}"})
    assert answer.status_code in (400, 404)


@pytest.mark.parametrize("address", ADDRESSES)
def test_nothing_can_be_sent_there(studio, token, address):
    studio.fill(until_s=700.0)
    client = studio.app(studio=True).test_client()
    for method in ("post", "put", "delete", "patch"):
        answer = getattr(client, method)(address, headers={"Authorization": f"Bearer {token}", **SAME})
        assert answer.status_code == 405


def test_the_token_stands_in_no_log(studio, token, caplog):
    studio.fill(until_s=700.0)
    caplog.set_level(logging.DEBUG)
    client = studio.app(studio=True).test_client()
    for address in (*ADDRESSES, "/collect/chain/x.json"):
        client.get(address, headers={"Authorization": f"Bearer {token}"})
    assert token not in caplog.text
