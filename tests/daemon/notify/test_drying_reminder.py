"""A piece that dries is reminded of once, when it is due, however often the daemon starts; and told as was chosen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest

from daemon.notify.alert_messages import Channel
from daemon.notify.drying_reminder import tell_dry
from daemon.notify.milestone_choice import as_chosen, choose, chosen
from daemon.notify.other_messages import Post
from daemon.store import outbox, pieces
from daemon.store.database import create_database
from daemon.store.own_facts import put_setting

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@dataclass
class Wall:
    now: datetime = NOON

    def utc(self):
        return self.now


@pytest.fixture
def studio(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    piece = pieces.add_piece(db, name="Reed dish", glass="90", thickness_mm=6.0, layers="", now_utc=NOON)
    pieces.set_drying(db, piece, NOON, NOON + timedelta(hours=8))
    yield tmp_path / "lehrling.db", db, piece, Wall(), Post((Channel("phone", tmp_path / "phone.url"),))
    db.close()


def waiting(db):
    return [(letter.title, letter.rank) for letter in outbox.unsent(db)]


def test_it_is_told_once_when_it_is_due(studio):
    path, db, _, wall, post = studio
    for minutes, told in ((479, 0), (480, 1), (482, 1), (600, 1)):
        wall.now = NOON + timedelta(minutes=minutes)
        tell_dry(path, post, wall)
        assert len(waiting(db)) == told, minutes
    [(title, body)] = db.execute("SELECT title, body FROM outbox").fetchall()
    assert title.startswith("Reed dish has dried as long as it was to")
    assert "Feel whether it is dry" in body


def test_a_piece_that_dries_again_is_told_again(studio):
    path, db, piece, wall, post = studio
    wall.now = NOON + timedelta(hours=9)
    tell_dry(path, post, wall)
    pieces.set_drying(db, piece, wall.now, wall.now + timedelta(hours=2))
    wall.now += timedelta(hours=2, minutes=1)
    assert tell_dry(path, post, wall) == 1


def test_what_was_dry_long_ago_is_not_told_of_any_more(studio):
    path, db, _, wall, post = studio
    wall.now = NOON + timedelta(days=3)
    assert tell_dry(path, post, wall) == 0
    assert waiting(db) == []


def test_a_record_that_cannot_be_read_stops_nothing(tmp_path):
    assert tell_dry(tmp_path / "none.db", Post(), Wall()) == 0


def test_what_was_chosen_on_the_page_is_above_the_settings(studio):
    path, db, _, wall, post = studio
    choose(db, {"dry": "ring"})
    wall.now = NOON + timedelta(hours=8)
    tell_dry(path, post, wall)
    assert [rank for _, rank in waiting(db)] == ["wake"]
    choose(db, {"dry": "no"})
    told = as_chosen(Post(post.channels, {"dry": "quiet", "call": "no"}), db)
    assert told.milestones == {"dry": "no", "call": "no"}


@pytest.mark.parametrize("kept", ["", "nonsense", "[1]", '{"dry": "loud", "gong": "ring", "call": 3}'])
def test_a_strange_choice_is_no_choice(studio, kept):
    _, db, *_ = studio
    put_setting(db, "tell", kept)
    assert chosen(db) == {}
