"""What a box gives to its studio's server: entries of each firing in the order of its chain, and what is beside it.

Nothing is written here. The server says which link it has last; the chain says whether what comes after it is whole.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice
from typing import Any

import sqlite_utils

from daemon.archive.read_out import of_kiln
from daemon.store.chain import contents, links
from daemon.store.chain.contents import ADOPTED, BLOCK_S, JOINED, PARTS, READINGS, STATES
from daemon.store.chain.links import canonical, own_of

FORMAT = "lehrling studio"
VERSION = 1
"""Of what is given. [chosen: the first]"""
MOST_LINKS = 200
"""Links in one answer. [chosen: some 0.5 MB of readings, which a Raspberry Pi reads in a moment]"""
MOST_BYTES = 512 * 1024
"""What the contents of one answer come to, the last one left aside [bytes]. [chosen: bounds the memory of a Pi]"""
THINNED = "thinned"
"""The key of the thinned trace."""
MOST_ASKED = 20
"""Firings about which one request asks. [chosen: bounds the time that one request takes]"""
_OUTCOMES = ("SELECT piece_id AS piece, words, place, note, wall_utc FROM outcome WHERE firing_id = ?"
             " ORDER BY outcome_id")
_MOST_FRESH = 2 * BLOCK_S
"""Readings after the last link that are given. [derived: ten minutes, at one a second, twice]"""


@contextmanager
def one_moment(db: sqlite_utils.Database) -> Iterator[None]:
    """Read all of the block as it was in one moment, and text that a disk has damaged as it is."""
    db.execute("BEGIN")
    try:
        with links.text_as_it_is(db):
            yield
    finally:
        db.rollback()


def overview(db: sqlite_utils.Database) -> list[list[Any]]:
    """Return each firing as ``[number, number of its last link, its head as hexadecimal digits, state]``.

    Link and head are None where it has no chain. The state is ``open``, ``ended``, or ``emptied`` for one that the
    owner deleted for good.
    """
    return [[number, no, None if head is None else bytes(head).hex(),
             "emptied" if emptied else "open" if is_open else "ended"]
            for number, no, head, is_open, emptied in db.execute(
                "SELECT f.firing_id, link.no, link.head, f.ended_s IS NULL, f.emptied_utc IS NOT NULL"
                " FROM firing AS f LEFT JOIN link ON link.firing_id = f.firing_id AND link.no ="
                " (SELECT max(no) FROM link AS later WHERE later.firing_id = f.firing_id) ORDER BY f.firing_id")]


def digest(content: Any) -> str:
    """Return a mark of a content, as hexadecimal digits."""
    return own_of(content).hex()


def chain_after(db: sqlite_utils.Database, firing_id: int, after: int) -> dict[str, Any]:
    """Return the links after the one numbered ``after`` (-1: all), each with its content, as far as one answer goes.

    Of a state (facts, parts, an alert) only the latest link has a content: an earlier one's is not kept any more.
    ``more`` says that there are further links. Without them, ``fresh`` holds the readings that have no link yet.
    """
    rows = db.execute(
        "SELECT no, kind, ref, own, head, no < (SELECT max(no) FROM link AS later"
        " WHERE later.firing_id = link.firing_id AND later.kind = link.kind AND later.ref = link.ref) FROM link"
        " WHERE firing_id = ? AND no > ? ORDER BY no LIMIT ?", [firing_id, after, MOST_LINKS + 1]).fetchall()
    given: list[dict[str, Any]] = []
    size = 0
    for no, kind, ref, own, head, is_earlier in rows[:MOST_LINKS]:
        link = {"no": no, "kind": kind, "ref": ref, "own": own.hex(), "head": head.hex()}
        if not (is_earlier and kind in STATES):
            link["content"] = None if kind in (ADOPTED, JOINED) else contents.one(db, firing_id, kind, ref)
            size += len(canonical(link["content"]))
        given.append(link)
        if size > MOST_BYTES:
            break
    more = len(given) < len(rows)
    return {"firing": firing_id, "links": given, "more": more, "fresh": [] if more else _fresh(db, firing_id)}


def _fresh(db: sqlite_utils.Database, firing_id: int) -> list[list[int | None]]:
    """Return the readings after the last block that has a link; none of a firing without a chain."""
    sealed, chained = db.execute("SELECT max(ref) FILTER (WHERE kind = ?), count(*) FROM link WHERE firing_id = ?",
                                 [READINGS, firing_id]).fetchone()
    if not chained:
        return []
    first_s = 0 if sealed is None else (sealed + 1) * BLOCK_S
    return list(islice(contents.readings(db, firing_id, first_s), _MOST_FRESH))


def beside(db: sqlite_utils.Database, firing_id: int) -> dict[str, Any] | None:
    """Return what is kept of a firing outside its chain; None where there is none of that number.

    Kiln, plan and pieces by their numbers; gaps, clock marks, milestones, meter and outcomes, since chains of older
    versions lack these, and since a chain names no number of a piece; what its heat came to; of a firing that runs
    its parts, which get their link at its end; and of one that ended its thinned trace, in base64.
    """
    row = next(iter(db.query("SELECT kiln_id AS kiln, probe_id AS probe, plan_id AS plan, binned_utc, emptied_utc,"
                             " ended_s FROM firing WHERE firing_id = ?", [firing_id])), None)
    if row is None:
        return None
    is_open, meter = row.pop("ended_s") is None, contents.meter(db, firing_id)
    return {
        **row, "pieces": [piece for (piece,) in db.execute(
            "SELECT piece_id FROM firing_piece WHERE firing_id = ? ORDER BY piece_id", [firing_id])],
        "gap": contents.gaps(db, firing_id), "clock_mark": contents.clock_marks(db, firing_id),
        "milestone": contents.milestones(db, firing_id) or [], "meter_reading": [] if meter is None else [meter],
        "outcome": list(db.query(_OUTCOMES, [firing_id])),
        "heat_use": list(db.query(
            "SELECT method, hot_s, kelvin_h, most_k, full_k, why FROM heat_use WHERE firing_id = ?", [firing_id])),
        PARTS: contents.parts(db, firing_id) if is_open else [],
        THINNED: next((base64.b64encode(stretches).decode() for (stretches,) in db.execute(
            "SELECT stretches FROM thinned_trace WHERE firing_id = ?", [firing_id])), None),
    }


def studio(db: sqlite_utils.Database) -> dict[str, Any]:
    """Return kilns with their changed parts and calibrations, probes, plans and pieces, all by their numbers."""
    return {
        "kilns": [{**row, **of_kiln(db, row["kiln"])}
                  for row in db.query("SELECT kiln_id AS kiln, name FROM kiln ORDER BY kiln_id")],
        "probes": list(db.query("SELECT probe_id, kiln_id, name, thermocouple_type FROM probe ORDER BY probe_id")),
        "plans": list(db.query("SELECT plan_id, title, version, toml, created_utc, retired_utc, only_for, words"
                               " FROM plan ORDER BY plan_id")),
        "pieces": list(db.query(
            "SELECT piece_id, name, glass, thickness_mm, layers, note, created_utc, thinnest_mm, separator,"
            " drying_from_utc, dry_by_utc, colour FROM piece ORDER BY piece_id")),
    }


def as_json(answer: Any) -> str:
    """Return an answer as JSON of ASCII alone, so that text which a disk has damaged gets through as it is."""
    return json.dumps(answer, ensure_ascii=True, separators=(",", ":"))
