"""Firings that broke off: they count in no figure that is of whole firings.

Power lost and never back, a stop on the way, a kiln that began its plan anew: what such a firing shows of the probe,
of the climbs and of the cooling is not what the kiln does in a firing that runs through. A maker who ends a firing
while it cools in the last step of its plan has broken nothing off.
"""

from __future__ import annotations

from collections.abc import Sequence

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Rank
from daemon.firing.plan.schedule import planned_parts
from daemon.store import found_parts, judgements, plans
from daemon.store.firings import Firing

SHORT_OF_TOP_K = 30.0
"""A firing whose peak stays so far below the highest temperature of its plan has not reached it [K].
[chosen: more than a probe is off]"""
_KINDS = tuple(kind.name for kind in KINDS if kind.leaves_no_whole_firing)


def broken_off(db: sqlite_utils.Database, ended: Sequence[Firing]) -> frozenset[int]:
    """Return the numbers of those firings that broke off; ``ended`` are firings that have ended.

    One has broken off where a wake told so: it stopped, or began anew. It has as well where it ended before its plan
    was done, and then either before the last part was begun, or without its top.
    """
    return frozenset(firing.firing_id for firing in ended if _was_stopped(db, firing) or _is_short(db, firing))


def _was_stopped(db: sqlite_utils.Database, firing: Firing) -> bool:
    """Return whether an alert woke for it."""
    return db.execute(
        f"SELECT 1 FROM alert WHERE firing_id = ? AND rank = ? AND kind IN ({', '.join('?' * len(_KINDS))}) LIMIT 1",
        [firing.firing_id, Rank.WAKE.value, *_KINDS]).fetchone() is not None


def _is_short(db: sqlite_utils.Database, firing: Firing) -> bool:
    """Return whether it ended short of its plan; without a judgement or a plan nothing is known of that."""
    kept = judgements.judgement(db, firing.firing_id)
    stored = plans.plan(db, firing.plan_id) if firing.plan_id is not None else None
    if kept is None or stored is None or kept.told.get("finished") is not False:
        return False
    try:
        planned = planned_parts(stored.parsed())
    except BadInput:
        return False
    begun = max((part.index for part in found_parts.parts(db, firing.firing_id)), default=-1)
    peak_c, top_c = kept.told.get("peak_c"), max(part.to_c for part in planned)
    is_topped = isinstance(peak_c, (int, float)) and peak_c > top_c - SHORT_OF_TOP_K
    return begun < planned[-1].index or not is_topped
