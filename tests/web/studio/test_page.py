"""The first page of the studio's server, and what it refuses."""

from __future__ import annotations

import re
import sqlite3

import pytest
from werkzeug.test import Client

from daemon.store.finding import figures
from daemon.studio.record import open_record
from web.security import passcode
from web.studio.page import create_studio

pytestmark = pytest.mark.slow

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def page(server, studio, cheap_hash):
    """Return a function that gives the server's page."""
    def make(**others):
        passcode.keep(server.folder / "passcode", "four plain words here")
        return Client(create_studio(server.settings_now, studio.settings(
            data_dir=server.folder, run_dir=server.folder, open_house=False, **{"open_reading": True, **others})))
    return make


def test_all_kilns_stand_side_by_side_with_what_is_told(studio, server, serve, page):
    studio.say(studio.fill(alert=True), alert=True)
    server.collect(serve(studio))
    shown = page().get("/")
    assert shown.status_code == 200
    assert '<a href="/kiln/kiln-1/">small kiln</a>: Bowl blank, river glass' in shown.text
    assert re.search(r"Get up</span>\s*cooling too fast", re.sub(r"<(?!/span)[^>]*>", "", shown.text))
    assert "<form" not in shown.text


def test_a_state_is_old_once_its_box_was_not_heard_for_some_rounds(studio, server, serve, page):
    studio.say(studio.fill())
    box = serve(studio)
    server.collect(box)
    box.stop()
    studio.clock.wall = studio.clock.wall.replace(minute=0, second=25)
    server.collect()
    assert "No word from the watch" not in page().get("/").text
    studio.clock.wall = studio.clock.wall.replace(minute=5)
    server.collect()
    text = page().get("/").text
    box.start()
    assert "No word from the watch since 01:59:59." in text
    assert "Last collected 02:00. The box does not answer (" in text
    assert "look at the kiln" in text


def test_nothing_can_be_sent_and_no_page_has_a_form_that_changes(studio, server, serve, page):
    number = studio.fill(alert=True)
    studio.say(number, alert=True)
    box = serve(studio)
    server.collect(box)
    client = page()
    client.post("/enter", data={"passcode": "four plain words here"}, headers=SAME)  # who may change a box's page
    for address in ("/", f"/firings/{number}", "/firings", "/pieces", "/pieces/1", "/plans", "/plans/1", "/kiln"):
        text = client.get(f"/kiln/kiln-1{address}").text
        assert 'method="post"' not in text, address
        assert f'href="{box.address}/"' in text, address
    answer = client.post(f"/kiln/kiln-1/firings/{number}/acknowledge", headers=SAME)
    assert (answer.status_code, box.address in answer.text) == (403, True)
    assert studio.store(lambda db: db.execute("SELECT count(*) FROM request").fetchone()) == (0,)


@pytest.mark.parametrize("address", [
    "/start", "/find", "/reach", "/setup", "/firings?q=bowl", "/plans/1/foreseen", "/firings/1/name", "/pieces/new",
    "/firings/1/pieces/1/outcome", "/pieces/1/change", "/plans/new", "/kiln/check", "/kiln/copy.zip"])
def test_what_only_the_box_has_is_named_with_its_address(studio, server, serve, page, address):
    box = serve(studio)
    studio.fill()
    server.collect(box)
    answer = page().get(f"/kiln/kiln-1{address}")
    assert answer.status_code == 404
    assert f"The kiln’s own page has this: {box.address}{address}\n" in re.sub("</", "\n</", answer.text)


def test_a_plan_offers_no_way_to_what_only_the_box_has(studio, server, serve, page):
    studio.fill()
    server.collect(serve(studio))
    text = page().get("/kiln/kiln-1/plans/1").text
    assert "As written" in text
    assert "/foreseen" not in text
    assert "/foreseen" in studio.app().test_client().get("/plans/1").text


def test_the_passcode_is_asked_for_every_kiln(studio, server, serve, page):
    studio.fill()
    server.collect(serve(studio))
    client = page(open_reading=False)
    assert "Passcode" in client.get("/", follow_redirects=True).text
    for address in ("/", "/kiln/kiln-1/", "/kiln/kiln-1/firings", "/kiln/kiln-1/firings/1"):
        assert client.get(address).status_code == 302, address
    assert client.get("/kiln/kiln-1/now.json").status_code == 401
    assert "<code>lehrling studio web --set-passcode</code>" in client.get("/enter").text
    client.post("/enter", data={"passcode": "four plain words here"}, headers=SAME)
    assert client.get("/kiln/kiln-1/firings").status_code == 200


def test_the_first_one_at_the_server_chooses_the_passcode(studio, server, serve):
    studio.fill()
    server.collect(serve(studio))
    client = Client(create_studio(server.settings_now, studio.settings(
        data_dir=server.folder, run_dir=server.folder, open_house=False)))
    far = client.get("/kiln/kiln-1/firings", follow_redirects=True)
    assert "run <code>lehrling studio web --set-passcode</code>" in far.text
    near = client.get("/passcode", environ_base={"REMOTE_ADDR": "127.0.0.1"})
    assert (near.status_code, 'name="passcode"' in near.text) == (200, True)
    assert "Whoever knows it can read all that was collected." in near.text


def test_the_light_and_unit_of_a_browser_can_be_chosen(studio, server, serve, page):
    studio.fill()
    server.collect(serve(studio))
    client = page(open_reading=False)
    client.post("/enter", data={"passcode": "four plain words here"}, headers=SAME)
    sent = client.post("/kiln/kiln-1/reading", data={"unit": "F", "hours": "24", "light": ""}, headers=SAME)
    assert (sent.status_code, sent.headers["Location"]) == (303, "/kiln/kiln-1/reading")
    assert "°F" in client.get("/kiln/kiln-1/firings").text


def test_two_kilns_are_not_mixed_up(studio, server, serve, page, tmp_path_factory):
    studio.fill(ended=True, title="Of the first")
    other = type(studio)(tmp_path_factory.mktemp("other"), studio.empty, studio.clock)
    other.fill(ended=True, until_s=20_000.0, title="Of the second")
    server.collect(serve(studio), serve(other))
    client = page()
    for name, has, has_not in (("kiln-1", "first", "second"), ("kiln-2", "second", "first")):
        text = client.get(f"/kiln/{name}/firings").text
        assert f"Of the {has}" in text
        assert f"Of the {has_not}" not in text
        assert f"Of the {has}" in client.get(f"/kiln/{name}/firings/1").text
    assert not any(one.faults for one in server.verified())


def test_a_box_of_which_nothing_is_known_says_so(studio, server, serve, page):
    box = serve(studio, on=False)
    server.collect(box)
    shown = page().get("/").text
    assert "Nothing was collected from this box yet. Nothing is given to a studio’s server here." in shown
    assert page().get("/kiln/kiln-1/firings").status_code == 200
    for text in (shown, page().get("/kiln/kiln-1/").text):
        assert "Nothing was heard from this kiln yet." in text
        assert "Look at the kiln." in text
        for claim in ("The watch is not running", "Nothing is being watched", "lehrling daemon", "First steps",
                      "Start a firing"):
            assert claim not in text, claim
    assert page().get("/kiln/another/").status_code == 404


def test_a_database_that_does_not_answer_is_said(studio, server, serve, page):
    studio.fill()
    server.collect(serve(studio))
    client = page()
    server.cluster.stop()
    try:
        for address in ("/", "/kiln/kiln-1/firings"):
            answer = client.get(address)
            assert answer.status_code == 503, address
            assert "The studio’s database does not answer" in answer.text, address
    finally:
        server.cluster.start()
    assert client.get("/").status_code == 200


def test_a_question_about_no_firing_at_all_is_answered(studio, server, serve):
    studio.fill()
    server.collect(serve(studio))
    db = open_record(server.settings_now, "kiln-1")
    assert figures.figures_of(db, []) == studio.store(lambda own: figures.figures_of(own, [])) == {}
    assert figures.latest_by(db, 1, [], 5) == []
    db.close()


def test_the_page_cannot_write_into_what_was_collected(studio, server, serve):
    studio.fill()
    server.collect(serve(studio))
    db = open_record(server.settings_now, "kiln-1")
    with pytest.raises(sqlite3.OperationalError, match="read-only"):
        db.execute("DELETE FROM lehrling.reading")
    db.close()
