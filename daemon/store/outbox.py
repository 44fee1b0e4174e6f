"""Messages waiting to be sent, and the marks of what was sent; delivery alone writes these marks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal, NamedTuple

import sqlite_utils

from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp


class Pending(NamedTuple):
    """One message of the outbox that no channel has taken yet."""

    outbox_id: int
    channel: str
    title: str
    body: str
    created_utc: datetime
    tries: int
    next_try_utc: datetime | None
    alert_id: int | None
    """The alert it is about; None where it is about none."""
    change: str
    """The step of the alert's life, or what else it is about."""
    rank: str


About = Literal["milestone", "test", "awake", "back"]
"""What a message is about that no alert asked for."""


class Letter(NamedTuple):
    """A message that no alert asked for."""

    channel: str
    title: str
    body: str
    about: About
    rank: Literal["look", "wake"] = "look"


GIVEN_UP = "given up: "
"""How the error of a message begins that is not tried any more."""

_PENDING = """
SELECT o.outbox_id, o.channel, o.title, o.body, o.created_utc, coalesce(d.tries, 0), d.next_try_utc,
       t.alert_id, coalesce(t.change, o.about), coalesce(t.rank, o.rank)
FROM outbox AS o
LEFT JOIN transition AS t USING (transition_id)
LEFT JOIN delivery AS d USING (outbox_id)
WHERE o.channel = ? AND d.sent_utc IS NULL AND coalesce(d.error, '') NOT LIKE 'given up: %'
ORDER BY o.outbox_id
"""

_MARK = """
INSERT INTO delivery (outbox_id, tries, next_try_utc, sent_utc, error) VALUES (?, ?, ?, ?, ?)
ON CONFLICT (outbox_id) DO UPDATE SET
    tries = excluded.tries, next_try_utc = excluded.next_try_utc,
    sent_utc = excluded.sent_utc, error = excluded.error
"""


class Mark(NamedTuple):
    """What became of one message, as the table ``delivery`` keeps it."""

    outbox_id: int
    tries: int
    next_try_utc: datetime | None = None
    sent_utc: datetime | None = None
    error: str = ""


def pending(db: sqlite_utils.Database, channel: str) -> list[Pending]:
    """Return what waits for ``channel``, oldest first."""
    return [_pending(row) for row in db.execute(_PENDING, [channel]).fetchall()]


def mark(db: sqlite_utils.Database, marks: Sequence[Mark]) -> None:
    """Store what became of messages, all of them or none."""
    with transaction(db):
        for m in marks:
            db.execute(_MARK, [m.outbox_id, m.tries, m.next_try_utc and stamp(m.next_try_utc),
                               m.sent_utc and stamp(m.sent_utc), m.error])


def post(db: sqlite_utils.Database, letters: Sequence[Letter], created_utc: datetime) -> list[int]:
    """Put messages that no alert asked for into the outbox and return their numbers."""
    with transaction(db):
        return [insert(db, "outbox", {
            "channel": letter.channel, "title": letter.title, "body": letter.body, "created_utc": stamp(created_utc),
            "about": letter.about, "rank": letter.rank}) for letter in letters]


class Fate(NamedTuple):
    """What became of a message so far."""

    outbox_id: int
    channel: str
    title: str
    created_utc: datetime
    tries: int
    sent_utc: datetime | None
    error: str
    rank: str


_FATES = """
SELECT o.outbox_id, o.channel, o.title, o.created_utc, coalesce(d.tries, 0), d.sent_utc, coalesce(d.error, ''),
       coalesce(t.rank, o.rank)
FROM outbox AS o LEFT JOIN delivery AS d USING (outbox_id) LEFT JOIN transition AS t USING (transition_id)
"""
_NEWEST = 500
"""A look at what waits goes back so many messages; delivery itself looks at all. [chosen: bounds the work of a
page]"""


def fates(db: sqlite_utils.Database, numbers: Sequence[int]) -> list[Fate]:
    """Return what became of messages by their numbers, in that order of writing."""
    marks = ", ".join("?" for _ in numbers)
    return [_fate(row) for row in db.execute(
        _FATES + f" WHERE o.outbox_id IN ({marks}) ORDER BY o.outbox_id", list(numbers))]


def of_firing(db: sqlite_utils.Database, firing_id: int) -> list[Fate]:
    """Return the messages about a firing's alerts, oldest first."""
    return [_fate(row) for row in db.execute(
        _FATES + " JOIN alert AS a USING (alert_id) WHERE a.firing_id = ? ORDER BY o.outbox_id", [firing_id])]


def last_fate(db: sqlite_utils.Database, channel: str) -> Fate | None:
    """Return what became of the newest message of ``channel``; None where there was none."""
    row = db.execute(_FATES + " WHERE o.channel = ? ORDER BY o.outbox_id DESC LIMIT 1", [channel]).fetchone()
    return None if row is None else _fate(row)


def unsent(db: sqlite_utils.Database) -> list[Fate]:
    """Return the newer messages that still wait, oldest first."""
    return [_fate(row) for row in db.execute(
        _FATES + " WHERE o.outbox_id > (SELECT max(outbox_id) FROM outbox) - ? AND d.sent_utc IS NULL"
        " AND coalesce(d.error, '') NOT LIKE 'given up: %' ORDER BY o.outbox_id", [_NEWEST])]


def _fate(row: Sequence[Any]) -> Fate:
    number, channel, title, created, tries, sent, error, rank = row
    return Fate(number, channel, title, moment(created), tries, moment(sent) if sent else None, error, rank)


def waiting_elsewhere(db: sqlite_utils.Database, channels: Sequence[str]) -> dict[str, int]:
    """Return how many messages wait for each channel that is none of ``channels``."""
    marks = ", ".join("?" for _ in channels)
    rows = db.execute(
        "SELECT o.channel, count(*) FROM outbox AS o LEFT JOIN delivery AS d USING (outbox_id)"
        f" WHERE d.sent_utc IS NULL AND o.channel NOT IN ({marks}) GROUP BY o.channel", list(channels))
    return dict(rows.fetchall())


def _pending(row: Sequence[Any]) -> Pending:
    outbox_id, channel, title, body, created, tries, next_try, alert_id, change, rank = row
    return Pending(outbox_id, channel, title, body, moment(created), tries,
                   moment(next_try) if next_try else None, alert_id, change, rank)
