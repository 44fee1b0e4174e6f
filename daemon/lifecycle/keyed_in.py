"""Going on by lines that were keyed in: they and what was done of the old plan are the plan of the open firing."""

from __future__ import annotations

import logging
from dataclasses import replace
from datetime import datetime

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.events import Said, Saying
from daemon.firing.plan.plan import Unit, write_plan
from daemon.firing.setup import Reads
from daemon.lifecycle.open_firing import LiveFiring
from daemon.lifecycle.requests import KeyedIn
from daemon.lifecycle.resume import entries
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import firings, plans
from daemon.store.write_queue import Op

LOG = logging.getLogger(__name__)
KEYED_IN_AT = ", as keyed in at "
"""What follows the old plan's title in that of lines keyed in; the time of day comes after it."""


def keyed_in(db: sqlite_utils.Database, live: LiveFiring, ask: KeyedIn, reads: Reads, t_s: float,
             utc: datetime) -> list[Op]:
    """Make lines that were keyed in the plan of the open firing, and return what has to be kept.

    What was told until now stays as it was told, and goes on under its numbers (daemon/firing/told_before.py).

    Parameters
    ----------
    db
        The file; everything of the firing is in it.
    live
        The firing.
    ask
        The lines.
    reads
        The units the owner reads.
    t_s
        The second of the firing.
    utc
        Wall time now.

    Raises
    ------
    BadInput
        Where the firing has no plan that they could go on; nothing has happened then.
    """
    old = live.judge.setup.plan
    name = old.title.split(KEYED_IN_AT)[0] if old is not None else ""
    unit: Unit = "F" if (reads.key_unit or reads.unit) == "F" else "C"
    plan = live.judge.keyed_in(ask.lines, unit, f"{name}{KEYED_IN_AT}{live.time_of_day(t_s)}", t_s)
    if plan is None or plan.keyed_in is None:
        raise BadInput("lines", "this firing has no plan that they could go on.", "Choose its plan first.")
    firing_id = live.row.firing_id
    plan = replace(plan, keyed_in=plan.keyed_in._replace(left=live.row.plan_id))
    plan_id = plans.add_plan(db, write_plan(plan), utc, only_for=firing_id)
    live.row = replace(live.row, plan_id=plan_id)
    live.judge = live.judge.by_lines(known_setup(db, live.row, reads), entries(db, firing_id))
    LOG.info("The firing goes on by %d lines that were keyed in.", len(ask.lines))
    return [lambda db: firings.name_firing(db, firing_id, {"plan_id": plan_id}, None),
            *live.take(Said(t_s, Saying.KEYED_IN), utc)]
