"""What a link of the chain is of: rows of the record as plain values, without the numbers that a record gives.

``firing``, ``parts``, ``milestones``, ``alert``, ``gap``, ``clock`` and ``meter`` are the state they are in; a later
link of the same kind and number stands. Of the others each row is kept once and never changed.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from hashlib import sha256
from math import inf
from typing import Any

import sqlite_utils

from daemon.store.chain import source_file

ADOPTED = "adopted"
"""The first link of a firing that was there before there were chains; its number is when, as Unix time [s]."""
JOINED = "joined"
"""The link from which on the kinds of ``JOINING`` are chained too; its number is 0 where they were from the first
reading on, else when, as Unix time [s]. A chain of an older version gets it at night."""
FIRING = "firing"
READINGS = "readings"
PARTS = "parts"
ALERT = "alert"
TOLD = "told"
SAID = "said"
NOTE = "note"
JUDGEMENT = "judgement"
OUTCOME = "outcome"
GAP = "gap"
CLOCK = "clock"
MILESTONES = "milestones"
METER = "meter"
SOURCE = "source"
JOINING = frozenset({OUTCOME, GAP, CLOCK, MILESTONES, METER, SOURCE})
"""Kinds that are chained from a ``joined`` link on."""
STATES = frozenset({FIRING, PARTS, ALERT, GAP, CLOCK, MILESTONES, METER})
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
    OUTCOME: "SELECT piece.created_utc AS piece_made_utc, words, o.place, o.note, o.wall_utc FROM outcome AS o"
             " LEFT JOIN piece USING (piece_id) WHERE firing_id = ? ORDER BY outcome_id",
}
_COUNTS = {
    SAID: "SELECT count(*) FROM said WHERE firing_id = ?",
    NOTE: "SELECT count(*) FROM note WHERE firing_id = ?",
    JUDGEMENT: "SELECT count(*) FROM judgement WHERE firing_id = ?",
    TOLD: "SELECT count(*) FROM transition JOIN alert USING (alert_id) WHERE firing_id = ?",
    OUTCOME: "SELECT count(*) FROM outcome WHERE firing_id = ?",
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
    """Yield the rows of a numbered kind in the order in which they were kept.

    An outcome names its piece by when that was written down: the number of a piece is another one in each record, and
    its name may be changed.
    """
    yield from (_row(kind, row) for row in db.query(_ONE_BY_ONE[kind], [firing_id]))


def gaps(db: sqlite_utils.Database, firing_id: int) -> list[dict[str, Any]]:
    """Return the gaps of a firing in order."""
    return list(db.query("SELECT from_s, to_s, reason FROM gap WHERE firing_id = ? ORDER BY from_s", [firing_id]))


def clock_marks(db: sqlite_utils.Database, firing_id: int) -> list[dict[str, Any]]:
    """Return what the clocks said during a firing, in order."""
    return list(db.query("SELECT t_s, wall_utc, boot_id, clock_s, synchronised FROM clock_mark WHERE firing_id = ?"
                         " ORDER BY t_s", [firing_id]))


def milestones(db: sqlite_utils.Database, firing_id: int) -> list[dict[str, Any]] | None:
    """Return the milestones of a firing in order; None where it has none."""
    return list(db.query("SELECT t_s, name, text, step, temp_c FROM milestone WHERE firing_id = ?"
                         " ORDER BY t_s, name", [firing_id])) or None


def meter(db: sqlite_utils.Database, firing_id: int) -> dict[str, Any] | None:
    """Return what a meter showed of a firing; None where nothing was written down."""
    return next(iter(db.query("SELECT kwh, wall_utc FROM meter_reading WHERE firing_id = ?", [firing_id])), None)


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
    if kind in _ONE_BY_ONE:
        found = next(iter(db.query(f"{_ONE_BY_ONE[kind]} LIMIT 1 OFFSET ?", [firing_id, ref - 1])), None)
        return None if found is None else _row(kind, found)
    return _one_of_the_joined(db, firing_id, kind, ref)


def _one_of_the_joined(db: sqlite_utils.Database, firing_id: int, kind: str, ref: int) -> Any:
    """Return the content of one link of a kind that joined the chain later."""
    if kind == GAP:
        return next((gap for gap in gaps(db, firing_id) if gap["from_s"] == ref), None)
    if kind == CLOCK:
        return next((mark for mark in clock_marks(db, firing_id) if mark["t_s"] == ref), None)
    if kind == MILESTONES:
        return milestones(db, firing_id)
    return meter(db, firing_id) if kind == METER else source_file.facts(db, firing_id)


def present(db: sqlite_utils.Database, firing_id: int) -> list[tuple[str, int]]:
    """Return kind and number of all that is kept of a firing beside its facts and its readings."""
    found = [(PARTS, 0)]
    found += [(kind, 0) for kind in (MILESTONES, METER, SOURCE) if one(db, firing_id, kind, 0) is not None]
    found += [(ALERT, no) for no in alert_numbers(db, firing_id)]
    found += [(GAP, gap["from_s"]) for gap in gaps(db, firing_id)]
    found += [(CLOCK, mark["t_s"]) for mark in clock_marks(db, firing_id)]
    return found + [(kind, ref) for kind in NUMBERED for ref in range(1, count(db, firing_id, kind) + 1)]


def _row(kind: str, row: dict[str, Any]) -> dict[str, Any]:
    """Return a row as it is hashed: the words of an outcome as a list, where they can still be read."""
    if kind != OUTCOME:
        return row
    try:
        return {**row, "words": json.loads(row["words"])}
    except ValueError:
        return row
