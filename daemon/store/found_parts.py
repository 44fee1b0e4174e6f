"""The course of a firing beside its readings: parts, gaps, clock marks, milestones, what the maker said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.firing.events import Milestone, Part, Said, Saying
from daemon.store.chain import links
from daemon.store.chain.contents import CLOCK, GAP, MILESTONES, PARTS, SAID
from daemon.store.database import transaction
from daemon.store.stamps import moment, stamp


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch of a firing without any reading, between two seconds that have one."""

    from_s: int
    to_s: int
    reason: str


@dataclass(frozen=True, slots=True)
class ClockMark:
    """What the clocks said at one second of a firing."""

    t_s: int
    wall_utc: datetime
    boot_id: str
    clock_s: float
    """Firing clock of that boot [s]."""
    synchronised: bool


def replace_parts(db: sqlite_utils.Database, firing_id: int, parts: Sequence[Part]) -> None:
    """Keep ``parts`` as the parts of a firing in place of the earlier ones.

    While the firing runs they are revised with every few readings; so only those of one that has ended are chained,
    and its milestones with them.
    """
    with transaction(db):
        db.execute("DELETE FROM part WHERE firing_id = ?", [firing_id])
        db.conn.executemany(
            "INSERT INTO part (firing_id, seq, part_index, step, part, start_s, end_s, rate_c_per_h, mean_c)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [(firing_id, seq, p.index, p.step, p.part, p.start_s, p.end_s, p.rate_c_per_h, p.mean_c)
             for seq, p in enumerate(parts)])
        if _has_ended(db, firing_id):
            links.add(db, firing_id, (PARTS, 0), (MILESTONES, 0))


def parts(db: sqlite_utils.Database, firing_id: int) -> list[Part]:
    """Return the parts of a firing in order."""
    return [Part(*row) for row in db.execute(
        "SELECT part_index, step, part, start_s, end_s, rate_c_per_h, mean_c FROM part"
        " WHERE firing_id = ? ORDER BY seq", [firing_id])]


def add_gap(db: sqlite_utils.Database, firing_id: int, gap: Gap) -> None:
    """Keep a gap; one from the same second is kept only once."""
    with transaction(db):
        new = db.execute("INSERT OR IGNORE INTO gap (firing_id, from_s, to_s, reason) VALUES (?, ?, ?, ?)",
                         [firing_id, gap.from_s, gap.to_s, gap.reason]).rowcount
        if new:
            links.add(db, firing_id, (GAP, gap.from_s))


def name_gap(db: sqlite_utils.Database, firing_id: int, gap: Gap) -> None:
    """Keep another reason for a gap that is kept already."""
    with transaction(db):
        db.execute("UPDATE gap SET reason = ? WHERE firing_id = ? AND from_s = ?",
                   [gap.reason, firing_id, gap.from_s])
        links.add(db, firing_id, (GAP, gap.from_s))


def gaps(db: sqlite_utils.Database, firing_id: int) -> list[Gap]:
    """Return the gaps of a firing in order."""
    return [Gap(*row) for row in db.execute(
        "SELECT from_s, to_s, reason FROM gap WHERE firing_id = ? ORDER BY from_s", [firing_id])]


def add_clock_mark(db: sqlite_utils.Database, firing_id: int, mark: ClockMark) -> None:
    """Keep what the clocks said; a second one at the same second replaces the first."""
    with transaction(db):
        db.execute(
            "INSERT OR REPLACE INTO clock_mark (firing_id, t_s, wall_utc, boot_id, clock_s, synchronised)"
            " VALUES (?, ?, ?, ?, ?, ?)",
            [firing_id, mark.t_s, stamp(mark.wall_utc), mark.boot_id, mark.clock_s, int(mark.synchronised)])
        links.add(db, firing_id, (CLOCK, mark.t_s))


def clock_marks(db: sqlite_utils.Database, firing_id: int) -> list[ClockMark]:
    """Return the clock marks of a firing in order."""
    return [
        ClockMark(t_s, moment(wall_utc), boot_id, clock_s, bool(synchronised))
        for t_s, wall_utc, boot_id, clock_s, synchronised in db.execute(
            "SELECT t_s, wall_utc, boot_id, clock_s, synchronised FROM clock_mark"
            " WHERE firing_id = ? ORDER BY t_s", [firing_id])
    ]


def add_milestone(db: sqlite_utils.Database, firing_id: int, milestone: Milestone) -> None:
    """Keep a milestone, once. Those of a firing that runs are chained at its end."""
    with transaction(db):
        db.execute("INSERT OR IGNORE INTO milestone (firing_id, t_s, name, text, step, temp_c)"
                   " VALUES (?, ?, ?, ?, ?, ?)",
                   [firing_id, milestone.t_s, milestone.name, milestone.text, milestone.step, milestone.temp_c])
        if _has_ended(db, firing_id):
            links.add(db, firing_id, (MILESTONES, 0))


def _has_ended(db: sqlite_utils.Database, firing_id: int) -> bool:
    return db.execute("SELECT ended_s FROM firing WHERE firing_id = ?", [firing_id]).fetchone()[0] is not None


def forget_milestones(db: sqlite_utils.Database, firing_id: int) -> None:
    """Drop the milestones of a firing, before its parts and those by another plan are kept (``replace_parts``)."""
    db.execute("DELETE FROM milestone WHERE firing_id = ?", [firing_id])


def milestones(db: sqlite_utils.Database, firing_id: int) -> list[Milestone]:
    """Return the milestones of a firing in order."""
    return [Milestone(*row) for row in db.execute(
        "SELECT t_s, name, text, step, temp_c FROM milestone WHERE firing_id = ? ORDER BY t_s, name", [firing_id])]


def add_said(db: sqlite_utils.Database, firing_id: int, said: Said) -> None:
    """Keep something the maker said."""
    with transaction(db):
        db.table("said").insert({
            "firing_id": firing_id, "t_s": round(said.t_s), "what": said.what.value,
            "alert_no": said.alert_no, "for_s": said.for_s, "temp_c": said.temp_c,
        })
        links.add_latest(db, firing_id, SAID)


def keyed_in_at(db: sqlite_utils.Database, firing_id: int) -> tuple[float, ...]:
    """Return when lines were keyed in during a firing [s], the first ones first."""
    return tuple(one.t_s for one in said(db, firing_id) if one.what is Saying.KEYED_IN)


def said(db: sqlite_utils.Database, firing_id: int) -> list[Said]:
    """Return what the maker said during a firing, in the order it was taken."""
    return [Said(float(t_s), Saying(what), alert_no, for_s, temp_c)
            for t_s, what, alert_no, for_s, temp_c in db.execute(
                "SELECT t_s, what, alert_no, for_s, temp_c FROM said WHERE firing_id = ? ORDER BY t_s, said_id",
                [firing_id])]
