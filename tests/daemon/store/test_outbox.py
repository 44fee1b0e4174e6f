import sqlite3
from datetime import UTC, datetime

import pytest

from daemon.store import outbox
from daemon.store.database import create_database

NIGHT = datetime(2026, 11, 25, 2, 10, tzinfo=UTC)


@pytest.fixture
def db(tmp_path):
    made = create_database(tmp_path / "lehrling.db")
    made.conn.executescript("""
        INSERT INTO kiln VALUES (1, 'bench');
        INSERT INTO probe VALUES (1, 1, 'bench', 'K');
        INSERT INTO firing (firing_id, kiln_id, probe_id, title, opened_by, started_utc, start_boot_id,
            start_clock_s, glass, thickness_mm) VALUES (1, 1, 1, 'x', 'maker', '', '', 0, '90', 6);
        INSERT INTO alert (alert_id, firing_id, no, kind, rank, since_s, raised_s, what, meaning, advice)
            VALUES (1, 1, 1, 'not-cooling', 'wake', 0, 0, '', '', '');
        INSERT INTO transition VALUES (1, 1, 0, '', 'woke', 'not-cooling', 'wake', '');
        INSERT INTO outbox VALUES
            (1, 1, 'phone', 'one', 'b', '2026-11-25T02:10:00Z'),
            (2, 1, 'mail', 'two', 'b', '2026-11-25T02:10:00.250Z'),
            (3, 1, 'phone', 'three', 'b', '2026-11-25T02:10:00+00:00');
    """)
    made.conn.commit()
    yield made
    made.close()


def test_pending_is_what_waits_for_the_channel_oldest_first(db):
    first, third = outbox.pending(db, "phone")
    assert (first.outbox_id, third.outbox_id) == (1, 3)
    assert (first.title, first.created_utc, first.tries) == ("one", NIGHT, 0)
    assert (first.rank, first.change, first.alert_id) == ("wake", "woke", 1)


def test_sent_and_given_up_wait_no_longer_and_failed_does(db):
    outbox.mark(db, [outbox.Mark(1, 1, sent_utc=NIGHT)])
    outbox.mark(db, [outbox.Mark(2, 1500, error=outbox.GIVEN_UP + "no connection")])
    outbox.mark(db, [outbox.Mark(3, 2, next_try_utc=NIGHT, error="no connection")])
    assert outbox.pending(db, "mail") == []
    waiting = outbox.pending(db, "phone")
    assert [(m.outbox_id, m.tries, m.next_try_utc) for m in waiting] == [(3, 2, NIGHT)]


def test_marks_come_all_or_none(db):
    with pytest.raises(sqlite3.IntegrityError):
        outbox.mark(db, [outbox.Mark(1, 1, sent_utc=NIGHT), outbox.Mark(99, 1)])
    assert len(outbox.pending(db, "phone")) == 2


def test_messages_for_a_channel_that_is_not_configured_are_counted(db):
    assert outbox.waiting_elsewhere(db, ["mail"]) == {"phone": 2}
    assert outbox.waiting_elsewhere(db, []) == {"mail": 1, "phone": 2}
