import sqlite3
from datetime import UTC, datetime

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.notify.alert_messages import OutboxRow
from daemon.store import alerts, outbox

NIGHT = datetime(2026, 11, 25, 2, 10, tzinfo=UTC)


@pytest.fixture
def db(db, open_one):
    firing_id = open_one()
    alert = Alert(no=1, kind="not-cooling", rank=Rank.WAKE, since_s=0.0, raised_s=0.0, text=Text("", "", ""))
    alerts.record(db, firing_id, AlertChanged(0.0, "woke", alert), NIGHT,
                  [OutboxRow("phone", "one", "b"), OutboxRow("mail", "two", "b"), OutboxRow("phone", "three", "b")])
    return db


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


def test_what_became_of_messages_is_found_by_number_firing_and_channel(db):
    outbox.mark(db, [outbox.Mark(1, 3, sent_utc=NIGHT, error="late")])
    first = outbox.Fate(1, "phone", "one", NIGHT, 3, NIGHT, "late", "wake")
    second = outbox.Fate(2, "mail", "two", NIGHT, 0, None, "", "wake")
    third = outbox.Fate(3, "phone", "three", NIGHT, 0, None, "", "wake")
    assert outbox.fates(db, [3, 1]) == [first, third]
    assert outbox.fates(db, []) == []
    assert outbox.of_firing(db, 1) == [first, second, third]
    assert outbox.of_firing(db, 2) == []
    assert (outbox.last_fate(db, "phone"), outbox.last_fate(db, "mail")) == (third, second)
    assert outbox.last_fate(db, "none") is None


def test_what_no_alert_asked_for_waits_as_well(db):
    letters = [outbox.Letter("phone", "Test", "It works.", "test"),
               outbox.Letter("phone", "Waking", "It woke.", "awake", "wake")]
    assert outbox.post(db, letters, NIGHT) == [4, 5]
    found = outbox.pending(db, "phone")[2:]
    assert [(m.title, m.body, m.alert_id, m.change, m.rank) for m in found] == [
        ("Test", "It works.", None, "test", "look"), ("Waking", "It woke.", None, "awake", "wake")]
    assert outbox.of_firing(db, 1)[-1].outbox_id == 3, "they are about no firing"
    assert outbox.last_fate(db, "phone").rank == "wake"


def test_a_letter_that_cannot_be_kept_takes_the_others_with_it(db):
    good, bad = outbox.Letter("phone", "Test", "a", "test"), outbox.Letter("phone", None, "b", "test")
    with pytest.raises(sqlite3.IntegrityError):
        outbox.post(db, [good, bad], NIGHT)
    assert len(outbox.pending(db, "phone")) == 2


def test_what_is_unsent_is_what_still_waits_of_the_newest(db):
    outbox.mark(db, [outbox.Mark(1, 1, sent_utc=NIGHT), outbox.Mark(2, 9, error=outbox.GIVEN_UP + "no connection")])
    assert [fate.outbox_id for fate in outbox.unsent(db)] == [3]
    letter = outbox.Letter("phone", "Test", "It works.", "test")
    outbox.post(db, [letter] * 499, NIGHT)
    assert outbox.unsent(db)[0].outbox_id == 3
    outbox.post(db, [letter], NIGHT)
    assert [len(outbox.unsent(db)), outbox.unsent(db)[0].outbox_id] == [500, 4]


def test_messages_for_a_channel_that_is_not_configured_are_counted(db):
    assert outbox.waiting_elsewhere(db, ["mail"]) == {"phone": 2}
    assert outbox.waiting_elsewhere(db, []) == {"mail": 1, "phone": 2}
