"""Elements and thermocouple with the days they were changed: noted, corrected, taken out, and counted since."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from daemon.store import kilns
from daemon.store.wear import heat, part_changes
from web.security import passcode

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


@pytest.fixture
def kiln(studio):
    studio.fill(until_s=40_000.0, ended=True)
    return studio.store(lambda db: kilns.find(db, "small kiln"))


def _page(client, address="/kiln"):
    return client.get(address).text.replace("\u00a0", " ").replace("&nbsp;", " ")


def _add(client, **typed):
    return client.post("/kiln/parts", headers=SAME, data={
        "part": "elements", "day": "2026-02-20", "note": "all four", **typed})


def _changes(studio, kiln):
    return studio.store(lambda db: part_changes.changes(db, kiln))


def test_a_new_part_is_listed_with_its_day_note_and_hot_hours_since(client, studio, kiln):
    for hot_s in (3600.0, 7200.0):
        number = studio.fill(until_s=40_000.0, ended=True)
        studio.store(lambda db, number=number, hot_s=hot_s: heat.put_heat(
            db, number, heat.Heat(hot_s, why="no-fall"), 1))
    assert _add(client).status_code == 303
    assert _add(client, part="thermocouple", day="2026-03-04", note="type N").status_code == 303
    page = _page(client)
    assert "Elements: 2 firings since the change, 3 h above 600 °C." in page
    assert re.search(r"Changed Fri 20 Feb 2026, <span class=\"note\">all four</span>", page)
    assert "Thermocouple: 0 firings since the change" in page  # they began the day before


def test_in_fahrenheit_the_hours_count_above_1112(studio, kiln):
    studio.unit = "F"
    assert "above 1112 °F" in _page(studio.app().test_client())


def test_a_day_that_cannot_be_is_refused_and_what_was_typed_stays(client, studio, kiln):
    tomorrow = (studio.clock.wall + timedelta(days=1)).date().isoformat()
    for day, told in ((tomorrow, "still to come"), ("", "Give the day"), ("1931-01-01", "Check the year"),
                      ("03/04/26", "Give the day")):
        answer = _add(client, day=day, note="two of four")
        assert answer.status_code == 400
        assert told in answer.text
        assert 'value="two of four"' in answer.text
    assert _changes(studio, kiln) == []


def test_a_change_is_corrected_taken_out_and_brought_back(client, studio, kiln):
    _add(client)
    [change] = _changes(studio, kiln)
    assert 'value="2026-02-20"' in client.get(f"/kiln/parts/{change.part_change_id}").text
    assert client.post(f"/kiln/parts/{change.part_change_id}", headers=SAME, data={
        "part": "thermocouple", "day": "2026-02-21", "note": ""}).status_code == 303
    [right] = _changes(studio, kiln)
    assert (right.part, right.day.isoformat(), right.note) == ("thermocouple", "2026-02-21", "")
    taken = client.post(f"/kiln/parts/{right.part_change_id}/remove", headers=SAME)
    assert _changes(studio, kiln) == []
    page = _page(client, taken.headers["Location"])
    assert "Taken out of the list." in page
    back = re.search(r'action="(/kiln/parts/\d+/bring-back)"', page)
    client.post(back[1], headers=SAME)
    assert _changes(studio, kiln) == [right]


def test_what_is_not_there_and_what_is_no_part_is_said_so(client, studio, kiln):
    assert client.get("/kiln/parts/99").status_code == 404
    assert client.post("/kiln/parts/99/remove", headers=SAME).status_code == 404
    assert "Choose one of the list." in _add(client, part="door").text


def test_a_reader_without_the_passcode_sees_the_list_and_no_form(studio, kiln, cheap_hash):
    now = studio.clock.wall
    studio.store(lambda db: part_changes.add_change(db, kiln, "elements", now.date(), "", now))
    passcode.keep(studio.folder / "passcode", "warm sand and slow rivers")
    reader = studio.app(open_house=False, open_reading=True).test_client()
    page = reader.get("/kiln").text
    assert "Changed Wed 4 Mar 2026" in page
    assert "/kiln/parts" not in page
    _add(reader)
    assert len(_changes(studio, kiln)) == 1
