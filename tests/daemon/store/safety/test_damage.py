"""A damaged or empty record is set aside; the newest good copy, or a new record, takes its place, and it is said."""

from __future__ import annotations

import logging
from datetime import UTC, datetime, timedelta

import pytest

from daemon.store import kilns
from daemon.store.database import create_database, open_database
from daemon.store.safety.copies import copies_of, make_copy
from daemon.store.safety.damage import replace_if_damaged

NOW = datetime(2026, 3, 8, 6, 0, tzinfo=UTC)


@pytest.fixture
def record(tmp_path):
    """Return the path of a record with two kilns; a copy of yesterday knows the first only."""
    path = tmp_path / "lehrling.db"
    db = create_database(path)
    kilns.kiln_id(db, "first")
    make_copy(path, NOW - timedelta(days=1))
    kilns.kiln_id(db, "second")
    db.close()
    return path


def names(path):
    db = open_database(path, readonly=True)
    found = [row["name"] for row in db.query("SELECT name FROM kiln ORDER BY kiln_id")]
    db.close()
    return found


def scribbled(path):
    """Write over the first page, but for the mark of SQLite."""
    data = bytearray(path.read_bytes())
    data[100:4000] = b"\xfe" * 3900
    path.write_bytes(data)


def test_a_sound_record_is_left_alone(record, tmp_path):
    assert replace_if_damaged(record, NOW) == []
    assert names(record) == ["first", "second"]
    assert replace_if_damaged(tmp_path / "none.db", NOW) == []


@pytest.mark.parametrize("harm", [
    lambda path: path.write_bytes(b""),
    lambda path: path.write_bytes(b"\xff\xfe not a record at all" * 400),
    lambda path: path.write_bytes(path.read_bytes()[:300]),
    scribbled,
])
def test_the_newest_good_copy_takes_the_place_of_a_damaged_record(record, harm, caplog):
    caplog.set_level(logging.CRITICAL)
    harm(record)
    harmed = record.read_bytes()
    (said,) = replace_if_damaged(record, NOW)
    assert names(record) == ["first"]
    aside = record.with_name("lehrling-damaged-2026-03-08T060000Z.db")
    assert aside.read_bytes() == harmed
    assert aside.name in said
    assert "goes on with the copy of" in said
    create_database(record).close()  # and the daemon can open it


def test_a_damaged_copy_is_passed_over(record):
    make_copy(record, NOW)
    scribbled(copies_of(record)[-1].path)
    record.write_bytes(b"")
    replace_if_damaged(record, NOW)
    assert names(record) == ["first"]


def test_without_a_copy_a_new_record_is_begun_and_said_to_be_new(record):
    for copy in copies_of(record):
        copy.path.unlink()
    scribbled(record)
    (said,) = replace_if_damaged(record, NOW)
    assert "a new record was begun" in said
    assert not record.exists()


def test_what_lies_beside_a_damaged_record_goes_with_it(record):
    record.write_bytes(b"\xff" * 5000)
    record.with_name("lehrling.db-wal").write_bytes(b"waits")
    replace_if_damaged(record, NOW)
    assert not record.with_name("lehrling.db-wal").exists()
    assert record.with_name("lehrling-damaged-2026-03-08T060000Z.db-wal").read_bytes() == b"waits"


def test_a_locked_record_is_not_damaged(record):
    other = open_database(record)
    other.execute("BEGIN EXCLUSIVE")
    assert replace_if_damaged(record, NOW) == []
    other.close()
