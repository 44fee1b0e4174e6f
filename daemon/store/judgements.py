"""What a firing was judged to be when it ended, and each time it was named anew; never changed afterwards."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlite_utils

from daemon.store.chain import links
from daemon.store.chain.contents import JUDGEMENT
from daemon.store.database import insert, transaction
from daemon.store.stamps import moment, stamp


@dataclass(frozen=True, slots=True)
class Judgement:
    """One judgement; ``told`` is what ``daemon.lifecycle.judge.Judge.judgement`` gave, plain values."""

    judgement_id: int
    firing_id: int
    wall_utc: datetime
    version: str
    """Of the program that judged."""
    told: Mapping[str, Any]


def add_judgement(db: sqlite_utils.Database, firing_id: int, told: Mapping[str, Any], version: str,
                  now_utc: datetime) -> int:
    """Keep a judgement and return its id."""
    with transaction(db):
        judgement_id = insert(db, "judgement", {
            "firing_id": firing_id, "wall_utc": stamp(now_utc), "version": version,
            "told": json.dumps(dict(told), ensure_ascii=False, allow_nan=False),
        })
        links.add_latest(db, firing_id, JUDGEMENT)
    return judgement_id


def judgement(db: sqlite_utils.Database, firing_id: int) -> Judgement | None:
    """Return the latest judgement of a firing; None where it has none."""
    for row in db.query(
            "SELECT * FROM judgement WHERE firing_id = ? ORDER BY judgement_id DESC LIMIT 1", [firing_id]):
        return Judgement(row["judgement_id"], row["firing_id"], moment(row["wall_utc"]), row["version"],
                         json.loads(row["told"]))
    return None
