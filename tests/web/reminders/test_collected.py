"""When thermocouple and elements are to be looked at, from what the record has of them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from daemon.sensor.due import COMPARE_FIRINGS
from daemon.store import firings, kilns
from daemon.store.wear import calibrations, part_changes
from daemon.store.wear.calibrations import Calibration
from web.reminders.collected import of_elements, of_thermocouple

ZONE = ZoneInfo("Europe/Berlin")
FIRST = datetime(2026, 1, 10, 18, 0, tzinfo=UTC)


@pytest.fixture
def db(studio):
    db = studio.open_store()
    yield db
    db.close()


@pytest.fixture
def kiln(db):
    kiln = kilns.kiln_id(db, "small kiln")
    fire(db, kiln, FIRST)
    return kiln


def fire(db, kiln, began_utc):
    number = firings.open_firing(db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title="Tile",
                                 opened_by="maker", started_utc=began_utc, boot_id="boot", clock_s=0.0)
    firings.end_firing(db, number, 3600.0, began_utc + timedelta(hours=1), "maker")
    return number


def compare(db, kiln, when, method="hold"):
    return calibrations.add(db, Calibration(
        0, kiln, None, "K", None, method, "", 500.0, 501.0, 24.0, 25, 2.0, 1.0, 0.1, 0.1, 0.1, when, False),
        ZONE).calibration_id


def due(db, kiln):
    (found,) = of_thermocouple(db, kiln, "small kiln", ZONE)
    return found


def test_without_a_firing_there_is_nothing_to_compare(db):
    kiln = kilns.kiln_id(db, "new kiln")
    assert list(of_thermocouple(db, kiln, "new kiln", ZONE)) == []
    assert list(of_elements(db, kiln, "new kiln")) == []


def test_it_is_counted_from_the_last_time_that_drift_was_excluded(db, kiln):
    assert due(db, kiln).at == date(2027, 1, 10)
    assert "No comparison in a hold is kept since Sat 10 Jan 2026." in due(db, kiln).said
    compare(db, kiln, FIRST + timedelta(days=40), method="ice")
    assert due(db, kiln).at == date(2027, 1, 10), "ice tells nothing of drift"
    held = compare(db, kiln, FIRST + timedelta(days=20))
    assert due(db, kiln).at == date(2027, 1, 30)
    assert "It was compared in a hold on Fri 30 Jan 2026." in due(db, kiln).said
    part_changes.add_change(db, kiln, "thermocouple", date(2026, 3, 1), "", FIRST + timedelta(days=60))
    assert due(db, kiln).at == date(2027, 3, 1)
    assert "It was put in on Sun 1 Mar 2026." in due(db, kiln).said
    calibrations.remove(db, held, FIRST + timedelta(days=61))
    assert due(db, kiln).at == date(2027, 3, 1)


def test_fifty_firings_come_before_the_year(db, kiln):
    compare(db, kiln, FIRST + timedelta(hours=30))
    for number in range(1, COMPARE_FIRINGS + 2):
        before = due(db, kiln)
        last = fire(db, kiln, FIRST + timedelta(days=2 * number))
    assert before.at == date(2026, 1, 10) + timedelta(days=2 * COMPARE_FIRINGS)
    assert due(db, kiln).at == before.at, "the day stays, however many follow"
    assert before.changed_utc == FIRST + timedelta(days=2 * COMPARE_FIRINGS)
    bin_firing = "UPDATE firing SET binned_utc = '2026-05-01T00:00:00.000Z' WHERE firing_id >= ?"
    db.execute(bin_firing, [last - 1])
    assert due(db, kiln).at == date(2027, 1, 12), "deleted ones do not count"


def test_a_reminder_that_moves_was_changed_later_and_keeps_its_key(db, kiln):
    seen = [due(db, kiln)]
    number = part_changes.add_change(db, kiln, "thermocouple", date(2026, 3, 1), "", FIRST + timedelta(days=60))
    seen.append(due(db, kiln))
    wrong = part_changes.change(db, number)
    part_changes.correct(db, wrong, "thermocouple", date(2026, 2, 1), "", FIRST + timedelta(days=61))
    seen.append(due(db, kiln))
    part_changes.remove(db, part_changes.changes(db, kiln)[0].part_change_id, FIRST + timedelta(days=62))
    seen.append(due(db, kiln))
    held = compare(db, kiln, FIRST + timedelta(days=63))
    seen.append(due(db, kiln))
    calibrations.remove(db, held, FIRST + timedelta(days=64))
    seen.append(due(db, kiln))
    assert len({one.key for one in seen}) == 1
    assert [one.changed_utc - FIRST for one in seen] == [timedelta(days=days) for days in (0, 60, 61, 62, 63, 64)]
    assert [one.at.month for one in seen] == [1, 3, 2, 1, 3, 1]


def test_elements_are_a_suggestion_a_year_after_a_noted_change_of_theirs(db, kiln):
    assert list(of_elements(db, kiln, "small kiln")) == []
    part_changes.add_change(db, kiln, "thermocouple", date(2026, 2, 1), "", FIRST)
    assert list(of_elements(db, kiln, "small kiln")) == []
    part_changes.add_change(db, kiln, "elements", date(2026, 2, 3), "all four", FIRST + timedelta(days=30))
    (found,) = of_elements(db, kiln, "small kiln")
    assert (found.at, found.rings, found.changed_utc) == (date(2027, 2, 3), False, FIRST + timedelta(days=30))
    assert "suggestion" in found.title
    assert "A licensed person changes elements." in found.said
    assert "all four" not in found.said, "a note is not told to whoever has the address"
