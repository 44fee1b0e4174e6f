"""Notes and photographs while a firing runs: kept with their time and how hot it was, on Now and on the firing."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image

from daemon.store import notes, photographs

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
UNTIL_S = 3 * 3600.0
"""Three hours at 220 °C/h from 20 °C, a minute behind the plan, would be 676 °C; the squeeze holds at 670."""


def _picture():
    body = BytesIO()
    Image.new("RGB", (60, 40), "teal").save(body, "JPEG")
    return BytesIO(body.getvalue())


@pytest.fixture
def running(studio):
    number = studio.fill(until_s=UNTIL_S)
    studio.say(number, UNTIL_S)
    return number


def test_a_note_from_now_is_kept_and_shown_with_its_time_and_temperature(client, studio, running):
    answer = client.post(f"/firings/{running}/now/note", headers=SAME, data={"note": "Vent <b>open</b> a finger"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/#noted")
    assert [note.text for note in studio.store(lambda db: notes.notes(db, running))] == ["Vent <b>open</b> a finger"]
    page = client.get("/").text.replace("\u00a0", " ")
    assert "02:00, at 670 °C" in page
    assert "Vent &lt;b&gt;open&lt;/b&gt; a finger" in page


@pytest.mark.slow  # another process
def test_a_photograph_from_now_is_of_during_and_the_firing_says_when(client, studio, running):
    answer = client.post(f"/firings/{running}/now/photograph", headers=SAME, content_type="multipart/form-data",
                         data={"photograph": (_picture(), "a.jpg"), "caption": "the display"})
    assert answer.status_code == 303
    (kept,) = studio.store(lambda db: photographs.photographs(db, firing_id=running))
    assert (kept.moment, kept.caption) == ("during", "the display")
    assert "the display" in client.get("/").text
    assert "during, 02:00, at 670 °C: the display" in client.get(f"/firings/{running}").text.replace("\u00a0", " ")


def test_a_moment_without_a_reading_near_it_has_its_time_alone(client, studio, running):
    studio.clock.wall = studio.clock.wall.replace(hour=5)
    client.post(f"/firings/{running}/now/note", headers=SAME, data={"note": "Later"})
    page = client.get("/").text
    assert '<span class="grey">06:00</span>' in page


@pytest.mark.slow  # another process
def test_what_is_wrong_is_said_and_what_was_typed_stays(client, running):
    empty = client.post(f"/firings/{running}/now/note", headers=SAME, data={"note": " "})
    assert (empty.status_code, "Write the note first." in empty.text) == (400, True)
    refused = client.post(f"/firings/{running}/now/photograph", headers=SAME, content_type="multipart/form-data",
                          data={"photograph": (BytesIO(b"none"), "a.jpg"), "caption": "the display"})
    assert (refused.status_code, "no picture that can be read" in refused.text) == (400, True)
    assert 'value="the display"' in refused.text


def test_without_script_there_is_a_page_that_stays_while_one_writes(client, running):
    assert f'<noscript><p>This page loads itself again every 15 seconds. <a href="/firings/{running}/now">' \
        in client.get("/").text
    page = client.get(f"/firings/{running}/now").text
    assert "http-equiv" not in page
    assert 'name="note"' in page


def test_to_a_firing_that_has_ended_meanwhile_nothing_is_added_from_now(client, studio):
    number = studio.fill(ended=True)
    for act in ("note", "photograph"):
        answer = client.post(f"/firings/{number}/now/{act}", headers=SAME, data={"note": "x"})
        assert (answer.status_code, "has ended meanwhile" in answer.text) == (409, True)


def test_a_reader_who_may_change_nothing_is_shown_no_form(studio, running, cheap_hash):
    from web.security import passcode

    passcode.keep(studio.folder / "passcode", "warm sand and slow rivers")
    page = studio.app(open_house=False, open_reading=True).test_client().get("/").text
    assert "Note it while it happens" not in page
