"""Now says the sentence before the number before the chart, and never calls the old the present."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import timedelta
from html import escape
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from web.firings.alert_entries import entry_of

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


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
    steps = ["A passcode", "Kiln, thermocouple, units and time zone", "Whom it wakes",
             "A night rehearsed, before real glass", "A plan", "A piece", "The first firing"]
    assert [page.index(f"<strong>{step}</strong>") for step in steps] == sorted(
        page.index(f"<strong>{step}</strong>") for step in steps)
    for address in ("/setup", "/reach", "/rehearse", "/plans/new", "/pieces/new", "/start"):
        assert f'href="{address}"' in page.split("First steps")[1]
    assert "No firing is open. The kiln is at 23\u00a0°C." in page


def test_the_time_at_the_top_is_told_as_now_once_no_firing_is_open(client, studio):
    number = studio.fill(ended=True)
    studio.say(None, speed=60.0)
    # Said a second ago, in Berlin.
    read = (studio.clock.wall - timedelta(seconds=1)).astimezone(ZoneInfo("Europe/Berlin"))
    page = client.get("/").text
    assert f'data-text="clock">now {read:%H:%M}<' in page
    assert "The time above is this computer’s" in page
    assert f'href="/firings/{number}"' in page


def test_while_a_firing_is_open_its_own_time_stands_at_the_top(client, studio):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0, speed=60.0)
    page = client.get("/").text
    assert 'data-text="clock">now' not in page
    assert "Times are the firing’s own." in page


def test_the_log_of_now_dates_a_milestone_as_the_firings_own_log_does(client, studio):
    from daemon.firing.events import Milestone
    from daemon.store import found_parts

    number = studio.fill(until_s=24_000.0)
    hold = [part for part in studio.store(lambda db: found_parts.parts(db, number)) if part.part == "hold"][-1]
    noticed = Milestone(hold.start_s + 420.0, "anneal-begun", "The anneal hold has begun.")
    studio.store(lambda db: found_parts.add_milestone(db, number, noticed))
    studio.say(number, 24_000.0)
    said = "The anneal hold has begun. Noticed at "
    assert said in client.get("/").text
    assert said in client.get(f"/firings/{number}").text


def test_now_says_the_sentence_before_the_number_before_the_chart(client, studio):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    page = client.get("/").text
    sentence, number, chart = (page.index(x) for x in ("Nothing to do.", 'data-text="temp"', "<svg"))
    assert sentence < number < chart
    assert ">480</span>" in page
    assert "falling 54 °C/h" in page
    assert "Read the kiln’s own display before you open it, and use gloves." in page


def test_a_standing_wake_says_what_it_means_what_to_do_and_how_long_there_is(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    page = client.get("/").text
    for words in ("cooling too fast", "Stress is being frozen", "Close the vents", "About 25\u00a0min left.",
                  "I am up", "Quiet for 30 min"):
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
    studio.say(studio.fill(), trouble=[
        {"ailing": "record", "text": "The disk is full: readings are kept in memory."}])
    assert "The disk is full" in client.get("/").text


def _break_store(studio) -> None:
    for path in studio.folder.glob("lehrling.db*"):
        path.unlink()
    studio.database.write_bytes(b"this was a database once, before the card died" * 200)


def test_when_the_store_fails_the_present_and_its_alerts_still_stand_on_the_page(client, studio):
    studio.say(studio.fill(alert=True), alert=True, trouble=[
        {"ailing": "record", "text": "Nothing can be stored: the disk is full."}])
    _break_store(studio)
    page = client.get("/")
    assert page.status_code == 200
    for words in ("Cooling too fast", "Close the vents", "I am up", "The record can’t be read just now",
                  "Nothing can be stored"):
        assert words in page.text
    assert client.get("/now.json").json["readable"] is False
    assert client.get("/firings").status_code == 503


def test_a_firing_that_just_ended_offers_the_next_one_before_the_daemon_has_told(client, studio):
    studio.say(studio.fill(ended=True))
    assert client.get("/now.json").json["firing_id"] is None
    assert "Start a firing" in client.get("/").text


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


def test_when_neither_store_nor_daemon_can_be_reached_nothing_is_claimed(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    _break_store(studio)
    answer = client.post("/firings/1/acknowledge", headers=SAME)
    assert answer.status_code == 503
    assert "Nothing was changed" in answer.text


def test_what_the_maker_did_is_asked_of_the_daemon_in_one_tap(client, studio):
    number = studio.fill(until_s=24_000.0)
    studio.say(number, 24_000.0)
    page = client.get("/").text
    assert "Made the hold longer" in page
    answer = client.post(f"/firings/{number}/said", headers=SAME, data={"what": "vented"})
    assert answer.status_code == 303
    assert studio.asked() == [("said", {"firing_id": number, "what": "vented"})]
    refused = client.post(f"/firings/{number}/said", headers=SAME, data={"what": "acknowledge"})
    assert (refused.status_code, len(studio.asked())) == (400, 1)


def test_what_was_done_and_reached_lately_stands_in_the_log_of_now(client, studio):
    from daemon.firing.events import Milestone, Said, Saying
    from daemon.store import found_parts

    number = studio.fill(until_s=24_000.0)
    studio.say(number, 24_000.0)
    studio.store(lambda db: found_parts.add_said(db, number, Said(22_000.0, Saying.VENTED)))
    begun = Milestone(20_000.0, "anneal", "The anneal hold begun.")
    studio.store(lambda db: found_parts.add_milestone(db, number, begun))
    log = client.get("/now.json").json["blocks"]["log"]
    assert log.index("The anneal hold begun.") < log.index("You vented.")  # 20,000 and 22,000 s


def test_the_log_of_now_is_in_the_order_of_time_alerts_that_are_over_among_the_rest(client, studio):
    from daemon.firing.events import Milestone
    from daemon.store import found_parts

    number = studio.fill(until_s=24_000.0)
    found = studio.alert(24_000.0)
    begun = Milestone(23_800.0, "anneal", "The anneal hold begun.")
    studio.store(lambda db: found_parts.add_milestone(db, number, begun))
    studio.say(number, 24_000.0, alerts=[{
        "no": 1, "kind": found.kind, "rank": "wake", "since_s": 23_000.0, "raised_s": 23_100.0, "woke_s": 23_200.0,
        "cleared_s": 23_500.0, "acknowledged_s": None, "step": 4, "under": None, "text": {"what": "Too fast."}}])
    log = client.get("/now.json").json["blocks"]["log"]
    # The present part began before both, at 19,800 s.
    assert log.index("Step 4") < log.index("Get up: cooling too fast, over at") < log.index("The anneal hold begun.")


def test_a_call_at_a_temperature_is_asked_shown_and_taken_back(studio):
    number = studio.fill(until_s=24_000.0)
    studio.say(number, 24_000.0, calls=[{"temp_c": 380.0, "rising": False}])
    client = studio.app().test_client()
    assert "You are called at 380\u00a0°C, falling." in client.get("/now.json").json["blocks"]["calls"]
    assert client.post(f"/firings/{number}/call", headers=SAME, data={"at": "640"}).status_code == 303
    client.set_cookie("lehrling-reads", "unit=F&hours=24")
    client.post(f"/firings/{number}/call", headers=SAME, data={"at": "1184"})
    client.post(f"/firings/{number}/call", headers=SAME, data={"off": "716"})
    assert [payload for _, payload in studio.asked()] == [
        {"firing_id": number, "what": "call", "temp_c": 640.0},
        {"firing_id": number, "what": "call", "temp_c": 640.0},
        {"firing_id": number, "what": "call-off", "temp_c": 380.0}]


@pytest.mark.parametrize(("typed", "told"), [
    ("hot", "“hot” is not a number. Write a number of °C."), ("1e99", "“1e99” °C is outside 20 to 1300 °C."),
    ("-500", "-500 °C is outside 20 to 1300 °C."), ("", "Write at which temperature."),
    ("<b>7", "“&lt;b&gt;7” is not a number."),
])
def test_a_call_that_cannot_be_is_told_on_now_beside_its_field_with_what_was_typed(studio, typed, told):
    number = studio.fill(until_s=24_000.0)
    studio.say(number, 24_000.0)
    client = studio.app().test_client()
    page = client.post(f"/firings/{number}/call", headers=SAME, data={"at": typed}, follow_redirects=True).text
    assert 'data-text="temp"' in page  # Now itself
    _, shown = page.split('<div id="call">')  # where the answer leads to: the words, too, are in sight
    assert told in shown.split('id="wrong-at" role="alert">')[1].split("</p>")[0]
    assert f'value="{escape(typed)}" aria-invalid="true"' in page
    assert studio.asked() == []
    assert "wrong-at" not in client.get("/").text


def test_no_time_left_is_said_so_and_not_as_seconds(studio):
    alert = studio.alert(31_000.0)
    for left_s, said in ((1500.0, "About 25 min left."), (0.0, "Do this now.")):
        text = replace(alert.text, time_left_s=left_s)
        entry = entry_of(replace(alert, text=text), studio.clock.wall, (), now_s=31_000.0)
        assert entry.said.deadline.replace("\u00a0", " ") == said


def test_the_title_of_a_page_at_the_back_begins_with_what_stands(client, studio):
    firing_id = studio.fill(alert=True)
    studio.say(firing_id, alert=True)
    assert client.get("/now.json").json["title"].startswith("Get up: ")
    studio.say(firing_id)
    assert client.get("/now.json").json["title"][0].isdigit()


def test_a_start_under_a_silent_watch_is_said_before_and_after(client, studio, form_of_start):
    studio.open_store().close()
    studio.say(None, age_s=16.0)
    assert "The watch is silent just now" in client.get("/start").text
    form = form_of_start(client, title="Bowl", glass="90", thickness="6", faces="1")
    answer = client.post("/start", data=form, headers=SAME)
    assert answer.status_code == 303
    assert "nothing is watched" in client.get(answer.headers["Location"]).text
    studio.say(None)
    assert "The watch is silent just now" not in client.get("/start").text


def test_the_morning_finds_the_last_night_on_now(client, studio):
    studio.fill(until_s=40_000.0, ended=True, title="Night bowl")
    studio.say(None)
    page = client.get("/").text
    assert "Night bowl</a>, " in page


def test_the_log_of_now_stands_in_the_order_of_time():
    """The present part began before an alarm came and went, and the kiln may be opened before the next one."""
    from web.now.page import Kept
    from web.now.page_values import LogLine

    alarm = SimpleNamespace(standing=False, when="02:30", rank_words="wake", kind="lid", state="over", at_s=9000.0,
                            rank="wake")
    shown = SimpleNamespace(alerts=(alarm,), log=(
        LogLine("02:00", "Step 3, hold", "now", 7200.0), LogLine("05:00", "Step 4, ramp", "to come", 18_000.0),
        LogLine("04:30", "40 °C", "to come", 16_200.0)))
    kept = Kept(None, None, lately=(LogLine("01:00", "At the top.", "been", 3600.0),))
    assert [line.when for line in kept.log(shown)] == ["01:00", "02:00", "02:30", "04:30", "05:00"]


def the_log(client):
    said = client.get("/").text.split('data-block="log"')[1].split("</section>")[0]
    return [" ".join(line.split()) for line in re.findall(r'<p class="entry.*?</p>', said, re.DOTALL)]


def test_when_the_anneal_begins_is_said_where_past_firings_tell_it(client, studio):
    number = studio.fill(until_s=20_000.0)
    learned = {"anneal_at_s": 24_300.0, "anneal_margin_s": 560.0, "anneal_step": 3, "learned_firings": 5}
    studio.say(number, 20_000.0, **learned)
    said = [line for line in the_log(client) if "The anneal hold begins, probably between" in line]
    assert len(said) == 1
    studio.say(number, 20_000.0)
    assert not any("anneal hold begins" in line for line in the_log(client))


def test_the_anneal_that_comes_next_has_one_time(client, studio):
    number = studio.fill(until_s=16_000.0)
    upcoming = {"step": 3, "part": "hold", "at_s": 17_000.0}
    studio.say(number, 16_000.0, next=upcoming)
    assert sum("Step 3, hold" in line for line in the_log(client)) == 1
    studio.say(number, 16_000.0, next=upcoming, anneal_at_s=18_300.0, anneal_margin_s=560.0, anneal_step=3)
    lines = the_log(client)
    assert not any("Step 3, hold" in line for line in lines)
    assert sum("The anneal hold begins" in line for line in lines) == 1
