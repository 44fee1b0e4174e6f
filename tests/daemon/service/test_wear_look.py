"""After a firing the kiln is looked at: what changed is kept for the page, and told once until parts are changed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace

import pytest

from daemon.firing.events import Rank
from daemon.kiln.wear.shown import Shown
from daemon.notify.alert_messages import Channel
from daemon.notify.other_messages import Post
from daemon.service import wear_look
from daemon.store import kilns, outbox
from daemon.store.database import create_database
from daemon.store.wear import part_changes, told_wear

NOW = datetime(2026, 6, 2, 12, 0, tzinfo=UTC)
KILN = "small kiln"
DAYS = [date(2026, 1, 5) + timedelta(days=8 * n) for n in range(13)]
WEAKER = [Shown(0.0 if n < 8 else -0.12, 0.0, 0.0, 800.0, -1.0) for n in range(13)]


class Wall:
    def utc(self):
        return NOW


@dataclass
class Box:
    """A record whose kiln has fired so often, and shown this."""

    db: object
    look: object
    firings: int = 8


@pytest.fixture
def box(tmp_path, monkeypatch):
    record = tmp_path / "lehrling.db"
    db = create_database(record)
    kilns.kiln_id(db, KILN)
    post = Post((Channel("phone", tmp_path / "p.url"), Channel("alarm", tmp_path / "a.url", (Rank.WAKE,))))
    made = Box(db, lambda: wear_look.look_at_wear(record, KILN, post, Wall(), UTC, "C"))
    monkeypatch.setattr(wear_look.firings, "latest_of_kiln",
                        lambda *_: [SimpleNamespace(firing_id=n) for n in range(made.firings)])
    monkeypatch.setattr(wear_look, "dated_firings", lambda *_: [(day, None) for day in DAYS[:made.firings]])
    monkeypatch.setattr(wear_look, "shown", lambda _: WEAKER[:made.firings])
    yield made
    db.close()


def waiting(box):
    return [(message.channel, message.title, message.rank) for message in outbox.unsent(box.db)]


def kept(box):
    return told_wear.of_kiln(box.db, kilns.find(box.db, KILN))


def test_a_sound_kiln_is_told_nothing_and_not_looked_at_twice(box):
    assert box.look()
    assert not box.look()
    assert (kept(box).lines, kept(box).has_changed, waiting(box)) == ([], False, [])


def test_a_change_is_told_once_as_a_look_and_stands_on_the_page(box):
    for box.firings in (8, 11, 12, 13):
        box.look()
    assert [(channel, rank) for channel, _, rank in waiting(box)] == [("phone", "look")]
    assert waiting(box)[0][1] == "small kiln: its elements give less power"
    assert kept(box).has_changed
    assert "licensed person" in " ".join(kept(box).lines)


def test_after_new_parts_a_change_is_told_again(box):
    box.firings = 13
    box.look()
    part_changes.add_change(box.db, kilns.find(box.db, KILN), "elements", date(2026, 6, 1), "", NOW)
    assert box.look()
    assert len(waiting(box)) == 2


def test_a_record_that_can_not_be_read_is_no_fault_of_the_watch(tmp_path):
    assert not wear_look.look_at_wear(tmp_path / "none.db", KILN, Post(()), Wall(), UTC, "C")
