"""Comparisons of the thermocouple: kept with the one that was in, taken out of use, never taken away."""

from __future__ import annotations

import sqlite3
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from daemon.store import kilns
from daemon.store.wear import calibrations, part_changes
from daemon.store.wear.calibrations import Calibration

VIENNA = ZoneInfo("Europe/Vienna")
EVENING = datetime(2026, 11, 20, 23, 30, tzinfo=UTC)  # the 21st in Vienna


def compared(kiln, utc=EVENING, **others):
    return Calibration(0, kiln, None, "K", 2, "ice", "", 0.0, 0.6, 24.0, 60, 0.4, 0.15, 0.05, 0.1, 0.002, utc,
                       False)._replace(**others)


def new_thermocouple(db, kiln, day, note=""):
    return part_changes.add_change(db, kiln, "thermocouple", day, note, EVENING)


def test_a_comparison_comes_back_as_it_was_kept(db):
    kiln = kilns.kiln_id(db, "Kiln")
    kept = calibrations.add(db, compared(kiln), VIENNA)
    assert calibrations.of_kiln(db, kiln) == [kept]
    assert kept == compared(kiln)._replace(calibration_id=1)


def test_it_is_kept_with_the_thermocouple_that_was_in_by_the_owner_s_calendar(db):
    kiln = kilns.kiln_id(db, "Kiln")
    new_thermocouple(db, kiln, date(2026, 3, 1))
    latest = new_thermocouple(db, kiln, date(2026, 11, 21))
    part_changes.add_change(db, kiln, "elements", date(2026, 11, 21), "", EVENING)
    assert calibrations.add(db, compared(kiln), VIENNA).part_change_id == latest
    assert calibrations.add(db, compared(kiln), ZoneInfo("America/Denver")).part_change_id == 1


def test_a_new_thermocouple_has_not_been_compared_yet(db):
    kiln = kilns.kiln_id(db, "Kiln")
    kept = calibrations.add(db, compared(kiln), VIENNA)
    assert calibrations.of_present(db, kiln, VIENNA) == [kept]
    new_thermocouple(db, kiln, date(2026, 11, 25))
    assert calibrations.of_present(db, kiln, VIENNA) == []
    assert calibrations.of_kiln(db, kiln) == [kept]


def test_on_the_day_of_a_change_the_new_one_was_compared_unless_an_earlier_one_is_known(db):
    kiln = kilns.kiln_id(db, "Kiln")
    before_it_was_noted = calibrations.add(db, compared(kiln), VIENNA)
    new_thermocouple(db, kiln, date(2026, 11, 21))
    assert calibrations.of_present(db, kiln, VIENNA) == [before_it_was_noted]
    of_the_first = calibrations.add(db, compared(kiln), VIENNA)
    new_thermocouple(db, kiln, date(2026, 11, 21), "the first one was broken")
    assert of_the_first not in calibrations.of_present(db, kiln, VIENNA)


def test_a_corrected_date_of_the_change_takes_its_comparison_along(db):
    kiln = kilns.kiln_id(db, "Kiln")
    number = new_thermocouple(db, kiln, date(2026, 11, 21))
    kept = calibrations.add(db, compared(kiln), VIENNA)
    part_changes.correct(db, part_changes.change(db, number), "thermocouple", date(2026, 11, 20), "", EVENING)
    assert calibrations.of_present(db, kiln, VIENNA) == [kept]


def test_what_is_taken_out_of_use_stays_in_the_record_and_can_come_back(db):
    kiln = kilns.kiln_id(db, "Kiln")
    kept = calibrations.add(db, compared(kiln), VIENNA)
    calibrations.remove(db, kept.calibration_id, EVENING)
    assert calibrations.of_present(db, kiln, VIENNA) == []
    assert [one.is_removed for one in calibrations.of_kiln(db, kiln)] == [True]
    calibrations.bring_back(db, kept.calibration_id)
    assert calibrations.of_present(db, kiln, VIENNA) == [kept]


@pytest.mark.parametrize("wrong", [{"method": "guess"}, {"tolerance_class": 3}, {"kiln_id": 99}])
def test_what_makes_no_sense_is_refused(db, wrong):
    kiln = kilns.kiln_id(db, "Kiln")
    with pytest.raises(sqlite3.IntegrityError):
        calibrations.add(db, compared(kiln, **wrong), VIENNA)


def test_a_firing_of_long_ago_had_the_thermocouple_of_its_day(db):
    kiln = kilns.kiln_id(db, "Kiln")
    first = calibrations.add(db, compared(kiln, datetime(2026, 2, 1, 12, 0, tzinfo=UTC)), VIENNA)
    new_thermocouple(db, kiln, date(2026, 3, 1))
    second = calibrations.add(db, compared(kiln), VIENNA)
    assert calibrations.of_day(db, kiln, VIENNA, date(2026, 2, 28)) == [first]
    assert calibrations.of_day(db, kiln, VIENNA, date(2026, 3, 1)) == [second]
    assert calibrations.of_present(db, kiln, VIENNA) == [second]
    assert [calibrations.is_in_still(db, kiln, date(2026, month, 1)) for month in (2, 3, 4)] == [False, True, True]
