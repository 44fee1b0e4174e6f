"""Copies of the record: whole, checked before an older one goes, kept by day, week and month."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from daemon.firing.events import Sample
from daemon.store import firings, readings
from daemon.store.database import create_database, open_database
from daemon.store.safety import copies
from daemon.store.safety.copies import Copy, copies_of, make_copy, not_needed

NOW = datetime(2026, 3, 1, 4, 20, 0, tzinfo=UTC)


def test_a_copy_is_whole_though_the_watch_goes_on_writing(record, monkeypatch):
    monkeypatch.setattr(copies, "STEP_PAGES", 16)
    db, more = open_database(record), []

    def goes_on():
        readings.append(db, 1, [Sample(1e6 + len(more), 20.0)])
        more.append(1)

    copy = make_copy(record, NOW, goes_on)
    db.close()
    assert len(more) > 1
    found = sqlite3.connect(copy)
    assert found.execute("SELECT count(*) FROM reading").fetchone()[0] == 20_000
    found.close()
    assert [path.name for path in copy.parent.iterdir()] == ["lehrling-000001-2026-03-01T042000Z.db"]


def test_a_copy_opens_as_a_record_of_its_own(record, tmp_path):
    restored = tmp_path / "restored"
    restored.mkdir()
    shutil.copy(make_copy(record, NOW), restored / "lehrling.db")
    db = create_database(restored / "lehrling.db")
    assert firings.firing(db, 1).title == "Bowl"
    db.close()


def test_they_are_counted_in_the_order_of_making_whatever_the_clock_says(record):
    (record.parent / "backups").mkdir()
    shutil.copy(record, record.parent / "backups" / "lehrling-2026-02-20T042000Z.db")  # of an older version
    for utc in (NOW, datetime(1970, 1, 1, 4, 20, tzinfo=UTC), NOW + timedelta(days=1)):
        make_copy(record, utc)
    assert [(copy.number, copy.made_utc.year) for copy in copies_of(record)] == [
        (0, 2026), (1, 2026), (2, 1970), (3, 2026)]


def test_other_files_are_no_copies(record):
    folder = record.parent / "backups"
    folder.mkdir()
    for name in ("lehrling-old.db", "unfinished.part", "lehrling-000001-2026-03-01T042000Z.db-wal"):
        (folder / name).write_text("")
    assert copies_of(record) == []


def test_a_damaged_copy_drops_no_older_one(record):
    for day in range(5):
        make_copy(record, NOW + timedelta(days=day))
    before = copies_of(record)
    damaged = bytearray(record.read_bytes())
    middle = len(damaged) // 2
    damaged[middle:middle + 40_000] = b"\xff" * 40_000
    record.write_bytes(damaged)
    with pytest.raises(sqlite3.DatabaseError):
        make_copy(record, NOW + timedelta(days=5))
    assert copies_of(record) == before


@pytest.mark.parametrize("made", ["", "CREATE TABLE other (n)"])
def test_an_empty_or_a_foreign_file_is_no_copy_of_a_record(tmp_path, made):
    db = sqlite3.connect(tmp_path / "other.db")
    db.executescript(made)
    db.close()
    with pytest.raises(sqlite3.DatabaseError, match="no such table: firing"):
        copies.check(tmp_path / "other.db")


def test_of_a_year_of_nights_days_weeks_and_months_are_kept():
    nights = [Copy(n + 1, NOW + timedelta(days=n), Path(f"{n}")) for n in range(365)]
    left = list(nights)
    for n in range(365):
        gone = set(not_needed([copy for copy in left if copy.number <= n + 1]))
        left = [copy for copy in left if copy not in gone]
    ages = [(nights[-1].made_utc - copy.made_utc).days for copy in reversed(left)]
    # The last night is Sunday, 28 February 2027: three nights; four Sundays (0, 7, 14, 21); six ends of months
    # (28 February to 30 September).
    assert ages == [0, 1, 2, 7, 14, 21, 28, 59, 90, 120, 151]


def test_a_clock_that_was_not_set_crowds_out_no_month():
    months = [Copy(n, datetime(2026, n, 28, tzinfo=UTC), Path(f"{n}")) for n in range(1, 7)]
    unset = [Copy(7 + n, datetime(1970, 1, 1, n, tzinfo=UTC), Path(f"u{n}")) for n in range(10)]
    kept = [copy for copy in months + unset if copy not in not_needed(months + unset)]
    assert [copy.made_utc.month for copy in kept if copy.made_utc.year == 2026] == [2, 3, 4, 5, 6]
    assert len(kept) == 8


def test_copies_made_again_and_again_on_one_day_crowd_out_no_earlier_night(record):
    evening = NOW + timedelta(days=2, hours=15)
    for utc in (NOW, NOW + timedelta(days=1), NOW + timedelta(days=2), *(
            evening + timedelta(seconds=n) for n in range(4))):
        newest = make_copy(record, utc)
    assert [copy.made_utc.day for copy in copies_of(record)] == [1, 2, 3]
    assert copies_of(record)[-1].path == newest


def test_copies_made_again_and_again_with_a_clock_that_is_not_set_crowd_out_no_night():
    nights = [Copy(n, NOW + timedelta(days=n), Path(f"{n}")) for n in (1, 2, 3)]
    unset = [Copy(4 + n, datetime(1970, 1, 1, n, tzinfo=UTC), Path(f"u{n}")) for n in range(10)]
    assert not_needed(nights + unset) == unset[:-3]
    # Once three days have a later copy, one of them is left, as the newest of its week and month.
    later = [Copy(20 + n, NOW + timedelta(days=n), Path(f"l{n}")) for n in (4, 5, 6)]
    assert [copy for copy in unset[-3:] + later if copy not in not_needed(unset[-3:] + later)] == unset[-1:] + later
