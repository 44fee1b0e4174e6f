"""Plans as they were written, every version kept; what was fired by one never changes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.firing.plan.plan import Plan, parse_plan
from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp


@dataclass(frozen=True, slots=True)
class StoredPlan:
    """One version of a plan."""

    plan_id: int
    title: str
    version: int
    toml: str
    created_utc: datetime
    only_for: int | None = None
    """The firing it was made for, from lines keyed in on its way; offered for no other."""

    def parsed(self) -> Plan:
        """Return the plan itself."""
        return parse_plan(self.toml, f"plan {self.title}, version {self.version}")


def add_plan(db: sqlite_utils.Database, toml: str, now_utc: datetime, source: str = "plan",
             only_for: int | None = None) -> int:
    """Keep a plan as the next version of its title and return its id; one for the rest of a firing is not listed.

    The same text as the title's latest version is not kept twice; that version's id is returned.

    Raises
    ------
    BadInput
        Where ``toml`` is no plan; ``source`` names it there. Nothing is kept.
    """
    title = parse_plan(toml, source).title
    with transaction(db):
        latest = db.execute(
            "SELECT plan_id, version, toml FROM plan WHERE title = ? ORDER BY version DESC LIMIT 1",
            [title]).fetchone()
        if latest is not None and latest[2] == toml:
            return int(latest[0])
        return insert(db, "plan", {
            "title": title, "version": 1 if latest is None else latest[1] + 1, "toml": toml,
            "created_utc": stamp(now_utc), "only_for": only_for,
        })


def plans_then(db: sqlite_utils.Database, then_utc: datetime) -> list[StoredPlan]:
    """Return the version of every plan that was the latest at a wall time, by title."""
    return [_plan(row) for row in db.query(
        "SELECT * FROM plan AS p WHERE version = (SELECT max(version) FROM plan AS q WHERE q.title = p.title"
        " AND q.created_utc <= ?) AND only_for IS NULL ORDER BY title", [stamp(then_utc)])]


def plans(db: sqlite_utils.Database) -> list[StoredPlan]:
    """Return the latest version of every plan, by title."""
    return [_plan(row) for row in db.query(
        "SELECT * FROM plan AS p WHERE version = (SELECT max(version) FROM plan AS q WHERE q.title = p.title)"
        " AND only_for IS NULL ORDER BY title")]


def versions(db: sqlite_utils.Database, title: str) -> list[StoredPlan]:
    """Return every version of a plan, the latest first."""
    return [_plan(row) for row in db.query("SELECT * FROM plan WHERE title = ? ORDER BY version DESC", [title])]


def fired(db: sqlite_utils.Database, title: str) -> dict[int, int]:
    """Return how many firings went by each version of a plan, by its id."""
    return dict(db.execute(
        "SELECT plan_id, count(*) FROM firing JOIN plan USING (plan_id)"
        " WHERE plan.title = ? AND binned_utc IS NULL GROUP BY plan_id", [title]))


def plan(db: sqlite_utils.Database, plan_id: int) -> StoredPlan | None:
    """Return one version of a plan by its id; None where there is none."""
    for row in db.query("SELECT * FROM plan WHERE plan_id = ?", [plan_id]):
        return _plan(row)
    return None


def _plan(row: dict[str, object]) -> StoredPlan:
    return StoredPlan(**{**row, "created_utc": moment(str(row["created_utc"]))})  # type: ignore[arg-type]
