"""The record's file is deleted, or another one put there, while the daemon has it open."""

from __future__ import annotations

import os
import sqlite3

import pytest

from daemon.store.database import create_database, open_database
from daemon.store.write_queue import Journal


@pytest.fixture
def journal(path):
    made = Journal(lambda: create_database(path))
    made.open()
    yield made
    made.close()


def adding(name):
    return lambda db: db.execute("INSERT INTO kiln (name) VALUES (?)", [name])


def names(path):
    db = open_database(path, readonly=True)
    try:
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        return [row["name"] for row in db.query("SELECT name FROM kiln ORDER BY kiln_id")]
    finally:
        db.close()


@pytest.mark.parametrize("ends", [("",), ("", "-wal", "-shm")], ids=["the file", "all that lies beside it, too"])
def test_a_deleted_record_is_written_anew_with_all_that_was_kept(journal, path, ends):
    journal.write([adding("before")])
    for end in ends:
        path.with_name(path.name + end).unlink()
    assert journal.write([adding("after")])
    assert names(path) == ["before", "after"]
    (told,) = journal.trouble
    assert told.startswith(f"Storage: the file {path} was deleted while Lehrling ran. It was written anew")
    assert journal.write([adding("later")])
    journal.close()
    assert names(path) == ["before", "after", "later"]
    assert not path.with_name("lehrling.db.anew").exists()


def test_it_is_found_though_nothing_is_to_be_written(journal, path):
    journal.write([adding("before")])
    path.unlink()
    assert journal.flush()
    assert names(path) == ["before"]


def test_where_it_cannot_be_written_anew_everything_waits_and_is_not_lost(journal, path, monkeypatch):
    journal.write([adding("before")])
    path.unlink()

    def full(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr("daemon.store.safety.deleted.flush", full)
        assert not journal.write([adding("after")])
        assert journal.waiting == 1
        assert "No space left on device" in journal.trouble[0]
    assert journal.flush()
    assert names(path) == ["before", "after"]


def test_another_file_in_its_place_is_told_and_once_it_is_moved_away_the_record_is_there_again(journal, path):
    journal.write([adding("before")])
    other = path.with_name("other.db")
    sqlite3.connect(other).execute("CREATE TABLE kiln (name TEXT)").connection.close()
    os.replace(other, path)
    assert journal.write([adding("meanwhile")])
    (told,) = journal.trouble
    assert told.startswith(f"Storage: another file stands at {path}.")
    os.replace(path, other)
    assert journal.flush()
    assert names(path) == ["before", "meanwhile"]


def test_a_disk_that_was_taken_out_from_under_the_record_gets_no_second_one(journal, path, monkeypatch):
    journal.write([adding("before")])
    there = path.parent.with_name("the disk that was there")
    os.rename(path.parent, there)
    assert journal.flush()  # no folder, so nowhere to write it
    assert not path.parent.exists()
    os.rename(there, path.parent)
    assert journal.trouble == []
