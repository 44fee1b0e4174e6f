"""Reminders as a calendar, read as one reads them: with a parser of iCalendar, by an address that is a secret."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta

import pytest
from freezegun import freeze_time
from icalendar import Calendar

from daemon.store import pieces
from daemon.store.database import FILE_NAME
from web.security import passcode

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
WORDS = "warm sand and slow rivers"
TEXT = "text/calendar; charset=utf-8"


def address(studio, **others):
    """Return the address that the kiln's page shows."""
    shown = studio.app(**others).test_client().get("/kiln").text
    return re.search(r'<code class="address">http://localhost(/calendar/[0-9a-f]{32}\.ics)</code>', shown)[1]


def text(studio, **others):
    answer = studio.app(**others).test_client().get(address(studio, **others))
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, TEXT)
    return answer.text


def events(studio, **others):
    """Return the events of the calendar, by the kind of reminder that stands first in their id."""
    said = text(studio, **others)
    found = Calendar.from_ical(said)
    assert not found.errors
    assert "TZID=" not in said, "times are in UTC"
    listed = [(event, str(event["UID"])) for event in found.walk("VEVENT")]
    assert len({uid for _, uid in listed}) == len(listed)
    assert all(not event.errors for event, _ in listed)
    return {uid.rpartition("-")[0]: event for event, uid in listed}


def dries(studio, hours=12.0, **facts):
    studio.fill(ended=True, **facts)
    now = studio.clock.wall
    studio.store(lambda db: pieces.set_drying(db, 1, now, now + timedelta(hours=hours)))


def test_an_empty_house_gives_a_calendar_without_a_reminder(studio):
    studio.open_store().close()
    said = text(studio)
    assert events(studio) == {}
    assert "BEGIN:VTIMEZONE" in said, "RFC 5545, 3.6: one component at least"
    assert said.startswith("BEGIN:VCALENDAR\r\n")
    assert said.endswith("END:VCALENDAR\r\n")


def test_a_piece_that_dries_rings_when_it_has(studio):
    dries(studio)
    event = events(studio)["drying-1"]
    assert event["DTSTART"].dt == datetime(2026, 3, 4, 13, 0, tzinfo=UTC)
    assert event["SUMMARY"] == "River bowl: drying done"
    assert "Feel whether it is dry" in event["DESCRIPTION"]
    assert [(alarm["ACTION"], alarm["TRIGGER"].dt) for alarm in event.walk("VALARM")] == [("DISPLAY", timedelta(0))]
    assert event["DTSTAMP"].dt == event["LAST-MODIFIED"].dt == studio.clock.wall


def test_a_drying_that_moves_keeps_its_id_and_counts_up(studio):
    dries(studio)
    seen = [events(studio)["drying-1"]]
    for hours, typed in ((1, "30"), (2, "0"), (3, "5")):
        studio.clock.wall += timedelta(hours=hours)
        client = studio.app().test_client()
        assert client.post("/pieces/1/drying", headers=SAME, data={"hours": typed}).status_code == 303
        seen.append(events(studio)["drying-1"])
    studio.clock.wall += timedelta(hours=6)
    seen.append(events(studio)["drying-1"])
    assert len({event["UID"] for event in seen}) == 1
    counted = [event["SEQUENCE"] for event in seen]
    assert counted == sorted(set(counted))
    assert [event["DTSTART"].dt.hour for event in seen] == [13, 8, 4, 12, 12]


def test_a_piece_that_dried_long_ago_or_never_did_is_no_reminder(studio):
    dries(studio)
    studio.store(lambda db: pieces.set_drying(
        db, pieces.add_piece(db, name="Tile", glass="90", thickness_mm=6.0, now_utc=studio.clock.wall),
        None, studio.clock.wall))
    studio.clock.wall += timedelta(days=7, hours=11)
    assert {key for key in events(studio) if key.startswith("drying")} == {"drying-1"}
    studio.clock.wall += timedelta(hours=2)
    assert not {key for key in events(studio) if key.startswith("drying")}


def test_the_kiln_is_said_to_be_cool_at_the_end_of_the_forecasts_range(studio):
    studio.say(studio.fill(), open_margin_s=2000.0)
    event = events(studio)["opening-1"]
    # Second 31,000 is 01:00 UTC, so 45,000 + 2,000 is 05:26:40; the next quarter is 05:30.
    assert event["DTSTART"].dt == datetime(2026, 3, 4, 5, 30, tzinfo=UTC)
    assert event["SUMMARY"] == "small kiln: probably cool enough to open"
    said = event["DESCRIPTION"]
    assert said.startswith("Bowl blank, river glass\n")
    assert "probably between 05:15 and 06:30" in said, "in the owner's zone, an hour ahead"
    assert "use gloves" in said
    assert "kiln’s own display" in said
    assert len(event.walk("VALARM")) == 1
    studio.clock.wall += timedelta(minutes=30)
    studio.say(1, until_s=32_800.0, open_at_s=50_000.0, open_margin_s=2000.0)
    later = events(studio)["opening-1"]
    assert later["UID"] == event["UID"]
    assert later["DTSTART"].dt == datetime(2026, 3, 4, 7, 0, tzinfo=UTC)
    assert later["SEQUENCE"] == event["SEQUENCE"] + 1800


@pytest.mark.parametrize("others", [
    {"age_s": 60.0}, {"open_at_s": None}, {"open_margin_s": 4 * 3600.0}, {"t_s": None}, {"speed": 60.0},
])
def test_without_a_forecast_of_the_present_the_kiln_is_no_reminder(studio, others):
    studio.say(studio.fill(), **others)
    assert "opening-1" not in events(studio)
    studio.say(None)
    assert not {key for key in events(studio) if key.startswith("opening")}


def test_the_bytes_hang_on_what_is_kept_and_not_on_the_computers_clock(studio):
    dries(studio)
    studio.say(studio.fill(), open_margin_s=2000.0)
    with freeze_time("2026-03-04 01:00:00"):
        first = text(studio)
    with freeze_time("2031-10-26 00:30:00"):
        assert text(studio) == first


@pytest.mark.parametrize(("now", "hours", "dry"), [
    # Berlin goes to summer time on 29 March 2026 and back on 25 October, each at 01:00 UTC (EU Directive 2000/84/EC).
    (datetime(2026, 3, 28, 20, tzinfo=UTC), 12.0, "20260329T080000Z"),
    (datetime(2026, 10, 24, 20, tzinfo=UTC), 12.0, "20261025T080000Z"),
])
def test_twelve_hours_are_twelve_hours_over_a_change_of_the_clocks(studio, now, hours, dry):
    studio.clock.wall = now
    dries(studio, hours)
    assert f"DTSTART:{dry}\r\n" in text(studio)
    assert "TZID" not in text(studio)


def test_the_forecasts_words_are_in_the_owners_zone_over_a_change_of_the_clocks(studio):
    studio.clock.wall = datetime(2026, 3, 28, 23, 0, tzinfo=UTC)
    studio.say(studio.fill(), open_margin_s=2000.0)
    event = events(studio)["opening-1"]
    assert event["DTSTART"].dt == datetime(2026, 3, 29, 3, 30, tzinfo=UTC)
    assert "and 05:30" in event["DESCRIPTION"]


def test_what_a_maker_types_stays_text(studio):
    name = "Bowl; a, b\\n\u2028x" + "ü" * 90
    dries(studio, name=name)
    studio.store(lambda db: db.execute("UPDATE piece SET name = ?", [
        f"{name}\r\nBEGIN:VALARM\r\nACTION:EMAIL\r\nATTACH:http://evil.example/x\r\nEND:VALARM\x07"]))
    said = text(studio)
    event = events(studio)["drying-1"]
    assert event["SUMMARY"].startswith(name)
    assert [alarm["ACTION"] for alarm in event.walk("VALARM")] == ["DISPLAY"]
    assert not re.search(r"^(ATTACH|ACTION:(?!DISPLAY)|URL|X-ALT-DESC|METHOD)", said, re.MULTILINE)
    assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", said)
    assert "\n" not in said.replace("\r\n", "")
    assert max(len(line.encode()) for line in said.split("\r\n")) <= 75  # RFC 5545, 3.1


@pytest.fixture
def guarded(studio, cheap_hash):
    dries(studio)
    passcode.keep(studio.folder / "passcode", WORDS)
    return studio


def enter(studio, **house):
    client = studio.app(open_house=False, **house).test_client()
    client.post("/enter", data={"passcode": WORDS}, headers=SAME)
    return client


def shown(client):
    found = re.search(r"http://localhost(/calendar/[^<]+)", client.get("/kiln").text)
    return found[1] if found else None


def test_the_address_alone_opens_the_reminders_and_nothing_else(guarded):
    secret = shown(enter(guarded))
    stranger = guarded.app(open_house=False).test_client()
    answer = stranger.get(secret)
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, TEXT)
    assert "River bowl" in answer.text
    assert stranger.get("/kiln").status_code == 302
    assert stranger.get(secret, headers={"Host": "evil.example"}).status_code == 400
    assert stranger.post(secret).status_code == 403


def test_a_wrong_address_gives_nothing_and_says_nothing(guarded):
    secret = shown(enter(guarded))
    stranger = guarded.app(open_house=False).test_client()
    (guarded.folder / FILE_NAME).unlink()  # it is not even looked for
    answers = [stranger.get(wrong) for wrong in (
        "/calendar/x.ics", secret.replace(".ics", "0.ics"), f"/calendar/{'0' * 32}.ics", "/calendar/%C3%A9.ics",
        f"/calendar/{'a' * 4000}.ics")]
    assert {(answer.status_code, answer.mimetype, answer.text) for answer in answers} == {
        (404, "text/plain", answers[0].text)}
    assert stranger.get(secret.replace(".ics", "")).status_code == 302, "the way to the passcode, as everywhere"


def test_a_new_passcode_makes_a_new_address_and_leaves_the_ids(guarded):
    first = shown(enter(guarded))
    client = guarded.app(open_house=False).test_client()
    uid = re.search(r"^UID:.+$", client.get(first).text, re.MULTILINE)[0]
    passcode.keep(guarded.folder / "passcode", WORDS)
    assert client.get(first).status_code == 404
    second = shown(enter(guarded))
    assert second != first
    assert uid in client.get(second).text


def test_only_who_knows_the_passcode_sees_the_address(guarded):
    reader = guarded.app(open_house=False, open_reading=True).test_client()
    assert reader.get("/kiln").status_code == 200
    assert shown(reader) is None
    assert shown(enter(guarded, open_reading=True)) is not None
    assert shown(guarded.app(rehearsal=True).test_client()) is None


def test_the_library_is_loaded_by_the_reminders_only(studio):
    dries(studio)
    secret = address(studio)
    told = subprocess.run([sys.executable, "-c", (
        "import sys; from pathlib import Path; from web.app import create_app; from web.settings import Settings\n"
        f"folder = Path({str(studio.folder)!r})\n"
        "app = create_app(Settings(folder, folder, kiln='small kiln', open_house=True)).test_client()\n"
        "app.get('/kiln'); app.get('/calendar/x.ics'); before = 'icalendar' in sys.modules\n"
        f"code = app.get({secret!r}).status_code; print(before, code, 'icalendar' in sys.modules)")],
        capture_output=True, text=True, check=True, timeout=120)
    assert told.stdout.split() == ["False", "200", "True"]


@pytest.mark.slow
def test_the_services_log_leaves_the_secret_out(studio, real_server):
    secret = address(studio)
    assert real_server.get(secret) == 200
    studio.database.write_bytes(b"no database" * 1000)
    assert real_server.get(secret) == 503
    real_server.process.terminate()
    logged = real_server.process.stdout.read()
    assert "/calendar/…" in logged
    assert secret not in logged


def test_a_day_is_a_day_of_the_owners_calendar(studio):
    studio.clock.wall = datetime(2026, 3, 4, 23, 30, tzinfo=UTC)  # 5 March in Berlin
    studio.fill(until_s=0.0, ended=True)
    assert events(studio)["compare-thermocouple-1"]["DTSTART"].dt == date(2027, 3, 5)
    assert not events(studio)["compare-thermocouple-1"].walk("VALARM")
