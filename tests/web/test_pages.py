"""Each page says what a maker asks, keeps what was typed, and helps where something is wrong."""

from __future__ import annotations

import json
import re

import pytest

from daemon.store import firings, notes, pieces, plans, requests
from daemon.store.database import open_database

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
HOSTILE = '<script>alert("x")</script>'


def _store(studio, ask):
    db = open_database(studio.database)
    try:
        return ask(db)
    finally:
        db.close()


def _asked(studio):
    return [(r.kind, dict(r.payload)) for r in _store(studio, requests.pending)]


# --- Now ------------------------------------------------------------------------------------------


def test_before_the_daemon_ran_the_page_says_so_and_what_to_do(client):
    answer = client.get("/")
    assert answer.status_code == 503
    assert "The watch has not started yet." in answer.text
    assert "lehrling daemon" in answer.text


def test_a_file_the_daemon_has_not_brought_up_to_date_is_left_alone(client, studio):
    import sqlite3

    sqlite3.connect(studio.database).execute("CREATE TABLE something (x)").connection.close()
    before = studio.database.read_bytes()
    assert client.get("/").status_code == 503
    assert studio.database.read_bytes() == before


def test_something_that_is_no_database_is_said_calmly(client, studio):
    studio.database.write_bytes(b"not a database at all, only text" * 50)
    answer = client.get("/")
    assert answer.status_code == 503
    assert "Traceback" not in answer.text


def test_an_empty_studio_is_told_its_first_steps(client, studio):
    studio.open_store().close()
    studio.say(None)
    page = client.get("/").text
    assert "First steps" in page
    assert "lehrling demo" in page
    assert "No firing is open. The kiln is at 23\u00a0°C." in page


def test_now_says_the_sentence_before_the_number_before_the_chart(client, studio):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    page = client.get("/").text
    sentence, number, chart = (page.index(x) for x in ("Nothing to do, by this probe.", 'data-text="temp"', "<svg"))
    assert sentence < number < chart
    assert ">480</span>" in page
    assert "falling 54 °C/h" in page


def test_a_standing_wake_says_what_it_means_what_to_do_and_how_long_there_is(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    page = client.get("/").text
    for words in ("cooling too fast", "Stress is being frozen", "Close the vents", "About 25 min left.",
                  "Acknowledge", "Quiet for 30 min"):
        assert words in page


def test_what_is_old_is_not_called_the_present(client, studio):
    studio.say(studio.fill(), age_s=16.0)
    page = client.get("/").text
    assert "No word from the watch since 01:59:44." in page
    assert "Nothing to do" not in page
    assert client.get("/now.json").json["stale"] is True


def test_what_is_fourteen_seconds_old_still_is_the_present(client, studio):
    studio.say(studio.fill(), age_s=14.0)
    assert client.get("/now.json").json["stale"] is False


@pytest.mark.parametrize("said", [
    "", "{", "[]", "null", '"text"', '{"written_utc": 5}', '{"written_utc": "yesterday"}',
    '{"written_utc": "2026-03-04T01:00:00Z", "temp_c": "hot", "alerts": [5, {"no": "x"}], "part": 7, "next": []}',
    '{"written_utc": "2026-03-04T01:00:00Z", "alerts": {"no": 1}, "trouble": "text", "firing_id": "one"}',
    '{"written_utc": "2026-03-04T01:00:00", "temp_c": NaN, "firing_id": 1e300, "t_s": Infinity}',
])
def test_a_broken_state_file_breaks_no_page(client, studio, said):
    studio.fill()
    (studio.folder / "present.json").write_text(said, encoding="utf-8")
    assert client.get("/").status_code == 200
    assert client.get("/now.json").status_code == 200


def test_polling_sends_nothing_twice(client, studio):
    studio.say(studio.fill())
    first = client.get("/now.json")
    again = client.get("/now.json", headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    studio.say(1, alert=True)
    assert client.get("/now.json", headers={"If-None-Match": first.headers["ETag"]}).status_code == 200


def test_polling_brings_the_same_words_as_the_page(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    page, now = client.get("/").text, client.get("/now.json").json
    for block in ("alerts", "log", "answer"):
        assert now["blocks"][block].strip() in page
    assert now["texts"]["sentence"] in page


def test_now_works_with_scripts_off(client, studio):
    studio.say(studio.fill())
    page = client.get("/").text
    assert '<noscript><meta http-equiv="refresh"' in page
    assert 'class="measured"' in page


def test_trouble_of_the_apprentice_itself_is_on_the_page(client, studio):
    studio.say(studio.fill(), trouble=["The disk is full: readings are kept in memory."])
    assert "The disk is full" in client.get("/").text


# --- asking ---------------------------------------------------------------------------------------


def test_starting_asks_the_daemon_and_takes_glass_and_thickness_from_the_pieces(client, studio):
    studio.fill(ended=True)
    answer = client.post("/start", data={"piece": "1", "plan": "1", "faces": "2"}, headers=SAME)
    assert answer.status_code == 303
    assert _asked(studio) == [("start", {
        "title": "River bowl", "piece_ids": [1], "plan_id": 1, "glass": "90", "thickness_mm": 6.0, "faces": 2,
    })]
    studio.say(None)
    assert "The watch takes it in a moment." in client.get(answer.headers["Location"]).text


def test_a_firing_can_be_started_with_nothing_said_at_all(client, studio):
    studio.open_store().close()
    client.post("/start", data={}, headers=SAME)
    [(kind, payload)] = _asked(studio)
    assert kind == "start"
    assert (payload["plan_id"], payload["piece_ids"], payload["thickness_mm"]) == (None, [], 6.0)


def test_a_request_nobody_takes_is_not_done_later(client, studio):
    studio.fill(ended=True)
    studio.say(None)
    address = client.post("/start", data={}, headers=SAME).headers["Location"]
    from datetime import timedelta

    studio.clock.wall += timedelta(minutes=6)
    assert "The watch did not take it." in client.get(address).text


def test_a_refusal_is_told(client, studio):
    number = studio.fill()
    studio.say(number)
    address = client.post(f"/firings/{number}/end", headers=SAME).headers["Location"]
    _store(studio, lambda db: requests.settle(db, 1, "this firing has ended already", studio.clock.wall))
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
    assert _asked(studio) == [(act, payload)]


def test_a_firing_that_opened_itself_can_be_named(client, studio):
    number = studio.fill(opened_by="climb", title="A climb")
    studio.say(number)
    assert "Name it and choose its plan." in client.get("/").text
    form = client.get(f"/firings/{number}/name").text
    assert 'value="A climb"' in form
    client.post(f"/firings/{number}/name", headers=SAME,
                data={"title": "Slump of the bowl", "plan": "1", "piece": "1", "thickness": "6,5", "glass": "96"})
    [(kind, payload)] = _asked(studio)
    assert (kind, payload["title"], payload["plan_id"], payload["thickness_mm"], payload["glass"]) == (
        "name", "Slump of the bowl", 1, 6.5, "96")


def test_a_wrong_start_is_told_field_by_field_and_keeps_what_was_typed(client, studio):
    studio.fill(ended=True)
    answer = client.post("/start", headers=SAME, data={
        "title": HOSTILE, "thickness": "six", "piece": ["1", "99"], "glass": "lead", "plan": "1"})
    assert answer.status_code == 400
    page = answer.text
    assert "“six” is not a number. Write a number of mm." in page
    assert "Choose again." in page
    assert 'value="six"' in page
    assert "&lt;script&gt;alert(" in page
    assert re.search(r'name="piece" value="1" checked', page)
    assert _asked(studio) == []


def test_an_open_firing_is_said_before_another_is_started(client, studio):
    studio.fill(title="Still running")
    assert "“Still running” is still open" in client.get("/start").text


# --- firings --------------------------------------------------------------------------------------


def test_the_list_is_latest_first_and_marks_what_woke(client, studio):
    studio.fill(ended=True, alert=True, title="First")
    studio.fill(ended=True, title="Second")
    page = client.get("/firings").text
    assert page.index("Second") < page.index("First")
    assert page.count('class="rank wake"') == 1
    assert "highest 800 °C" in page


def test_the_list_has_pages_and_odd_page_numbers_do_no_harm(client, studio, monkeypatch):
    import web.firings

    monkeypatch.setattr(web.firings, "PAGE", 2)
    for number in range(5):
        studio.fill(until_s=300.0, ended=True, title=f"Firing {number}")
    assert "Firing 4" in client.get("/firings").text
    assert "Firing 4" not in client.get("/firings?page=2").text
    assert "Firing 0" in client.get("/firings?page=3").text
    for odd in ("0", "-3", "x", "99999999999", "1e5", "٣"):
        assert client.get(f"/firings?page={odd}").status_code == 200


def test_a_record_sets_planned_against_measured_by_part(client, studio):
    number = studio.fill(until_s=40_000.0, ended=True, alert=True)
    page = client.get(f"/firings/{number}").text
    row = re.search(r"<tr[^>]*>(?:(?!</tr>).)*step 3, hold(?:(?!</tr>).)*</tr>", page, re.S)[0]
    cells = [re.sub(r"<[^>]+>", "", c).strip() for c in re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.S)]
    assert cells[2:] == ["516\u00a0°C for 1\u00a0h 00\u00a0min", "513\u00a0°C", "1\u00a0h 00\u00a0min"]
    assert "cooling too fast" in page


def test_a_note_shows_as_text_and_never_as_anything_else(client, studio):
    number = studio.fill(ended=True)
    text = f"{HOSTILE}\n=1+1\n{{{{ 7*7 }}}} & ünïcode"
    assert client.post(f"/firings/{number}/note", data={"note": text}, headers=SAME).status_code == 303
    page = client.get(f"/firings/{number}").text
    assert "&lt;script&gt;alert(&#34;x&#34;)&lt;/script&gt;" in page
    assert HOSTILE not in page
    assert "{{ 7*7 }}" in page
    assert _store(studio, lambda db: notes.notes(db, number))[0].text == text


def test_hostile_titles_stay_text_on_every_page_and_in_the_json(client, studio):
    number = studio.fill(title=HOSTILE, alert=True)
    studio.say(number, alert=True, sentence=HOSTILE, trouble=[HOSTILE])
    for path in ("/", "/firings", f"/firings/{number}", f"/firings/{number}/name", "/start"):
        assert "<script>alert" not in client.get(path).text
    for block in client.get("/now.json").json["blocks"].values():
        assert "<script" not in block


@pytest.mark.parametrize("path", [
    "/firings/0", "/firings/99", "/firings/99999999999999999999999", "/plans/99", "/plans/99999999999999999999999",
    "/firings/99/trace.json", "/firings/-1", "/firings/1.5", "/nothing", "/static/../web/passcode.py",
    "/static/..%2f..%2fpyproject.toml", "/plotly-0000.js",
])
def test_what_is_not_there_is_said_calmly(client, studio, path):
    studio.fill()
    answer = client.get(path)
    assert answer.status_code == 404
    assert "Lehrling" in answer.text


# --- pieces and plans -----------------------------------------------------------------------------


def test_a_piece_is_kept(client, studio):
    studio.open_store().close()
    answer = client.post("/pieces/new", headers=SAME, data={
        "name": "Reed dish", "thickness": "9", "glass": "96", "layers": "three of 3 mm", "note": "washed"})
    assert answer.status_code == 303
    kept = _store(studio, pieces.pieces)[0]
    assert (kept.name, kept.thickness_mm, kept.glass, kept.note) == ("Reed dish", 9.0, "96", "washed")
    assert "Reed dish" in client.get("/pieces").text


@pytest.mark.parametrize(("typed", "told"), [
    ({"name": "", "thickness": "6"}, "Give the piece a name"),
    ({"name": "x", "thickness": ""}, "how thick"),
    ({"name": "x", "thickness": "-4"}, "outside 0.5 to 150 mm"),
    ({"name": "x", "thickness": "nan"}, "is not a number"),
    ({"name": "x", "thickness": "1e999"}, "is not a number"),
    ({"name": "x" * 500, "thickness": "6"}, "at most 120"),
    ({"name": "x", "thickness": "6", "glass": "unobtainium"}, "Choose one of the list"),
])
def test_a_wrong_piece_is_told_and_not_kept(client, studio, typed, told):
    studio.open_store().close()
    answer = client.post("/pieces/new", data=typed, headers=SAME)
    assert answer.status_code == 400
    assert told in answer.text
    assert _store(studio, pieces.pieces) == []


def test_a_plan_written_as_on_paper_is_kept_and_a_changed_one_is_a_new_version(client, studio):
    studio.open_store().close()
    typed = {"title": "Slump", "unit": "F", "steps": "200 / 1180 / 0:15\nfree / 960 / 60 anneal\n100 / 700"}
    assert client.post("/plans/new", data=typed, headers=SAME).status_code == 303
    assert client.post("/plans/new", data=typed, headers=SAME).status_code == 303
    client.post("/plans/new", data=typed | {"steps": "200 / 1190 / 0:15"}, headers=SAME)
    [kept] = _store(studio, plans.plans)
    assert kept.version == 2
    assert _store(studio, lambda db: plans.plan(db, 1)).parsed().steps[0].to_c == pytest.approx((1180 - 32) / 1.8)
    page = client.get("/plans/1").text
    assert "free / 960 / 1:00 anneal" in page
    assert "200 / 1180 / 0:15" in client.get("/plans/new?like=1").text


@pytest.mark.parametrize(("steps", "told"), [
    ("", "Write the steps"),
    ("fast to the top", "“to” is not a target"),
    ("220 / hot / 10", "“hot” is not a target"),
    ("220 / 670 / soon", "“soon” is not a hold"),
    ("-220 / 670 / 10", "not above 0"),
    ("220 / 3000 / 10", "3000 °C is outside"),
    ("\n".join(["220 / 670"] * 60), "at most 40"),
])
def test_a_wrong_plan_is_told_by_its_line_and_kept_as_typed(client, studio, steps, told):
    studio.open_store().close()
    answer = client.post("/plans/new", data={"title": "Mine", "unit": "C", "steps": steps}, headers=SAME)
    assert answer.status_code == 400
    assert told in answer.text.replace("&#39;", "'")
    assert all(line in answer.text for line in steps.splitlines()[:2])
    assert _store(studio, plans.plans) == []


# --- all pages ------------------------------------------------------------------------------------


PATHS = ("/", "/firings", "/firings/1", "/firings/1/name", "/start", "/pieces", "/pieces/new", "/plans", "/plans/1",
         "/plans/new", "/nothing")


def test_no_page_has_inline_script_or_style_or_fetches_from_outside(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    for path in PATHS:
        page = client.get(path).text
        assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=|javascript:", page), path
        for address in re.findall(r'(?:src|href|action|data-\w+)="([^"#]*)"', page):
            assert not re.match(r"(?:[a-z]+:)?//", address), (path, address)


def test_no_page_is_heavier_than_150_kb_besides_the_plotting_library(client, studio):
    studio.say(studio.fill(until_s=40_000.0, alert=True), 40_000.0, alert=True)
    files = sum(len(client.get(f"/static/{name}", buffered=True).data)
                for name in ("lehrling.css", "plot.css", "now.js", "trace.js", "mark.svg"))
    for path in PATHS:
        assert len(client.get(path).data) + files < 150_000, path


def test_our_own_files_are_kept_by_browsers_and_change_address_with_their_content(client, studio):
    studio.say(studio.fill())
    for address in re.findall(r'"(/static/[^"]+)"', client.get("/").text):
        answer = client.get(address.replace("&amp;", "&"), buffered=True)
        assert "immutable" in answer.headers["Cache-Control"], address
    assert "immutable" not in client.get("/static/now.js", buffered=True).headers["Cache-Control"]


def test_a_slip_of_our_own_is_a_calm_page_and_a_line_in_the_log(studio, monkeypatch, caplog):
    import web.firings

    studio.say(studio.fill())
    client = studio.app().test_client()
    monkeypatch.setattr(web.firings.firings, "firings", lambda *_a, **_k: 1 / 0)
    answer = client.get("/firings")
    assert answer.status_code == 500
    assert "The page slipped" in answer.text
    assert "ZeroDivisionError" not in answer.text
    assert "a slip in the page at /firings" in caplog.text


def test_a_locked_store_is_said_and_nothing_is_half_done(studio, monkeypatch):
    import sqlite3

    import web.house

    studio.say(studio.fill())
    client = studio.app().test_client()
    usual = web.house.open_database
    monkeypatch.setattr(web.house, "open_database", lambda path: usual(path, busy_s=0.05))
    holder = sqlite3.connect(studio.database)
    holder.execute("BEGIN EXCLUSIVE")
    try:
        answer = client.post("/firings/1/end", headers=SAME)
    finally:
        holder.rollback()
        holder.close()
    assert answer.status_code == 503
    assert "Nothing was changed" in answer.text
    assert _asked(studio) == []


def test_the_plotted_figures_are_the_stored_ones(client, studio):
    number = studio.fill(until_s=9000.0)
    body = client.get(f"/firings/{number}/trace.json").json
    measured = next(t for t in body["figure"]["data"] if t["name"] == "measured")
    stored = dict(_store(studio, lambda db: [(s.t_s, s.temp_c) for s in __import__(
        "daemon.store.readings", fromlist=["samples"]).samples(db, number)]))
    pairs = [(x, y) for x, y in zip(measured["x"], measured["y"], strict=True) if y is not None]
    assert len(pairs) > 500
    for x, y in pairs:
        assert abs(stored[round(x / 5) * 5] - y) < 0.6
    assert json.dumps(body).find("NaN") < 0


def test_firings_of_one_kiln_do_not_need_the_state_file(client, studio):
    studio.fill(title="Quiet one")
    assert "Quiet one" in client.get("/").text
    assert _store(studio, lambda db: firings.current(db, 1)).title == "Quiet one"


# --- when the store fails -------------------------------------------------------------------------


def _break_store(studio) -> None:
    for path in studio.folder.glob("lehrling.db*"):
        path.unlink()
    studio.database.write_bytes(b"this was a database once, before the card died" * 200)


def test_when_the_store_fails_the_present_and_its_alerts_still_stand_on_the_page(client, studio):
    studio.say(studio.fill(alert=True), alert=True, trouble=["Nothing can be stored: the disk is full."])
    _break_store(studio)
    page = client.get("/")
    assert page.status_code == 200
    for words in ("Cooling too fast", "Close the vents", "Acknowledge", "The record can’t be read just now",
                  "Nothing can be stored"):
        assert words in page.text
    assert client.get("/now.json").json["readable"] is False
    assert client.get("/firings").status_code == 503


def test_a_firing_that_could_not_be_stored_has_its_alerts_on_the_page(client, studio):
    studio.open_store().close()
    studio.say(None, t_s=31_000.0, firing_title="A climb")
    studio.say(None, alert=True, t_s=31_000.0)
    page = client.get("/").text
    assert "Close the vents" in page
    assert 'action="/firings/0/acknowledge"' in page


class Daemon:
    """Answers the daemon's socket once."""

    def __init__(self, path, answer: str) -> None:
        import socket
        import threading

        self.heard = b""
        self._server = socket.socket(socket.AF_UNIX)
        self._server.bind(str(path))
        self._server.listen(1)
        self._server.settimeout(10)
        self._thread = threading.Thread(target=self._serve, args=(answer,))
        self._thread.start()

    def _serve(self, answer: str) -> None:
        line, _ = self._server.accept()
        with line:
            self.heard = line.recv(10_000)
            line.sendall(answer.encode())

    def close(self) -> dict:
        self._thread.join()
        self._server.close()
        return json.loads(self.heard)


@pytest.mark.parametrize(("answer", "code"), [
    ('{"outcome": "done"}\n', 303), ('{"outcome": "no firing is open"}\n', 409), ("nonsense\n", 503), ("", 503),
    ("[]\n", 503),
])
def test_when_the_store_fails_an_acknowledgement_is_called_to_the_daemon(client, studio, answer, code):
    studio.say(studio.fill(alert=True), alert=True)
    _break_store(studio)
    daemon = Daemon(studio.folder / "lehrling.sock", answer)
    told = client.post("/firings/1/acknowledge", data={"alert_no": "1"}, headers=SAME)
    assert daemon.close() == {"kind": "acknowledge", "payload": {"firing_id": 1, "alert_no": 1}}
    assert told.status_code == code


def test_page_and_daemon_mean_the_same_files():
    import daemon.present
    import web.glance

    assert web.glance.FILE_NAME == daemon.present.FILE_NAME


def test_when_neither_store_nor_daemon_can_be_reached_nothing_is_claimed(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    _break_store(studio)
    answer = client.post("/firings/1/acknowledge", headers=SAME)
    assert answer.status_code == 503
    assert "Nothing was changed" in answer.text
