"""What a link of the chain is of: rows of the record as plain values, without the numbers that a record gives.

``firing``, ``parts`` and ``alert`` are the state they are in; a later link of the same kind and number stands. Of the
others each row is kept once and never changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from math import inf
from typing import Any

import sqlite_utils

ADOPTED = "adopted"
"""The first link of a firing that was there before there were chains; its number is when, as Unix time [s]."""
FIRING = "firing"
READINGS = "readings"
PARTS = "parts"
ALERT = "alert"
TOLD = "told"
SAID = "said"
NOTE = "note"
JUDGEMENT = "judgement"
STATES = frozenset({FIRING, PARTS, ALERT})
"""Kinds of which the latest link stands."""
BLOCK_S = 600
"""Readings of so long make one link [s]. [chosen: ten minutes, so that a change is placed about as closely as a
firing has parts]"""
_ONE_BY_ONE = {
    SAID: "SELECT t_s, what, alert_no, for_s, temp_c FROM said WHERE firing_id = ? ORDER BY said_id",
    NOTE: "SELECT wall_utc, text FROM note WHERE firing_id = ? ORDER BY note_id",
    JUDGEMENT: "SELECT wall_utc, version, told FROM judgement WHERE firing_id = ? ORDER BY judgement_id",
    TOLD: "SELECT alert.no AS alert_no, t.t_s, t.wall_utc, t.change, t.kind, t.rank, t.what"
          " FROM transition AS t JOIN alert USING (alert_id) WHERE firing_id = ? ORDER BY transition_id",
}
_COUNTS = {
    SAID: "SELECT count(*) FROM said WHERE firing_id = ?",
    NOTE: "SELECT count(*) FROM note WHERE firing_id = ?",
    JUDGEMENT: "SELECT count(*) FROM judgement WHERE firing_id = ?",
    TOLD: "SELECT count(*) FROM transition JOIN alert USING (alert_id) WHERE firing_id = ?",
}
NUMBERED = tuple(_ONE_BY_ONE)
"""Kinds whose links are numbered from 1 in the order in which their rows were kept."""


def firing(db: sqlite_utils.Database, firing_id: int) -> dict[str, Any] | None:
    """Return the facts of a firing: when it was, in which way it ended, by which plan and load; None without one.

    Of the plan its text is hashed, since it is long and changes for no firing. The kiln's name is not among them: an
    owner may call the kiln by another one.
    """
    row = next(iter(db.query(
        "SELECT f.title, opened_by, started_utc, start_boot_id, start_clock_s, speed, glass, thickness_mm, faces,"
        " offset_c, ended_s, ended_utc, ended_by, highest_128, alert_base, invented,"
        " plan.toml AS plan_sha256, probe.name AS probe, probe.thermocouple_type FROM firing AS f"
        " LEFT JOIN plan USING (plan_id) LEFT JOIN probe USING (probe_id) WHERE f.firing_id = ?", [firing_id])), None)
    if row is not None and row["plan_sha256"] is not None:
        row["plan_sha256"] = sha256(row["plan_sha256"].encode(errors="surrogateescape")).hexdigest()
    return row


def block_of(row: list[int | None]) -> int:
    """Return which block of ten minutes a reading belongs to."""
    return (row[0] or 0) // BLOCK_S


def readings(db: sqlite_utils.Database, firing_id: int, from_s: int | None = None,
             before_s: int | None = None) -> Iterator[list[int | None]]:
    """Yield readings in order: second, 1/128 °C, how far below and above, fault; null where there is nothing."""
    for row in db.execute(
            "SELECT t_s, temp_128, below_128, above_128, fault FROM reading WHERE firing_id = ? AND t_s >= ?"
            " AND t_s < ? ORDER BY t_s",
            [firing_id, -inf if from_s is None else from_s, inf if before_s is None else before_s]):
        yield list(row)


def parts(db: sqlite_utils.Database, firing_id: int) -> list[dict[str, Any]]:
    """Return the parts of a firing in order."""
    return list(db.query("SELECT part_index, step, part, start_s, end_s, rate_c_per_h, mean_c FROM part"
                         " WHERE firing_id = ? ORDER BY seq", [firing_id]))


def alert(db: sqlite_utils.Database, firing_id: int, no: int) -> dict[str, Any] | None:
    """Return an alert as it stands; None where there is none of that number."""
    return next(iter(db.query(
        "SELECT no, kind, rank, since_s, raised_s, woke_s, cleared_s, acknowledged_s, step, under,"
        " named, what, meaning, advice, time_left_s, pieces FROM alert WHERE firing_id = ? AND no = ?",
        [firing_id, no])), None)


def alert_numbers(db: sqlite_utils.Database, firing_id: int) -> list[int]:
    """Return the numbers of a firing's alerts in order."""
    return [no for (no,) in db.execute("SELECT no FROM alert WHERE firing_id = ? ORDER BY no", [firing_id])]


def numbered(db: sqlite_utils.Database, firing_id: int, kind: str) -> Iterator[dict[str, Any]]:
    """Yield the rows of a numbered kind in the order in which they were kept."""
    yield from db.query(_ONE_BY_ONE[kind], [firing_id])


def count(db: sqlite_utils.Database, firing_id: int, kind: str) -> int:
    """Return how many rows of a numbered kind a firing has."""
    return int(db.execute(_COUNTS[kind], [firing_id]).fetchone()[0])


def one(db: sqlite_utils.Database, firing_id: int, kind: str, ref: int) -> Any:
    """Return the content of one link, as it is kept now; None where it is not there. Readings come by block."""
    if kind == FIRING:
        return firing(db, firing_id)
    if kind == PARTS:
        return parts(db, firing_id)
    if kind == ALERT:
        return alert(db, firing_id, ref)
    if kind == READINGS:
        return list(readings(db, firing_id, ref * BLOCK_S, (ref + 1) * BLOCK_S))
    return next(iter(db.query(f"{_ONE_BY_ONE[kind]} LIMIT 1 OFFSET ?", [firing_id, ref - 1])), None)


def present(db: sqlite_utils.Database, firing_id: int) -> list[tuple[str, int]]:
    """Return kind and number of all that is kept of a firing beside its facts and its readings."""
    found = [(PARTS, 0)]
    found += [(ALERT, no) for no in alert_numbers(db, firing_id)]
    return found + [(kind, ref) for kind in NUMBERED for ref in range(1, count(db, firing_id, kind) + 1)]
