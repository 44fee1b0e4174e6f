"""The learned kiln in the record: learned between firings, forgotten where it is of another kiln by now.

What is kept names each firing that it was learned from, with a mark of what was learned of it. It is used only where
every one of them is still there and unchanged, with the thermocouple and the parts that are in now. So a firing that
is deleted, gets another plan or is judged again, a new thermocouple, and changed elements all make it forgotten,
without anybody having to say so. Firings that came later, or were taken in, make it learned again.

It is learned in a process of its own that gives way to everything else. In a thread beside the watch it made the
loop's turn thirty times as long: each time the loop gave up the interpreter's lock it waited for it again.

While a firing is open, a kiln that was learned before is not learned again: the firing goes on with what it began
with, as it would after a restart. Where nothing at all is kept yet, it is learned with a firing open too. That is so
after an archive was taken in, after an update from a program that learned nothing, and in a demonstration. It
disturbs nothing: the process beside the watch only reads the record, with the lowest priority, and what it writes is
one row that no watch of this firing looks at. What the watches are to know of the kiln is stored with a firing when
it begins (daemon/store/wear/known_kilns.py).
"""

from __future__ import annotations

import json
import logging
import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Sequence
from datetime import datetime, tzinfo
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.energy.tonight import Tonight
from daemon.firing.events import Sample
from daemon.firing.state import State
from daemon.firing.status import Standing
from daemon.kiln.ahead import with_forecasts
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.learn import learn
from daemon.kiln.model_text import as_text, from_text
from daemon.lifecycle.kiln_from_store import MOST_FIRINGS, past_of, with_present_parts
from daemon.store import firings, kilns
from daemon.store.database import open_database, transaction
from daemon.store.firings import Firing
from daemon.store.wear import learned_kilns
from daemon.store.wear.learned_kilns import LearnedKiln, Source

LOG = logging.getLogger(__name__)
METHOD = 2
"""Number of the rules; a kiln learned by others is learned again. [chosen: counts up with each change of them]"""
_STILL_KNOWN = 2 * MOST_FIRINGS
"""So many of the latest firings are looked through for those that the kiln was learned from. [chosen: new ones push
old ones back]"""
_LONGEST_S = 600.0
"""Learning may take so long [s]. [chosen: ten times what it takes a slow Pi]"""
_EVERY_S = 60.0
"""The forecast is made anew after so long [s]. [chosen: it moves by minutes, and costs some hundredths of a
second]"""


class Taught(NamedTuple):
    """What firings taught."""

    used: list[int]
    """The numbers of those that taught anything."""
    model: str
    """The kiln as text; empty where they taught nothing."""


def teach(path: Path, numbers: Sequence[int]) -> Taught:
    """Return what firings teach of their kiln, by their numbers in the record at ``path``, the latest first."""
    db = open_database(path, readonly=True)
    try:
        rows = [firings.firing(db, number) for number in numbers]
        past = past_of(db, [row for row in rows if row is not None])
    finally:
        db.close()
    model = learn([firing for _, firing in past])
    return Taught([number for number, _ in past], "" if model is None else as_text(model))


def teach_apart(path: Path, numbers: Sequence[int]) -> Taught:
    """Return the same, found in a process of its own.

    Raises
    ------
    BadInput
        Where that process failed, or took too long.
    """
    command = [sys.executable, "-m", "daemon.lifecycle.learned_kiln", str(path), *map(str, numbers)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=_LONGEST_S, check=True)
        return Taught(**json.loads(done.stdout))
    except (subprocess.SubprocessError, ValueError, TypeError) as err:
        raise BadInput("learned kiln", f"the process that learns it failed: {err}.") from None


def learn_due(path: Path, kiln_name: str, zone: tzinfo | None, now_utc: datetime,
              teacher: Callable[[Path, Sequence[int]], Taught] = teach_apart) -> bool:
    """Learn a kiln from the record at ``path`` where that is due; return whether it was.

    With a firing open it is due only where nothing is kept of the kiln yet. Never raises.
    """
    try:
        db = open_database(path)
        try:
            kiln_id = kilns.find(db, kiln_name)
            may_learn = kiln_id is not None and (
                firings.current(db, kiln_id) is None or learned_kilns.learned(db, kiln_id) is None)
            return kiln_id is not None and may_learn and _learn(
                db, kiln_id, zone, now_utc, lambda numbers: teacher(path, numbers))
        finally:
            db.close()
    except (sqlite3.Error, OSError, BadInput) as err:
        LOG.error("The kiln could not be learned from its firings: %s.", err)
    except Exception:
        LOG.exception("The kiln could not be learned from its firings.")
    return False


def _learn(db: sqlite_utils.Database, kiln_id: int, zone: tzinfo | None, now_utc: datetime,
           teacher: Callable[[Sequence[int]], Taught]) -> bool:
    rows = with_present_parts(db, kiln_id, zone, MOST_FIRINGS)
    kept, marks = learned_kilns.learned(db, kiln_id), [(row.firing_id, _mark(db, row)) for row in rows]
    if kept is None and not rows:
        return False
    if kept is not None and kept.method == METHOD and marks == [source[:2] for source in kept.sources]:
        return False
    if not rows:
        with transaction(db):
            learned_kilns.forget(db, kiln_id)
        LOG.info("What was learned of the kiln is forgotten: no firing is left that it was learned from.")
        return True
    taught = teacher([number for number, _ in marks])
    sources = tuple(Source(number, mark, number in taught.used) for number, mark in marks)
    with transaction(db):
        learned_kilns.put(db, kiln_id, LearnedKiln(rows[0].probe_id, sources, taught.model, METHOD), now_utc)
    LOG.info("The kiln is learned from %d of its last %d firings.", len(taught.used), len(rows))
    return True


def _mark(db: sqlite_utils.Database, row: Firing) -> str:
    """Return what changes with anything of a firing that a kiln is learned from."""
    judged = db.execute("SELECT max(judgement_id) FROM judgement WHERE firing_id = ?", [row.firing_id]).fetchone()[0]
    return sha256(repr((row.started_utc.isoformat(), row.ended_s, row.plan_id, row.offset_c, row.alert_base,
                        judged)).encode()).hexdigest()[:16]


def known_kiln(db: sqlite_utils.Database, kiln_id: int, probe_id: int, zone: tzinfo | None) -> KilnModel | None:
    """Return the learned kiln with a probe; None where nothing is known that still holds."""
    kept = learned_kilns.learned(db, kiln_id)
    if kept is None or kept.method != METHOD or kept.probe_id != probe_id:
        return None
    there = {row.firing_id: row for row in with_present_parts(db, kiln_id, zone, _STILL_KNOWN)}
    for source in kept.sources:
        row = there.get(source.firing_id)
        if source.is_used and (row is None or _mark(db, row) != source.mark):
            return None
    return from_text(kept.model)


def kiln_beside(db: sqlite_utils.Database, row: Firing, zone: tzinfo | None) -> KilnBeside | None:
    """Return the learned kiln for a firing in it, which has taken nothing yet; None where nothing is known."""
    model = known_kiln(db, row.kiln_id, row.probe_id, zone)
    return None if model is None else KilnBeside(model, row.offset_c)


class KilnBeside:
    """The learned kiln beside an open firing: follows its readings, and says what is ahead.

    It judges nothing and wakes nobody. Made again from the stored readings it is the same, so that no checkpoint
    holds it.
    """

    def __init__(self, model: KilnModel, offset_k: float | None) -> None:
        self.model = model
        self._offset_k = offset_k or 0.0
        self._tonight = Tonight(model.thermal)
        self._told: tuple[float, object, Standing] | None = None
        self._failed = False

    def take(self, sample: Sample) -> None:
        """Take a stored reading."""
        if sample.temp_c is not None:
            self._tonight.take(sample.t_s, sample.temp_c - self._offset_k)

    def told(self, state: State, found: Standing) -> Standing:
        """Return where the firing stands with what is ahead; ``found`` where that can't be said."""
        if self._failed:
            return found
        like = (None if found.part is None else found.part.index, found.finished, found.lost_s is None,
                found.broke_off, found.is_apart, found.fall_off_share is None)
        told = self._told
        if told is None or told[1] != like or not 0.0 <= found.t_s - told[0] < _EVERY_S:
            try:
                told = self._told = found.t_s, like, with_forecasts(state, found, self._tonight, self.model)
            except Exception:
                LOG.exception("What the kiln will do could not be foreseen; the plan is gone on with without that.")
                self._failed = True
                return found
        return told[2].forecast_over(found)


def main(arguments: Sequence[str]) -> int:
    """Print what firings teach as JSON: the record, then their numbers; for ``teach_apart``."""
    os.nice(19)
    path, *numbers = arguments
    sys.stdout.write(json.dumps(teach(Path(path), [int(number) for number in numbers])._asdict()))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
