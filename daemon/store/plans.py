"""Plans as they were written, every version kept; what was fired by one never changes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any

import sqlite_utils

from daemon.firing.plan.plan import Plan, parse_plan
from daemon.store.database import insert, transaction
from daemon.store.schema.plan_words import plan_words
from daemon.store.stamps import moment, stamp


@dataclass(frozen=True, slots=True)
class StoredPlan:
    """One version of a plan.

    Attributes
    ----------
    title
        What it is called now; its TOML keeps what it was called when it was written.
    retired_utc
        When it was retired with all its versions; None while it is in use.
    """

    plan_id: int
    title: str
    version: int
    toml: str
    created_utc: datetime
    retired_utc: datetime | None = None
    only_for: int | None = None
    """The firing it was made for, from lines keyed in on its way; offered for no other."""

    def parsed(self) -> Plan:
        """Return the plan itself, under the title it has now."""
        return replace(_parsed(self.toml, f"plan {self.title}, version {self.version}"), title=self.title)


@lru_cache(maxsize=64)
def _parsed(toml: str, source: str) -> Plan:
    """Return a stored plan, which never changes; a page of many firings asks for the same few again and again."""
    return parse_plan(toml, source)


def add_plan(db: sqlite_utils.Database, toml: str, now_utc: datetime, source: str = "plan",
             only_for: int | None = None) -> int:
    """Keep a plan as the next version of its title and return its id; one for the rest of a firing is not listed.

    The same steps as those of the title's latest version are not kept twice; that version's id is returned. A retired
    plan is in use again.

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
        db.execute("UPDATE plan SET retired_utc = NULL WHERE title = ?", [title])
        if latest is not None and _steps(latest[2]) == _steps(toml):
            return int(latest[0])
        return insert(db, "plan", {
            "title": title, "version": 1 if latest is None else latest[1] + 1, "toml": toml,
            "created_utc": stamp(now_utc), "only_for": only_for, "words": plan_words(toml),
        })


def _steps(toml: str) -> list[str]:
    """Return the lines of a plan's TOML without remarks and title, which change nothing of what is fired."""
    return [line for line in toml.splitlines() if not line.startswith(("#", "title "))]


def rename(db: sqlite_utils.Database, title: str, wanted: str) -> bool:
    """Call a plan, all its versions, by another title; return False where another plan has that."""
    with transaction(db):
        if wanted != title and versions(db, wanted):
            return False
        db.execute("UPDATE plan SET title = ? WHERE title = ?", [wanted, title])
    return True


def retire(db: sqlite_utils.Database, title: str, when_utc: datetime | None) -> None:
    """Retire a plan, all its versions; ``when_utc`` None takes it into use again."""
    with transaction(db):
        db.execute("UPDATE plan SET retired_utc = ? WHERE title = ?",
                   [None if when_utc is None else stamp(when_utc), title])


def plans_then(db: sqlite_utils.Database, then_utc: datetime) -> list[StoredPlan]:
    """Return the version of every plan that was the latest at a wall time, by title."""
    return [_plan(row) for row in db.query(
        "SELECT * FROM plan AS p WHERE version = (SELECT max(version) FROM plan AS q WHERE q.title = p.title"
        " AND q.created_utc <= ?) AND only_for IS NULL ORDER BY title", [stamp(then_utc)])]


def plans(db: sqlite_utils.Database, *, retired: bool = False) -> list[StoredPlan]:
    """Return the latest version of every plan in use, or of every one that is ``retired``, by title."""
    return [_plan(row) for row in db.query(
        "SELECT * FROM plan AS p WHERE version = (SELECT max(version) FROM plan AS q WHERE q.title = p.title)"
        f" AND only_for IS NULL AND retired_utc IS {'NOT NULL' if retired else 'NULL'} ORDER BY title")]


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
    retired = row["retired_utc"]
    stored: dict[str, Any] = {
        **{name: value for name, value in row.items() if name != "words"},
        "created_utc": moment(str(row["created_utc"])),
        "retired_utc": None if retired is None else moment(str(retired))}
    return StoredPlan(**stored)
