"""What the page asks of the daemon: each asked once, taken once, with an outcome."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import sqlite_utils

from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp

KINDS = ("start", "end", "acknowledge", "quiet", "said", "name", "delete", "take-back", "keyed-in")


@dataclass(frozen=True, slots=True)
class Request:
    """One request; ``outcome`` is None until the daemon took it."""

    request_id: int
    kind: str
    payload: Mapping[str, Any]
    wall_utc: datetime
    expires_utc: datetime
    taken_utc: datetime | None = None
    outcome: str | None = None


def put(db: sqlite_utils.Database, kind: str, payload: Mapping[str, Any], now_utc: datetime,
        ttl_s: float) -> int:
    """Keep a request for the daemon's next tick and return its id; after ``ttl_s`` it is not taken."""
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is no kind of request; known: {', '.join(KINDS)}")
    return insert(db, "request", {
        "kind": kind, "payload": json.dumps(dict(payload)), "wall_utc": stamp(now_utc),
        "expires_utc": stamp(now_utc + timedelta(seconds=ttl_s)),
    })


def put_once(db: sqlite_utils.Database, kind: str, payload: Mapping[str, Any], now_utc: datetime, ttl_s: float,
             token: str) -> tuple[int, bool]:
    """Keep a request as ``put`` does, unless one with the same ``token`` was kept already.

    Returns
    -------
    tuple
        The id of the request with this token, and whether it was kept just now.
    """
    with transaction(db):
        for (request_id,) in db.execute("SELECT request_id FROM request WHERE token = ?", [token]):
            return int(request_id), False
        request_id = put(db, kind, payload, now_utc, ttl_s)
        db.execute("UPDATE request SET token = ? WHERE request_id = ?", [token, request_id])
    return request_id, True


def pending(db: sqlite_utils.Database) -> list[Request]:
    """Return the requests that were not taken yet, in the order they were asked, expired ones too."""
    return [_request(row) for row in db.query(
        "SELECT * FROM request WHERE taken_utc IS NULL ORDER BY request_id")]


def request(db: sqlite_utils.Database, request_id: int) -> Request | None:
    """Return a request by its id, for its outcome; None where there is none."""
    for row in db.query("SELECT * FROM request WHERE request_id = ?", [request_id]):
        return _request(row)
    return None


def of_token(db: sqlite_utils.Database, token: str) -> Request | None:
    """Return the request that was kept with a token; None where there is none."""
    for row in db.query("SELECT * FROM request WHERE token = ?", [token]):
        return _request(row)
    return None


def settle(db: sqlite_utils.Database, request_id: int, outcome: str, now_utc: datetime) -> None:
    """Keep what became of a request: ``done``, ``expired`` or why not; the first outcome stays."""
    db.execute("UPDATE request SET taken_utc = ?, outcome = ? WHERE request_id = ? AND taken_utc IS NULL",
               [stamp(now_utc), outcome, request_id])


def _request(row: Mapping[str, Any]) -> Request:
    taken = row["taken_utc"]
    return Request(
        request_id=row["request_id"], kind=row["kind"], payload=json.loads(row["payload"]),
        wall_utc=moment(row["wall_utc"]), expires_utc=moment(row["expires_utc"]),
        taken_utc=None if taken is None else moment(taken), outcome=row["outcome"],
    )
