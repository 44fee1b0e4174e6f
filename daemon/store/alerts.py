"""Alerts and every step of their lives, stored with the messages they ask for before any is sent."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple, Protocol

import sqlite_utils

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.firing.text_json import pieces_json, text_of
from daemon.store.chain import contents, links
from daemon.store.chain.contents import ALERT, TOLD
from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp


class Message(Protocol):
    """The message for a channel (daemon.notify.alert_messages writes these)."""

    @property
    def channel(self) -> str:
        """Return the channel's name."""

    @property
    def title(self) -> str:
        """Return the line for a lock screen."""

    @property
    def body(self) -> str:
        """Return the whole text."""


class Transition(NamedTuple):
    """One step of an alert's life, as it stood then."""

    transition_id: int
    no: int
    t_s: float
    wall_utc: datetime
    change: str
    kind: str
    rank: Rank
    what: str


_ALERT = """
INSERT INTO alert (firing_id, no, kind, rank, since_s, raised_s, woke_s, cleared_s, acknowledged_s, step,
                   under, named, what, meaning, advice, time_left_s, pieces)
VALUES (:firing_id, :no, :kind, :rank, :since_s, :raised_s, :woke_s, :cleared_s, :acknowledged_s, :step,
        :under, :named, :what, :meaning, :advice, :time_left_s, :pieces)
ON CONFLICT (firing_id, no) DO UPDATE SET
    kind = excluded.kind, rank = excluded.rank, since_s = excluded.since_s, raised_s = excluded.raised_s,
    woke_s = excluded.woke_s, cleared_s = excluded.cleared_s, acknowledged_s = excluded.acknowledged_s,
    step = excluded.step, under = excluded.under, named = excluded.named, what = excluded.what,
    meaning = excluded.meaning, advice = excluded.advice, time_left_s = excluded.time_left_s,
    pieces = excluded.pieces
RETURNING alert_id
"""
_LIFE = """
UPDATE alert SET acknowledged_s = :acknowledged_s, cleared_s = :cleared_s WHERE firing_id = :firing_id AND no = :no
RETURNING alert_id
"""
"""A re-sound changes none of the words that woke: what it said stands with its own step."""


def record(db: sqlite_utils.Database, firing_id: int, change: AlertChanged, wall_utc: datetime,
           outbox_rows: Iterable[Message] = ()) -> int:
    """Keep the alert as it stands now, the step it took and the messages about it, all or nothing.

    Returns
    -------
    int
        The transition's id.
    """
    alert = change.alert
    with transaction(db):
        known = db.execute(_LIFE, {
            "firing_id": firing_id, "no": alert.no, "acknowledged_s": alert.acknowledged_s,
            "cleared_s": alert.cleared_s}).fetchone() if change.change == "resounded" else None
        alert_id = known[0] if known is not None else db.execute(_ALERT, {
            "firing_id": firing_id, "no": alert.no, "kind": alert.kind, "rank": alert.rank.value,
            "since_s": alert.since_s, "raised_s": alert.raised_s, "woke_s": alert.woke_s,
            "cleared_s": alert.cleared_s, "acknowledged_s": alert.acknowledged_s, "step": alert.step,
            "under": alert.under, "named": json.dumps(alert.named), "what": alert.text.what,
            "meaning": alert.text.meaning, "advice": alert.text.do, "time_left_s": alert.text.time_left_s,
            "pieces": json.dumps(pieces_json(alert.text), ensure_ascii=False),
        }).fetchone()[0]
        transition_id = insert(db, "transition", {
            "alert_id": alert_id, "t_s": change.t_s, "wall_utc": stamp(wall_utc), "change": change.change,
            "kind": alert.kind, "rank": alert.rank.value, "what": alert.text.what,
        })
        db.table("outbox").insert_all([
            {"transition_id": transition_id, "channel": row.channel, "title": row.title, "body": row.body,
             "created_utc": stamp(wall_utc)} for row in outbox_rows])
        links.add(db, firing_id, (TOLD, contents.count(db, firing_id, TOLD)), (ALERT, alert.no))
    return transition_id


def alerts(db: sqlite_utils.Database, firing_id: int) -> list[Alert]:
    """Return the alerts of a firing with their latest state, first raised first."""
    return [
        Alert(
            no=row["no"], kind=row["kind"], rank=Rank(row["rank"]), since_s=row["since_s"],
            raised_s=row["raised_s"], woke_s=row["woke_s"], cleared_s=row["cleared_s"],
            acknowledged_s=row["acknowledged_s"], step=row["step"], under=row["under"],
            named=tuple((t_s, kind) for t_s, kind in json.loads(row["named"])),
            text=text_of(Text(row["what"], row["meaning"], row["advice"], row["time_left_s"]),
                         json.loads(row["pieces"])),
        )
        for row in db.query("SELECT * FROM alert WHERE firing_id = ? ORDER BY no", [firing_id])
    ]


def transitions(db: sqlite_utils.Database, firing_id: int) -> list[Transition]:
    """Return every step of the alerts of a firing in the order they were stored."""
    return [
        Transition(number, no, t_s, moment(wall_utc), change, kind, Rank(rank), what)
        for number, no, t_s, wall_utc, change, kind, rank, what in db.execute(
            "SELECT transition_id, no, t_s, wall_utc, change, t.kind, t.rank, t.what"
            " FROM transition AS t JOIN alert USING (alert_id) WHERE firing_id = ? ORDER BY transition_id",
            [firing_id])
    ]


class Step(NamedTuple):
    """A transition with the firing it belongs to."""

    firing_id: int
    transition: Transition


def newest_transition(db: sqlite_utils.Database) -> tuple[int, str]:
    """Return number and stamp of the transition that was stored last; 0 and an empty text where there is none."""
    found = db.execute(
        "SELECT transition_id, wall_utc FROM transition ORDER BY transition_id DESC LIMIT 1").fetchone()
    return (0, "") if found is None else (found[0], found[1])


def steps_after(db: sqlite_utils.Database, number: int, wall_utc: str, most: int) -> list[Step]:
    """Return the first ``most`` transitions that were stored after the one of this number and stamp, in order.

    A number may be given again after the newest firings were deleted, or come from another copy of the record. So
    where the transition of this number has another stamp, or is gone, those with a later stamp are meant.
    """
    known = number == 0 or db.execute(
        "SELECT 1 FROM transition WHERE transition_id = ? AND wall_utc = ?", [number, wall_utc]).fetchone()
    after, value = ("transition_id > ?", number) if known else ("t.wall_utc > ?", wall_utc)
    return [
        Step(firing_id, Transition(step, no, t_s, moment(at), change, kind, Rank(rank), what))
        for firing_id, step, no, t_s, at, change, kind, rank, what in db.execute(
            "SELECT firing_id, transition_id, no, t_s, t.wall_utc, change, t.kind, t.rank, t.what"
            f" FROM transition AS t JOIN alert USING (alert_id) WHERE {after} ORDER BY transition_id LIMIT ?",
            [value, most])
    ]
