"""What was learned of each kiln from its firings, as text, and which firings those were."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

import sqlite_utils

from daemon.store.stamps import stamp


class Source(NamedTuple):
    """A firing that was looked at to learn the kiln."""

    firing_id: int
    mark: str
    """Changes with anything of the firing that the kiln is learned from."""
    is_used: bool
    """Whether it taught anything; one that broke off, or has no plan, does not."""


class LearnedKiln(NamedTuple):
    """What is kept of a kiln."""

    probe_id: int
    sources: tuple[Source, ...]
    """The latest first."""
    model: str
    method: int
    """The number of the rules that it was learned by."""


def put(db: sqlite_utils.Database, kiln_id: int, learned: LearnedKiln, now_utc: datetime) -> None:
    """Keep what was learned of a kiln in place of what was known before."""
    db.execute(
        "INSERT OR REPLACE INTO learned_kiln (kiln_id, probe_id, sources, model, method, wall_utc)"
        " VALUES (?, ?, ?, ?, ?, ?)",
        [kiln_id, learned.probe_id, _as_text(learned.sources), learned.model, learned.method, stamp(now_utc)])


def forget(db: sqlite_utils.Database, kiln_id: int) -> None:
    """Remove what was learned of a kiln."""
    db.execute("DELETE FROM learned_kiln WHERE kiln_id = ?", [kiln_id])


def learned(db: sqlite_utils.Database, kiln_id: int) -> LearnedKiln | None:
    """Return what was learned of a kiln; None where nothing is kept."""
    row = db.execute("SELECT probe_id, sources, model, method FROM learned_kiln WHERE kiln_id = ?",
                     [kiln_id]).fetchone()
    return None if row is None else LearnedKiln(
        row[0], tuple(Source(number, mark, bool(is_used)) for number, mark, is_used in json.loads(row[1])), *row[2:])


def _as_text(sources: Sequence[Source]) -> str:
    return json.dumps([[source.firing_id, source.mark, int(source.is_used)] for source in sources])
