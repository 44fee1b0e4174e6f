"""What goes into an archive, read from the record: one firing at a time, as plain values."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from typing import Any

import sqlite_utils

from daemon.store.chain import contents, links, source_file
from daemon.store.readings import FAULT_CODES, STEPS_PER_C
from daemon.store.safety import record_mark

_OUTCOMES = ("SELECT piece_id AS piece, piece.created_utc AS piece_made_utc, words, o.place, o.note, o.wall_utc"
             " FROM outcome AS o LEFT JOIN piece USING (piece_id) WHERE firing_id = ? ORDER BY outcome_id")
_PHOTOGRAPHS = ("SELECT piece_id AS piece, moment, mark, width, height, caption, wall_utc FROM photograph"
                " WHERE firing_id = ? AND removed_utc IS NULL ORDER BY photograph_id")
_FAULTS = {code: word for word, code in FAULT_CODES.items()}


def ended(db: sqlite_utils.Database, piece_id: int | None = None) -> list[int]:
    """Return the firings that have ended and were not deleted, or those of one piece, the first one first."""
    of = "" if piece_id is None else " AND firing_id IN (SELECT firing_id FROM firing_piece WHERE piece_id = :piece)"
    return [number for (number,) in db.execute(
        f"SELECT firing_id FROM firing WHERE ended_s IS NOT NULL AND binned_utc IS NULL{of} ORDER BY firing_id",
        {"piece": piece_id})]


def left_out(db: sqlite_utils.Database) -> tuple[int, int]:
    """Return how many firings run, and how many are deleted and can still be taken back."""
    row = db.execute("SELECT coalesce(sum(ended_s IS NULL), 0), coalesce(sum(binned_utc IS NOT NULL"
                     " AND emptied_utc IS NULL), 0) FROM firing").fetchone()
    return int(row[0]), int(row[1])


def firing(db: sqlite_utils.Database, number: int, only_piece: int | None = None) -> dict[str, Any]:
    """Return one firing as ``firing.json`` has it; of ``only_piece`` and its whole load where one is given.

    Outcomes are in the chain, so all of them are there.
    """
    kiln, plan = db.execute("SELECT kiln_id, plan_id FROM firing WHERE firing_id = ?", [number]).fetchone()
    pieces = [piece for (piece,) in db.execute(
        "SELECT piece_id FROM firing_piece WHERE firing_id = ? ORDER BY piece_id", [number])
        if only_piece in (None, piece)]
    chain = links.links(db, number)
    meter = contents.meter(db, number)
    kinds = [kind for kind in contents.NUMBERED if kind != contents.OUTCOME]
    return {
        "number": number, "kiln": kiln, "plan": plan, "pieces": pieces, "firing": contents.firing(db, number),
        "parts": contents.parts(db, number),
        "alert": [contents.alert(db, number, no) for no in contents.alert_numbers(db, number)],
        **{kind: list(contents.numbered(db, number, kind)) for kind in kinds},
        "links": [{"kind": link.kind, "ref": link.ref, "own": link.own.hex(), "head": link.head.hex()}
                  for link in chain],
        "mark": record_mark.short(chain[-1].head.hex()) if chain else None,
        "gap": contents.gaps(db, number), "clock_mark": contents.clock_marks(db, number),
        "milestone": contents.milestones(db, number) or [], "meter_reading": [] if meter is None else [meter],
        "outcome": [{**row, "words": json.loads(row["words"])} for row in db.query(_OUTCOMES, [number])],
        "photograph": [row for row in db.query(_PHOTOGRAPHS, [number])
                       if row["piece"] is None or only_piece in (None, row["piece"])],
        "source": source_file.facts(db, number),
    }


def readings_csv(db: sqlite_utils.Database, number: int) -> Iterator[str]:
    """Yield the lines of ``readings.csv`` without their ends, the header left out."""
    for t_s, steps, below, above, code in contents.readings(db, number):
        figures = ("" if figure is None else str(figure) for figure in (t_s, steps, below, above, code))
        celsius = "" if steps is None else repr(steps / STEPS_PER_C)
        yield ",".join((*figures, celsius, "" if code is None else _FAULTS.get(code, "")))


def studio(db: sqlite_utils.Database, firings: Collection[int], only_piece: int | None = None) -> dict[str, Any]:
    """Return kilns, plans and pieces as ``studio.json`` has them.

    Parameters
    ----------
    db
        An open record.
    firings
        The firings of the archive.
    only_piece
        The one piece that is exported; kilns and plans are those of its firings then. Other pieces are there where
        an outcome in one of these firings is theirs, without their photographs. None for all.
    """
    used = {row[0]: row[1:] for row in db.execute("SELECT firing_id, kiln_id, plan_id FROM firing")}
    kilns, plans = ({used[number][at] for number in firings} for at in (0, 1))
    whole = only_piece is None
    wanted = {only_piece, *(piece for number in firings for (piece,) in db.execute(
        "SELECT DISTINCT piece_id FROM outcome WHERE firing_id = ?", [number]))}
    return {
        "kilns": [{**row, **of_kiln(db, row["kiln"])} for row in db.query(
            "SELECT kiln_id AS kiln, name FROM kiln ORDER BY kiln_id") if whole or row["kiln"] in kilns],
        "plans": [{**row, "only_for": row["only_for"] if row["only_for"] in firings else None} for row in db.query(
            "SELECT plan_id AS plan, title, version, toml, created_utc, retired_utc, only_for FROM plan"
            " ORDER BY plan_id")
            if row["plan"] in plans or (whole and (row["only_for"] is None or row["only_for"] in firings))],
        "pieces": [{**row, "photograph": list(db.query(
            "SELECT moment, mark, width, height, caption, wall_utc FROM photograph WHERE piece_id = ?"
            " AND firing_id IS NULL AND removed_utc IS NULL ORDER BY photograph_id", [row["piece"]]))
            if only_piece in (None, row["piece"]) else []}
            for row in db.query(
                "SELECT piece_id AS piece, name, glass, thickness_mm, layers, note, created_utc, thinnest_mm,"
                " separator, drying_from_utc, dry_by_utc, colour FROM piece ORDER BY piece_id")
            if whole or row["piece"] in wanted],
    }


def of_kiln(db: sqlite_utils.Database, kiln: int) -> dict[str, Any]:
    """Return a kiln's changed parts and its calibrations."""
    return {
        "part_change": list(db.query(
            "SELECT part_change_id AS part_change, part, day, note, wall_utc, removed_utc FROM part_change"
            " WHERE kiln_id = ? ORDER BY part_change_id", [kiln])),
        "calibration": list(db.query(
            "SELECT part_change_id AS part_change, thermocouple_type, tolerance_class, method, said, reference_c,"
            " reading_c, cold_junction_c, readings, plus_minus_k, reference_k, noise_k, steadiness_k, step_k,"
            " wall_utc, removed_utc FROM calibration WHERE kiln_id = ? ORDER BY calibration_id", [kiln])),
    }
