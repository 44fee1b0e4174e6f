"""Firings: one run of the kiln each, opened, named and ended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import sqlite_utils

from daemon.store.chain import links
from daemon.store.chain.contents import FIRING, MILESTONES, PARTS
from daemon.store.database import insert, transaction
from daemon.store.readings import STEPS_PER_C, highest_c, keep_thinned
from daemon.store.stamps import moment, stamp

OpenedBy = Literal["maker", "climb"]
EndedBy = Literal["maker", "cold", "next"]
UNNAMED = "Not named yet"
"""Title of a firing that a climb opened."""


@dataclass(frozen=True, slots=True)
class Firing:
    """One run of a kiln, as it stands in the file.

    Attributes
    ----------
    started_utc
        Wall time of second 0, as the clock was then.
    start_boot_id, start_clock_s
        Which run of the firing clock it began in, and at which of its seconds.
    speed
        Firing seconds a wall second; 1 but on the bench.
    glass
        A built-in family, or a glass as TOML.
    ended_s
        Second of its end; None while it runs.
    alert_base
        Highest alert number raised under an earlier plan.
    invented
        Whether it belongs to a demonstration.
    binned_utc
        Since when it lies in the bin; None of a firing that nobody deleted.
    emptied_utc
        Since when nothing but its number is kept of it.
    """

    firing_id: int
    kiln_id: int
    probe_id: int
    plan_id: int | None
    title: str
    opened_by: OpenedBy
    started_utc: datetime
    start_boot_id: str
    start_clock_s: float
    speed: float
    glass: str
    thickness_mm: float
    faces: int
    offset_c: float | None
    ended_s: int | None
    ended_utc: datetime | None
    ended_by: EndedBy | None
    alert_base: int
    invented: bool
    piece_ids: tuple[int, ...] = ()
    binned_utc: datetime | None = None
    emptied_utc: datetime | None = None


def open_firing(  # one keyword a column
    db: sqlite_utils.Database, *, kiln_id: int, probe_id: int, title: str, opened_by: OpenedBy,
    started_utc: datetime, boot_id: str, clock_s: float, speed: float = 1.0, plan_id: int | None = None,
    glass: str = "90", thickness_mm: float = 6.0, faces: int = 1, offset_c: float | None = None,
    piece_ids: Iterable[int] = (), invented: bool = False,
) -> int:
    """Keep a new open firing and return its id; a kiln has one open firing at most."""
    with transaction(db):
        firing_id = insert(db, "firing", {
            "kiln_id": kiln_id, "probe_id": probe_id, "plan_id": plan_id, "title": title,
            "opened_by": opened_by, "started_utc": stamp(started_utc), "start_boot_id": boot_id,
            "start_clock_s": clock_s, "speed": speed, "glass": glass, "thickness_mm": thickness_mm,
            "faces": faces, "offset_c": offset_c, "invented": int(invented),
        })
        _load(db, firing_id, piece_ids)
        links.begin(db, firing_id)
    return firing_id


def date_firing(db: sqlite_utils.Database, firing_id: int, started_utc: datetime) -> None:
    """Correct when a firing began: it was opened before the computer's clock was set."""
    with transaction(db):
        db.execute("UPDATE firing SET started_utc = ? WHERE firing_id = ?", [stamp(started_utc), firing_id])
        links.add(db, firing_id, (FIRING, 0))


def name_firing(db: sqlite_utils.Database, firing_id: int, changes: Mapping[str, Any],
                piece_ids: Iterable[int] | None = None) -> None:
    """Change what a maker may say afterwards: title, plan_id, glass, thickness_mm, faces, offset_c, pieces.

    ``alert_base`` goes with a change of plan (see Firing).
    """
    with transaction(db):
        if changes:
            db.table("firing").update(firing_id, dict(changes))
            links.add(db, firing_id, (FIRING, 0))
        if piece_ids is not None:
            db.execute("DELETE FROM firing_piece WHERE firing_id = ?", [firing_id])
            _load(db, firing_id, piece_ids)


def _load(db: sqlite_utils.Database, firing_id: int, piece_ids: Iterable[int]) -> None:
    for piece_id in dict.fromkeys(piece_ids):
        db.execute("INSERT INTO firing_piece (firing_id, piece_id) VALUES (?, ?)", [firing_id, piece_id])


def end_firing(db: sqlite_utils.Database, firing_id: int, ended_s: float, ended_utc: datetime,
               ended_by: EndedBy) -> None:
    """End an open firing, and keep its thinned trace; one that has ended already stays as it is."""
    with transaction(db):
        highest = highest_c(db, firing_id)
        ended = db.execute(
            "UPDATE firing SET ended_s = ?, ended_utc = ?, ended_by = ?, highest_128 = ?"
            " WHERE firing_id = ? AND ended_s IS NULL",
            [round(ended_s), stamp(ended_utc), ended_by,
             None if highest is None else round(highest * STEPS_PER_C), firing_id]).rowcount
        if ended:
            keep_thinned(db, firing_id)
            links.seal_readings(db, firing_id)
            links.add(db, firing_id, (PARTS, 0), (MILESTONES, 0), (FIRING, 0))


PIECES = ("(SELECT group_concat(piece_id) FROM firing_piece AS load"
           " WHERE load.firing_id = firing.firing_id) AS pieces")
"""Selects the ids of a firing's pieces, as text with commas between."""
SELECT = f"SELECT firing.*, {PIECES} FROM firing "
"""Selects firings as ``as_firing`` reads them."""


def current(db: sqlite_utils.Database, kiln_id: int) -> Firing | None:
    """Return the open firing of a kiln; None where it has none."""
    for row in db.query(SELECT + "WHERE kiln_id = ? AND ended_s IS NULL", [kiln_id]):
        return as_firing(row)
    return None


def firing(db: sqlite_utils.Database, firing_id: int) -> Firing | None:
    """Return a firing by its id; None where there is none."""
    for row in db.query(SELECT + "WHERE firing_id = ?", [firing_id]):
        return as_firing(row)
    return None


def latest_of_kiln(db: sqlite_utils.Database, kiln_id: int, limit: int) -> list[Firing]:
    """Return the firings of a kiln that have ended and were not deleted, the latest first."""
    return [as_firing(row) for row in db.query(
        SELECT + "WHERE kiln_id = ? AND ended_s IS NOT NULL AND binned_utc IS NULL"
        " ORDER BY started_utc DESC, firing_id DESC LIMIT ?",
        [kiln_id, limit])]


def began(db: sqlite_utils.Database, kiln_id: int, from_utc: datetime, number: int) -> datetime | None:
    """Return when the ``number``-th firing of a kiln from a moment on began; None where there were fewer.

    Deleted firings are left out.
    """
    for (started,) in db.execute(
            "SELECT started_utc FROM firing WHERE kiln_id = ? AND started_utc >= ? AND binned_utc IS NULL"
            " ORDER BY started_utc, firing_id LIMIT 1 OFFSET ?", [kiln_id, stamp(from_utc), number - 1]):
        return moment(started)
    return None


def ended_before(db: sqlite_utils.Database, row: Firing, limit: int) -> list[Firing]:
    """Return the firings of ``row``'s kiln and probe that had ended when it began, the latest first.

    A firing that is about to be stored has the number 0 until then; every other one is earlier.
    """
    return [as_firing(found) for found in db.query(
        SELECT + "WHERE kiln_id = ? AND probe_id = ? AND invented = ? AND (firing_id < ? OR ? = 0)"
        " AND ended_utc <= ? AND plan_id IS NOT NULL AND binned_utc IS NULL"
        " ORDER BY started_utc DESC, firing_id DESC LIMIT ?",
        [row.kiln_id, row.probe_id, int(row.invented), row.firing_id, row.firing_id, stamp(row.started_utc), limit])]


def of_piece(db: sqlite_utils.Database, piece_id: int) -> list[Firing]:
    """Return the firings a piece went through, the first one first."""
    return [as_firing(row) for row in db.query(
        SELECT + "JOIN firing_piece USING (firing_id) WHERE piece_id = ? AND binned_utc IS NULL"
        " ORDER BY started_utc, firing_id",
        [piece_id])]


def as_firing(row: Mapping[str, Any]) -> Firing:
    """Return a row of the table, with its pieces as ``PIECES`` selects them, as a firing."""
    ended_utc, binned_utc, emptied_utc = row["ended_utc"], row["binned_utc"], row["emptied_utc"]
    return Firing(
        firing_id=row["firing_id"], kiln_id=row["kiln_id"], probe_id=row["probe_id"], plan_id=row["plan_id"],
        title=row["title"], opened_by=row["opened_by"], started_utc=moment(row["started_utc"]),
        start_boot_id=row["start_boot_id"], start_clock_s=row["start_clock_s"], speed=row["speed"],
        glass=row["glass"], thickness_mm=row["thickness_mm"], faces=row["faces"], offset_c=row["offset_c"],
        ended_s=row["ended_s"], ended_utc=None if ended_utc is None else moment(ended_utc),
        ended_by=row["ended_by"], alert_base=row["alert_base"], invented=bool(row["invented"]),
        piece_ids=tuple(sorted(int(piece_id) for piece_id in (row["pieces"] or "").split(",") if piece_id)),
        binned_utc=None if binned_utc is None else moment(binned_utc),
        emptied_utc=None if emptied_utc is None else moment(emptied_utc),
    )
