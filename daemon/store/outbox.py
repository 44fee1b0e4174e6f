"""Messages waiting to be sent, and the marks of what was sent; delivery alone writes these marks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple

import sqlite_utils

from daemon.store.database import transaction
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
    alert_id: int
    change: str
    rank: str


GIVEN_UP = "given up: "
"""How the error of a message begins that is not tried any more."""

_PENDING = """
SELECT o.outbox_id, o.channel, o.title, o.body, o.created_utc, coalesce(d.tries, 0), d.next_try_utc,
       t.alert_id, t.change, t.rank
FROM outbox AS o
JOIN transition AS t USING (transition_id)
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
