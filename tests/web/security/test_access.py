"""Only a name of ours, only a page of ours, only who knows the passcode."""

from __future__ import annotations

import stat

import pytest

from daemon.store import requests
from daemon.store.database import open_database
from tests.web.security.conftest import SAME, WORDS
from web.security import passcode
from web.security.access import host_is_ours
from web.security.rate_limit import CHANGES_FROM_ONE
from web.settings import own_names

USUAL_METHOD = passcode.METHOD


pytestmark = pytest.mark.usefixtures("cheap_hash")


def _enter(client, words=WORDS, **others):
    return client.post("/enter", data={"passcode": words}, headers=SAME, **others)


def _asked(studio):
    db = open_database(studio.database)
    try:
        return requests.pending(db)
    finally:
        db.close()


@pytest.mark.parametrize("host", [
    "evil.example", "lehrling.evil.example", "8.8.8.8", "8.8.8.8:8080", "0.0.0.0", "localhost.evil.example",
    "[2001:4860:4860::8888]", "", "127.0.0.1.evil.example", "[", "a" * 300,
])
def test_a_forged_host_is_refused_everywhere(studio, host):
    client = studio.app().test_client()
    for path in ("/", "/firings", "/nothing-here", "/now.json", "/static/lehrling.css"):
        assert client.get(path, headers={"Host": host}, buffered=True).status_code == 400


@pytest.mark.parametrize("host", [
    "localhost", "localhost:8080", "127.0.0.1:8080", "192.168.1.20:8080", "10.0.0.7", "[::1]:8080", "[fe80::1]",
])
def test_our_own_names_and_bare_home_addresses_are_taken(host):
    assert host_is_ours(host, frozenset(own_names()))


@pytest.mark.parametrize("host", [
    "[::1", "[zz]", "", ":8080", "kiln.example", "8.8.8.8", "0.0.0.0", "[2001:4860:4860::8888]",
])
def test_a_host_that_cannot_be_read_or_is_elsewhere_is_none_of_ours(host):
    assert not host_is_ours(host, frozenset({"kiln"}))


def test_a_name_the_owner_lists_is_taken(studio):
    client = studio.app(allowed_hosts=("kiln.home.arpa",)).test_client()
    studio.say(studio.fill())
    assert client.get("/", headers={"Host": "kiln.home.arpa:8080"}).status_code == 200


# The house: closed, or open for reading, or open for all; whether a passcode was kept; who asks.
CLOSED, READING, OPEN = {}, {"open_reading": True}, {"open_house": True}


@pytest.mark.parametrize(("house", "kept", "known", "page", "data", "change"), [
    # nobody may do anything, and the first one at the machine may choose a passcode
    (CLOSED, False, False, "/passcode", 401, "/passcode"),
    (READING, False, False, "/passcode", 401, "/passcode"),
    (CLOSED, True, False, "/enter?back=/firings?page%3D2", 401, "/enter?back=/"),
    (READING, True, False, 200, 200, "/enter?back=/"),
    (CLOSED, True, True, 200, 200, 303),
    (READING, True, True, 200, 200, 303),
    (OPEN, False, False, 200, 200, 303),
    (OPEN, True, False, 200, 200, 303),
])
def test_who_may_look_and_who_may_change(studio, cheap_hash, house, kept, known, page, data, change):
    number = studio.fill()
    studio.say(number)
    if kept:
        passcode.keep(studio.folder / "passcode", WORDS)
    client = studio.app(**{"open_house": False, **house}).test_client()
    if known:
        _enter(client)

    def came(answer):
        return answer.headers.get("Location") if answer.status_code == 302 else answer.status_code

    assert came(client.get("/firings?page=2")) == page
    assert came(client.get("/now.json")) == data
    assert came(client.post(f"/firings/{number}/end", headers=SAME)) == change
    assert [asked.kind for asked in _asked(studio)] == (["end"] if change == 303 else [])
    assert client.get("/static/lehrling.css", buffered=True).status_code == 200, "it says nothing of this house"
    assert client.head("/firings").status_code == (200 if page == 200 else 302)


@pytest.mark.parametrize(("headers", "status"), [
    ({"Sec-Fetch-Site": "same-origin"}, 303), ({"Origin": "http://localhost"}, 303), (SAME, 303),
    ({"Sec-Fetch-Site": "same-origin", "Origin": "http://evil.example"}, 403),
    ({"Sec-Fetch-Site": "cross-site"}, 403),
])
def test_either_word_of_the_browser_will_do_and_neither_may_deny_it(studio, headers, status):
    number = studio.fill()
    assert studio.app().test_client().post(f"/firings/{number}/end", headers=headers).status_code == status


def test_the_way_in_asks_for_what_is_there_and_lets_nobody_in_twice(studio, guarded):
    client = guarded.test_client()
    asked = client.get("/enter?back=/pieces")
    assert asked.status_code == 200
    assert 'value="/pieces"' in asked.text
    assert client.get("/passcode").headers["Location"] == "/", "it was chosen"
    wrong = _enter(client, "not this one")
    assert (wrong.status_code, "not the passcode" in wrong.text) == (403, True)
    _enter(client)
    again = client.get("/enter?back=/pieces")
    assert (again.status_code, again.headers["Location"]) == (302, "/pieces")
    left = client.post("/leave", headers=SAME)
    assert (left.status_code, left.headers["Location"]) == (302, "/")
    (studio.folder / "passcode").unlink()
    assert client.get("/enter").headers["Location"] == "/passcode"
    far = client.get("/passcode", environ_overrides={"REMOTE_ADDR": "192.168.1.50"})
    assert far.status_code == 200
    assert far.text != client.get("/passcode").text, "it says that only the machine itself may choose"


def test_who_got_in_has_all_his_guesses_again(guarded):
    client = guarded.test_client()
    for _ in range(3):
        for _ in range(4):
            assert _enter(client, "not this one").status_code == 403
        assert _enter(client).status_code == 302
        client.post("/leave", headers=SAME)


def test_who_has_to_wait_is_told_for_how_long(guarded, studio):
    client = guarded.test_client()
    for _ in range(5):
        _enter(client, "not this one")
    studio.clock.second += 12
    assert "Wait 48 s" in _enter(client).text


def test_a_session_that_was_ended_elsewhere_lets_nobody_in(guarded):
    client = guarded.test_client()
    _enter(client)
    guarded.extensions["lehrling-sessions"].end_all_but("")
    assert client.get("/").status_code == 302


def test_a_hand_changes_ninety_things_a_minute_at_most_and_may_look_on(guarded, studio):
    client = guarded.test_client()
    _enter(client)
    assert CHANGES_FROM_ONE == 90
    answers = [client.post("/nothing-here", headers=SAME).status_code for _ in range(90)]
    assert (answers.count(404), answers[-1]) == (89, 429), "entering was one"
    assert client.get("/firings").status_code == 200
    studio.clock.second += 61
    assert client.post("/nothing-here", headers=SAME).status_code == 404


def test_a_demonstration_has_no_such_limit(studio):
    studio.fill()
    client = studio.app().test_client()
    assert {client.post("/nothing-here", headers=SAME).status_code for _ in range(100)} == {404}


@pytest.mark.parametrize("headers", [
    {},
    {"Origin": "null"},
    {"Origin": "http://evil.example"},
    {"Origin": "https://localhost"},
    {"Origin": "http://localhost:9999"},
    {"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
    {"Sec-Fetch-Site": "same-site", "Origin": "http://localhost"},
    {"Sec-Fetch-Site": "none"},
])
def test_what_was_sent_from_another_page_changes_nothing(studio, headers):
    number = studio.fill()
    client = studio.app().test_client()
    answer = client.post(f"/firings/{number}/end", headers=headers)
    assert answer.status_code == 403
    assert _asked(studio) == []


def test_no_address_changes_anything_by_being_looked_at(studio):
    number = studio.fill()
    client = studio.app().test_client()
    for act in ("acknowledge", "quiet", "end", "note"):
        assert client.get(f"/firings/{number}/{act}").status_code == 405
    assert _asked(studio) == []


def test_every_answer_carries_the_policy_and_none_allows_inline_script(client, studio):
    studio.say(studio.fill())
    for path in ("/", "/now.json", "/nothing", "/static/now.js", "/firings/1"):
        head = client.get(path, buffered=True).headers
        policy = head["Content-Security-Policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert head["X-Content-Type-Options"] == "nosniff"
        assert head["Referrer-Policy"] == "same-origin"
        assert head["X-Frame-Options"] == "DENY"
        assert head["Cross-Origin-Opener-Policy"] == head["Cross-Origin-Resource-Policy"] == "same-origin"


def test_without_the_passcode_nothing_is_shown_and_nothing_is_done(guarded, studio):
    client = guarded.test_client()
    answer = client.get("/")
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/enter")
    assert client.get("/now.json").status_code == 401
    assert client.post("/firings/1/end", headers=SAME).status_code == 302
    assert _asked(studio) == []


def test_whoever_knows_it_gets_in_and_stays_in(guarded, studio):
    client = guarded.test_client()
    answer = _enter(client)
    assert answer.headers["Location"] == "/"
    cookie = answer.headers["Set-Cookie"]
    assert "SameSite=Strict" in cookie
    assert "HttpOnly" in cookie
    assert client.get("/").status_code == 200
    client.post("/firings/1/end", headers=SAME)
    assert [asked.kind for asked in _asked(studio)] == ["end"]


def test_a_reader_may_look_where_the_owner_says_so_but_change_nothing(studio, cheap_hash):
    studio.say(studio.fill(alert=True), alert=True)
    passcode.keep(studio.folder / "passcode", WORDS)
    client = studio.app(open_house=False, open_reading=True).test_client()
    page = client.get("/").text
    assert "Cooling too fast" in page
    assert "I am up" not in page
    assert client.post("/firings/1/acknowledge", headers=SAME).status_code == 302
    assert _asked(studio) == []


def test_a_changed_passcode_ends_every_session(guarded, studio):
    client = guarded.test_client()
    _enter(client)
    passcode.keep(studio.folder / "passcode", "another one entirely")
    assert client.get("/").status_code == 302


def test_leaving_ends_the_session(guarded):
    client = guarded.test_client()
    _enter(client)
    client.post("/leave", headers=SAME)
    assert client.get("/").status_code == 302


def test_the_way_back_never_leads_out_of_the_house(guarded):
    client = guarded.test_client()
    for back in ("//evil.example", "https://evil.example", "/\\evil.example", "javascript:alert(1)", "",
                 "/\t/evil.example", "/\n/evil.example", "/ /evil.example", "/a\\evil.example"):
        answer = client.post("/enter", data={"passcode": WORDS, "back": back}, headers=SAME)
        assert answer.headers["Location"] == "/"
        client.post("/leave", headers=SAME)


def test_the_sixth_guess_in_a_minute_has_to_wait(guarded, studio):
    client = guarded.test_client()
    for _ in range(5):
        assert _enter(client, "not this one").status_code == 403
    assert _enter(client, WORDS).status_code == 429
    studio.clock.second += 61
    assert _enter(client, WORDS).status_code == 302


def test_the_first_passcode_can_only_be_chosen_at_the_machine(studio):
    studio.say(studio.fill())
    client = studio.app(open_house=False).test_client()
    far = {"REMOTE_ADDR": "192.168.1.50"}
    typed = {"passcode": WORDS, "again": WORDS}
    assert client.get("/").headers["Location"] == "/passcode"
    assert client.post("/passcode", data=typed, headers=SAME, environ_overrides=far).status_code == 403
    assert passcode.kept_hash(studio.folder / "passcode") is None
    assert client.post("/passcode", data=typed, headers=SAME).status_code == 302
    assert client.get("/").status_code == 200


def test_it_is_chosen_once(guarded, studio):
    before = passcode.kept_hash(studio.folder / "passcode")
    client = guarded.test_client()
    client.post("/passcode", data={"passcode": "mine now, is it", "again": "mine now, is it"}, headers=SAME)
    assert passcode.kept_hash(studio.folder / "passcode") == before


@pytest.mark.parametrize(("first", "again", "told"), [
    ("short", "short", "at least 8"), ("", "", "at least 8"), ("x" * 300, "x" * 300, "at most 200"),
    (WORDS, WORDS + "!", "not the same"),
])
def test_a_poor_choice_is_said_and_not_kept(studio, first, again, told):
    client = studio.app(open_house=False).test_client()
    answer = client.post("/passcode", data={"passcode": first, "again": again}, headers=SAME)
    assert answer.status_code == 400
    assert told in answer.text
    assert passcode.kept_hash(studio.folder / "passcode") is None


def test_the_hash_and_the_key_can_be_read_by_the_service_only(guarded, studio):
    for name in ("passcode", "page-key"):
        assert stat.S_IMODE((studio.folder / name).stat().st_mode) == 0o600
    assert WORDS not in (studio.folder / "passcode").read_text()


def test_the_hash_is_a_slow_one():
    # OWASP's cheat sheet gives scrypt N=2^15, r=8, p=3 among its equal minimum choices (from memory).
    assert USUAL_METHOD == "scrypt:32768:8:3"


def test_a_file_with_something_else_in_it_lets_nobody_in(studio):
    studio.say(studio.fill())
    (studio.folder / "passcode").write_bytes(b"\xff\xfe not a hash")
    client = studio.app(open_house=False).test_client()
    assert client.get("/").headers["Location"].startswith("/enter")
    for held in ("plain words\n", "", "!\n"):
        (studio.folder / "passcode").write_text(held)
        assert client.get("/").headers["Location"].startswith("/enter")
        assert _enter(client, held.strip()).status_code == 403


def test_an_oversize_form_is_refused(client, studio):
    studio.fill()
    answer = client.post("/pieces/new", data={"note": "x" * 80_000}, headers=SAME)
    assert answer.status_code == 413
    assert "Send less" in answer.text


def test_who_enters_is_led_back_to_the_page_that_was_asked_for(guarded):
    answer = guarded.test_client().post("/enter", data={"passcode": WORDS, "back": "/firings?page=2"}, headers=SAME)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/firings?page=2")
