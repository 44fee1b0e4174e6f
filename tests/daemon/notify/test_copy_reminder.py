"""That no copy was taken elsewhere for long is told once, as what can wait; never where the owner set no place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Rank
from daemon.notify.alert_messages import Channel
from daemon.notify.copy_reminder import tell_old_copy
from daemon.notify.other_messages import Post
from daemon.store import outbox
from daemon.store.database import create_database
from daemon.store.safety import elsewhere
from daemon.store.stamps import stamp

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
STICK = ["usb:KILN"]


@dataclass
class Wall:
    now: datetime = NOON
    is_set: bool = True

    def utc(self):
        return self.now

    def synchronised(self):
        return self.is_set


@pytest.fixture
def box(tmp_path):
    """Return the record's path, its database and a wall clock."""
    db = create_database(tmp_path / "lehrling.db")
    yield tmp_path / "lehrling.db", db, Wall()
    db.close()


def taken(record, utc):
    elsewhere.keep(record.parent, "usb:KILN", elsewhere.Known("the stick KILN", "x.db", stamp(utc)))


def told(box, places=STICK, days=0.0):
    record, _, wall = box
    wall.now = NOON + timedelta(days=days)
    channels = (Channel("phone", record.parent / "p.url"), Channel("alarm", record.parent / "a.url", (Rank.WAKE,)))
    return tell_old_copy(record, places, Post(channels), wall)


def waiting(box):
    return [(message.channel, message.title, message.rank) for message in outbox.unsent(box[1])]


def test_it_is_told_once_and_stands_on_the_page_until_a_new_copy_is_taken(box):
    taken(box[0], NOON)
    assert told(box, days=8.0) == ""
    for days in (8.1, 9.2, 30.0):
        assert told(box, days=days).startswith(f"Newest copy elsewhere: {int(days)} days ago, on the stick KILN. “Ch")
    assert waiting(box) == [("phone", "Newest copy elsewhere: 8 days ago, on the stick KILN", "look")]
    taken(box[0], NOON + timedelta(days=30))
    assert told(box, days=31.0) == ""
    told(box, days=39.0)
    assert len(waiting(box)) == 2


def test_without_a_place_nothing_is_told(box):
    assert told(box, places=[], days=400.0) == ""
    assert waiting(box) == []


def test_where_no_copy_was_ever_taken_it_is_told_after_as_long(box):
    assert told(box) == ""
    assert told(box, days=8.0) == ""
    assert told(box, days=9.0).startswith("No copy of the record was taken elsewhere yet")
    assert len(waiting(box)) == 1


def test_a_clock_that_nothing_set_makes_no_copy_old(box):
    taken(box[0], NOON)
    box[2].is_set = False
    assert told(box, days=9000.0) == ""


def test_another_place_gets_its_own_time(box):
    told(box)
    assert told(box, places=["usb:NEW"], days=20.0) == ""
    assert told(box, places=["usb:NEW"], days=29.0).startswith("No copy")


def test_a_place_that_was_taken_out_of_the_settings_is_no_copy(box):
    taken(box[0], NOON)
    told(box, places=["usb:OTHER"])
    assert told(box, places=["usb:OTHER"], days=9.0).startswith("No copy")
