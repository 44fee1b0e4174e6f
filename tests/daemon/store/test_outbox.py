import sqlite3
from datetime import UTC, datetime

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.notify.alert_messages import OutboxRow
from daemon.store import alerts, kilns, outbox
from daemon.store.database import create_database
from daemon.store.firings import open_firing

NIGHT = datetime(2026, 11, 25, 2, 10, tzinfo=UTC)


@pytest.fixture
def db(tmp_path):
    made = create_database(tmp_path / "lehrling.db")
    kiln = kilns.kiln_id(made, "bench")
    firing_id = open_firing(
        made, kiln_id=kiln, probe_id=kilns.probe_id(made, kiln, "bench", "K"), title="x", opened_by="maker",
        started_utc=NIGHT, boot_id="boot", clock_s=0.0)
    alert = Alert(no=1, kind="not-cooling", rank=Rank.WAKE, since_s=0.0, raised_s=0.0, text=Text("", "", ""))
    alerts.record(made, firing_id, AlertChanged(0.0, "woke", alert), NIGHT,
                  [OutboxRow("phone", "one", "b"), OutboxRow("mail", "two", "b"), OutboxRow("phone", "three", "b")])
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
