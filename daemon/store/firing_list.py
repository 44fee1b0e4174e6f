"""The list of firings: the latest first, by what the owner asks for."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlite_utils

from daemon.firing.events import Rank
from daemon.store.finding.search import Wanted, firing_condition
from daemon.store.firings import PIECES, Firing, as_firing
from daemon.store.readings import STEPS_PER_C
from daemon.store.stamps import stamp


@dataclass(frozen=True, slots=True)
class Thumbnail:
    """A photograph as a list shows it: the mark of its files and the size of the small one [px]."""

    mark: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Listed:
    """A firing in the list, with what is worth seeing at a glance."""

    firing: Firing
    peak_c: float | None
    """The peak as it was judged, else the highest kept reading [°C]."""
    duration_s: int
    """To its end, or to its last reading [s]."""
    worst_rank: Rank | None
    plan_title: str | None
    woke: tuple[str, ...] = ()
    """The kinds of the alerts that got somebody up, each once, the first one first."""
    came_out: tuple[str, ...] = ()
    """The words that its pieces came out with, as they stand now, each once."""
    picture: Thumbnail | None = None
    """A photograph of it or of its pieces; one of afterwards before one of before, the latest first."""


_LIST = f"""
SELECT firing.*, {PIECES}, plan.title AS plan_title,
       coalesce((SELECT CAST(json_extract(told, '$.peak_c') AS DOUBLE PRECISION) * 128 FROM judgement AS j
                 WHERE j.firing_id = firing.firing_id ORDER BY judgement_id DESC LIMIT 1),
                highest_128, (SELECT max(temp_128) FROM reading AS r WHERE r.firing_id = firing.firing_id
                              AND ended_s IS NULL)) AS peak_128,
       coalesce(ended_s, (SELECT max(t_s) FROM reading AS r WHERE r.firing_id = firing.firing_id), 0)
           AS duration_s,
       (SELECT max(CASE rank WHEN 'wake' THEN 2 WHEN 'look' THEN 1 ELSE 0 END)
        FROM alert AS a WHERE a.firing_id = firing.firing_id) AS worst,
       (SELECT json_group_array(kind) FROM (
            SELECT kind FROM alert AS a WHERE a.firing_id = firing.firing_id AND a.rank = 'wake' AND a.under IS NULL
            ORDER BY woke_s) AS wakes) AS woke,
       (SELECT json_group_array(json(words)) FROM outcome AS o WHERE o.firing_id = firing.firing_id
            AND outcome_id = (SELECT max(outcome_id) FROM outcome AS p WHERE p.firing_id = o.firing_id
                              AND p.piece_id IS NOT DISTINCT FROM o.piece_id)) AS came_out,
       (SELECT json_array(mark, width, height) FROM photograph AS f WHERE removed_utc IS NULL
            AND (f.firing_id = firing.firing_id OR f.piece_id IN (
                SELECT piece_id FROM firing_piece AS l WHERE l.firing_id = firing.firing_id))
            ORDER BY f.firing_id IS NULL, moment = 'before', photograph_id DESC LIMIT 1) AS photograph
FROM ({{chosen}}) AS chosen JOIN firing USING (firing_id) LEFT JOIN plan USING (plan_id)
"""
_CHOSEN = "SELECT firing.firing_id FROM firing LEFT JOIN plan USING (plan_id)"
_LATEST_FIRST = " ORDER BY firing.started_utc DESC, firing.firing_id DESC"
_RANKS = {rank.height: rank for rank in Rank}


def matching(db: sqlite_utils.Database, limit: int = 50, offset: int = 0, *, text: str = "", glass: str = "",
             outcome: str = "", plan: str = "", strayed: bool = False, since_utc: datetime | None = None,
             until_utc: datetime | None = None) -> list[Listed]:
    """Return the firings that fit all that is asked and were not deleted, the latest first.

    Parameters
    ----------
    db
        An open database.
    limit, offset
        How many, and after how many.
    text
        Each of its words begins a word of the firing's title, its plan, its pieces, notes or outcomes
        (daemon.store.finding.search); case and accents are no matter.
    glass, plan
        The glass watched by; the plan's title.
    outcome
        A fixed word that a piece came out with, as it stands now.
    strayed
        Whether something had to be told (wake or when you're up).
    since_utc, until_utc
        Started from, and before.
    """
    asked: dict[str, Any] = {"limit": limit, "offset": offset}
    wishes = ["binned_utc IS NULL"]
    wanted = Wanted(text)
    if wanted:
        condition, typed = firing_condition(wanted)
        for number, value in enumerate(typed):
            asked[f"typed{number}"] = value
            condition = condition.replace("?", f":typed{number}", 1)
        wishes.append(condition)
    if glass:
        asked["glass"] = glass
        wishes.append("firing.glass = :glass")
    if plan:
        asked["plan"] = plan
        wishes.append("plan.title = :plan")
    if outcome:
        asked["outcome"] = f'%"{outcome}"%'
        wishes.append("""EXISTS (SELECT 1 FROM outcome AS o WHERE o.firing_id = firing.firing_id
            AND o.words LIKE :outcome AND outcome_id = (SELECT max(outcome_id) FROM outcome AS p
                              WHERE p.firing_id = o.firing_id AND p.piece_id IS NOT DISTINCT FROM o.piece_id))""")
    if strayed:
        wishes.append("EXISTS (SELECT 1 FROM alert AS s WHERE s.firing_id = firing.firing_id AND s.rank <> 'log')")
    if since_utc is not None:
        asked["since"] = stamp(since_utc)
        wishes.append("started_utc >= :since")
    if until_utc is not None:
        asked["until"] = stamp(until_utc)
        wishes.append("started_utc < :until")
    return _listed(db, " AND ".join(wishes), asked)


def by_number(db: sqlite_utils.Database, firing_ids: Sequence[int]) -> list[Listed]:
    """Return the firings with these ids, the latest first; one that was deleted or never was is left out."""
    if not firing_ids:
        return []
    places = ", ".join(str(int(number)) for number in firing_ids)
    return _listed(db, f"binned_utc IS NULL AND firing.firing_id IN ({places})",
                   {"limit": len(firing_ids), "offset": 0})


def _listed(db: sqlite_utils.Database, wishes: str, asked: Mapping[str, Any]) -> list[Listed]:
    """Return the firings that fit an SQL condition, the latest first."""
    found = []
    where = f" WHERE {wishes}" if wishes else ""
    chosen = f"{_CHOSEN}{where}{_LATEST_FIRST} LIMIT :limit OFFSET :offset"
    for row in db.query(_LIST.format(chosen=chosen) + _LATEST_FIRST, dict(asked)):
        peak, photograph = row["peak_128"], row["photograph"]
        outcomes = [word for words in json.loads(row["came_out"]) for word in words]
        found.append(Listed(
            firing=as_firing(row), peak_c=None if peak is None else peak / STEPS_PER_C,
            duration_s=row["duration_s"],
            worst_rank=None if row["worst"] is None else _RANKS[row["worst"]],
            plan_title=row["plan_title"], woke=tuple(dict.fromkeys(json.loads(row["woke"]))),
            came_out=tuple(dict.fromkeys(outcomes)),
            picture=None if photograph is None else Thumbnail(*json.loads(photograph)),
        ))
    return found
