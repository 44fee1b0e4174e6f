"""Naming a firing afterwards; another plan or load judges its stored entries anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import sqlite_utils

from daemon.firing.events import Alert, AlertChanged
from daemon.firing.setup import Reads
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.open_firing import LiveFiring
from daemon.lifecycle.requests import Name
from daemon.lifecycle.resume import entries, replay
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import alerts, firings, found_parts
from daemon.store.write_queue import Op

JUDGED_BY = frozenset({"plan_id", "glass", "thickness_mm", "faces", "offset_c"})
"""What the decision looks at; a change of it asks for a new judgement."""


def rename(db: sqlite_utils.Database, live: LiveFiring, ask: Name, reads: Reads, utc: datetime) -> list[Op]:
    """Give a firing the names asked for and return what has to be kept.

    Nothing that was told is taken back: alerts of the earlier judgement stay in the record, those that
    still stand are over, and the new judgement numbers its own after them. It looks at the past, so it
    sends nobody a message; what still stands in it sounds by itself when its time comes.

    Parameters
    ----------
    db
        The file; everything of the firing is in it.
    live
        The firing, running or (with a second 0 of no meaning) one that has ended.
    ask
        What is asked.
    reads
        The units the owner reads.
    utc
        Wall time now.
    """
    row = live.row
    changes = {key: value for key, value in ask.changes.items() if getattr(row, key) != value}
    anew = bool(JUDGED_BY & changes.keys())
    stored = alerts.alerts(db, row.firing_id)
    if anew:
        changes["alert_base"] = max([row.alert_base, *(alert.no for alert in stored)])
    pieces = row.piece_ids if ask.piece_ids is None else ask.piece_ids
    live.row = replace(row, **changes, piece_ids=pieces)
    ops: list[Op] = [lambda db: firings.name_firing(db, row.firing_id, changes, ask.piece_ids)]
    return ops + _judged_anew(db, live, stored, reads, utc) if anew else ops


def _judged_anew(db: sqlite_utils.Database, live: LiveFiring, stored: Sequence[Alert], reads: Reads,
                 utc: datetime) -> list[Op]:
    """Return the ops that replace parts and milestones by those under the new plan, and end the old alerts."""
    taken = entries(db, live.row.firing_id)
    now_s = taken[-1].t_s if taken else 0.0
    live.earlier = tuple(alert if alert.cleared_s is not None else replace(alert, cleared_s=now_s)
                         for alert in stored)
    over = [AlertChanged(now_s, "over", now) for was, now in zip(stored, live.earlier, strict=True)
            if was.cleared_s is None]
    live.judge = Judge(known_setup(db, live.row, reads), live.row.alert_base)
    events = replay(live.judge, taken)
    firing_id = live.row.firing_id

    def forget(db: sqlite_utils.Database) -> None:
        found_parts.forget_milestones(db, firing_id)
        found_parts.replace_parts(db, firing_id, ())

    again = [] if live.row.ended_s is None else live.judged_anew(utc)
    return [forget, *live.keeping([*over, *events], utc, tell=False), *again]
