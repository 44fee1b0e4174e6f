"""The outbox in a record that is locked, missing or half made."""

import logging
import sqlite3

import pytest

from daemon.delivery.stored_outbox import LOCKED_WAIT_S, StoredBox, open_outbox
from daemon.store.database import NoDatabase, open_database
from daemon.store.outbox import Mark
from tests.daemon.delivery.conftest import NIGHT


@pytest.fixture
def box(house):
    """Return the outbox of a record with a message in it."""
    house.write("one")
    db = open_outbox(house.path)
    yield StoredBox(db)
    db.close()


def test_while_another_writes_nothing_is_marked_and_afterwards_it_is(house, box, caplog):
    (message,) = box.pending("phone")
    sent = [Mark(message.outbox_id, 1, sent_utc=NIGHT)]
    other = open_database(house.path)
    other.execute("BEGIN IMMEDIATE")
    assert not box.mark(sent)
    assert not box.mark(sent)
    assert [record.levelno for record in caplog.records] == [logging.WARNING]  # said once
    assert [one.outbox_id for one in box.pending("phone")] == [message.outbox_id]
    other.execute("ROLLBACK")
    other.close()
    assert box.mark(sent)
    assert house.deliveries()[message.outbox_id]["sent_utc"]


def test_a_locked_record_is_waited_for_no_longer_than_said(house, box):
    # A round waits once for each channel: with SQLite's usual 5 s, a dozen would keep it past systemd's minute.
    assert box.db.execute("PRAGMA busy_timeout").fetchone()[0] == 1000 * LOCKED_WAIT_S


def test_what_cannot_be_read_now_is_not_taken_for_nothing(box):
    box.db.close()
    with pytest.raises(sqlite3.ProgrammingError):
        box.db.execute("SELECT 1")
    assert box.pending("phone") is None


@pytest.mark.parametrize(("content", "told"), [
    (None, "no such database"), (b"", "has not all its tables yet"), (b"no record at all, and long " * 9, "can't be"),
])
def test_what_is_no_record_yet_is_told_in_words(tmp_path, content, told):
    path = tmp_path / "lehrling.db"
    if content is not None:
        path.write_bytes(content)
    found = open_outbox(path)
    assert isinstance(found, NoDatabase)
    assert told in found.text
