"""Watching one kiln: idle or with an open firing; opens, goes on with, and ends firings."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import sqlite_utils

from daemon.acquisition.sampling import Slot
from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.firing.events import Said, Sample
from daemon.firing.plan.plan import Plan
from daemon.firing.setup import Setup
from daemon.lifecycle.auto_open import Idle
from daemon.lifecycle.checkpoint_times import CheckpointTimes
from daemon.lifecycle.delete import deletion, taking_back
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.keyed_in import keyed_in
from daemon.lifecycle.learned_kiln import KilnBeside, kiln_beside
from daemon.lifecycle.open_firing import LiveFiring, Place
from daemon.lifecycle.rename import rename
from daemon.lifecycle.requests import Ask, Delete, End, KeyedIn, Name, Say, Start, TakeBack
from daemon.lifecycle.resume import resume
from daemon.lifecycle.setup_from_store import known_setup, setup_of
from daemon.settings.config import Config
from daemon.store import firings, kilns, pieces, plans, readings
from daemon.store.firings import UNNAMED, EndedBy, Firing, OpenedBy
from daemon.store.write_queue import Journal, Op
from hw.thermocouple import Reading

LOG = logging.getLogger(__name__)


class Watch:
    """Takes readings and requests by the firing clock; keeps what comes of them in the journal."""

    def __init__(self, clock: Clock, journal: Journal, place: Place, config: Config,
                 checkpoint_path: Path | None = None) -> None:
        self.live: LiveFiring | None = None
        self.last: Sample | None = None
        """The last five-second reading, its second counted from the firing's start or an idle one's."""
        self._clock = clock
        self._journal = journal
        self._place = place
        self._config = config
        self._checkpoints = CheckpointTimes(checkpoint_path, journal, clock)
        self._idle = Idle()
        self._idle_origin_s = clock.now_s()
        self._slot = Slot()
        self._adopted = False
        self._trouble = ""
        self._token = ""
        self._kiln_is_new = False

    def next_tick_s(self, clock_s: float) -> float:
        """Return when to read next after ``clock_s``, on the firing clock [s]."""
        return clock_s + 1.0 if self.live is None else self.live.next_tick_s(clock_s)

    def adopt(self) -> None:
        """Go on with the firing that was left open, as soon as the file can be read."""
        if self._adopted:
            return
        with self._journal.readable() as db:
            if db is None:
                return
            try:
                self._adopt(db)
            except sqlite3.Error as err:
                if str(err) != self._trouble:
                    LOG.error("The record can't be read: %s.", err)
                self._trouble = str(err)

    def _adopt(self, db: sqlite_utils.Database) -> None:
        """Go on with the firing that an earlier run of the process left open, or end it where that is long ago."""
        kiln_id = kilns.find(db, self._place.kiln_name)
        row = None if kiln_id is None else firings.current(db, kiln_id)
        if row is None or self.live is not None:
            # One that a climb opened while the file could not be read ends the one left open.
            self._adopted = True
            return
        found = resume(db, row, self._clock, self._place, self._config.reads, self._config.post,
                       self._checkpoints.path)
        self._adopted = True
        if found is None:
            LOG.warning("Firing %d was left open for days; it ends with its last reading.", row.firing_id)
            last, utc = readings.last(db, row.firing_id), self._clock.utc()
            last_s = last.t_s if last else 0.0
            self._journal.write([lambda db: firings.end_firing(db, row.firing_id, last_s, utc, "cold")])
            return
        self.live, ops = found
        self._slot = Slot()
        self._journal.write(ops)
        self._take_idle(self.live)
        self._checkpoints.after_restart()

    def kiln_was_learned(self) -> None:
        """Let an open firing that knows nothing of its kiln take up what was learned, with its next reading.

        May be called from another thread.
        """
        self._kiln_is_new = True

    def _take_up_kiln(self, live: LiveFiring) -> None:
        """Give the open firing the kiln that was learned meanwhile, which then takes all stored readings.

        So the walls are as warm as after a restart. While something waits to be written, it is tried again later.
        """
        if live.kiln is not None:
            self._kiln_is_new = False
            return
        db = self._journal.database()
        if db is None or self._journal.waiting:
            return
        self._kiln_is_new = False
        try:
            found = kiln_beside(db, live.row, self._config.post.zone)
            if found is None:
                return
            for sample in readings.samples(db, live.row.firing_id):
                found.take(sample)
        except sqlite3.Error as err:
            LOG.error("What was learned of the kiln can't be read: %s.", err)
            return
        live.kiln = found
        LOG.info("The open firing goes on with what was learned of the kiln.")

    def overdue(self, clock_s: float) -> None:
        """Keep the reading of a slot that ended while nothing was read; goes before requests."""
        for sample in self._slot.overdue(self._second(clock_s)):
            self._take(sample, clock_s)

    def read(self, clock_s: float, reading: Reading) -> bool:
        """Take a reading; return whether it completed a five-second one, which is kept then."""
        done = self._slot.add(self._second(clock_s), reading)
        for sample in done:
            self._take(sample, clock_s)
        return bool(done)

    def ask(self, ask: Ask, clock_s: float) -> list[Op]:
        """Do what was asked and return what has to be kept of it.

        Raises
        ------
        BadInput
            Where it can't be done; nothing has happened then.
        """
        if isinstance(ask, Start):
            return self._start(ask, clock_s)
        if isinstance(ask, End):
            live = self._asked_live(ask.firing_id)
            return self._end(live, live.second(clock_s), clock_s, "maker")
        if isinstance(ask, Say):
            live = self._asked_live(ask.firing_id)
            said: Said = ask.said._replace(t_s=float(live.second(clock_s)))
            return live.take(said, self._clock.utc())
        if isinstance(ask, Delete):
            return [deletion(self._readable(), ask, self._clock.utc())]
        if isinstance(ask, TakeBack):
            return [taking_back(self._readable(), ask)]
        if isinstance(ask, KeyedIn):
            live = self._asked_live(ask.firing_id)
            return keyed_in(self._readable(), live, ask, self._config.reads, float(live.second(clock_s)),
                            self._clock.utc())
        return self._name(ask)

    def _second(self, clock_s: float) -> int:
        return round(clock_s - self._idle_origin_s) if self.live is None else self.live.second(clock_s)

    def _take(self, sample: Sample, clock_s: float) -> None:
        """Judge and keep one five-second reading, or look in it for a climb."""
        self.last = sample
        live = self.live
        if live is None:
            if self._idle.add(sample):
                self._open_by_climb(clock_s)
            return
        ops = live.take(sample, self._clock.utc()) + live.marking(self._clock, clock_s)
        plain = len(ops) == 1
        if live.is_over():
            ops += self._end(live, sample.t_s, clock_s, "cold")
        self._journal.write(ops, readings_only=plain)
        if self._kiln_is_new and self.live is not None:
            self._take_up_kiln(self.live)
        self._checkpoints.see(self.live, clock_s)

    def keep_checkpoint(self) -> None:
        """Keep what the decision remembers of the open firing, so that a restart goes on at once."""
        self._checkpoints.write(self.live)

    def _open_by_climb(self, clock_s: float) -> None:
        """Open a firing for a climb that nobody announced, from the first kept reading on."""
        kept = self._idle.take()
        origin_s = self._idle_origin_s + kept[0].t_s
        ops = self._open(None, clock_s, origin_s, UNNAMED, "climb")
        live = self.live
        if live is not None:
            for sample in kept:
                ops += live.take(sample._replace(t_s=sample.t_s - kept[0].t_s), self._clock.utc())
            LOG.info("The kiln climbs: a firing opens by itself, with the last %.0f min kept.",
                     live.last_t_s / 60)
        self._journal.write(ops)

    def _start(self, ask: Start, clock_s: float) -> list[Op]:
        """Open a firing that the maker asked for; the one that runs ends where he saw it."""
        if ask.token and ask.token == self._token:
            return []  # the same form once more
        self._refuse_unseen(ask)
        plan = self._plan(ask.plan_id)
        ask = replace(ask, piece_ids=self._known_pieces(ask.piece_ids))
        if self.live is not None:  # kept before the next one opens, which may know what this one has shown
            self._journal.write(self._end(self.live, self.live.second(clock_s), clock_s, "next"))
        ops = self._open(plan, clock_s, clock_s, ask.title, "maker", ask)
        self._idle.take()
        self._token = ask.token
        LOG.info("Firing started: %s.", ask.title)
        return ops

    def _refuse_unseen(self, ask: Start) -> None:
        """Raise BadInput where a firing runs that whoever asks for another one did not see."""
        live = self.live
        if live is not None and (ask.saw_firing_id is None or ask.saw_firing_id != live.row.firing_id):
            raise BadInput("firing", f"“{live.row.title}” runs now; it was not ended.",
                           "Load the page again. End that one first if you mean to start another.")

    def _open(self, plan: Plan | None, clock_s: float, origin_s: float, title: str, opened_by: OpenedBy,
              ask: Start | None = None) -> list[Op]:
        """Open a firing in memory and return the ops that store it."""
        load = ask or Start()
        clock = self._clock
        ago_s = (clock_s - origin_s) / clock.speed
        row = Firing(
            firing_id=0, kiln_id=0, probe_id=0, plan_id=load.plan_id, title=title,
            opened_by=opened_by, started_utc=clock.utc() - timedelta(seconds=ago_s),
            start_boot_id=clock.boot_id, start_clock_s=origin_s, speed=clock.speed,
            glass=load.glass, thickness_mm=load.thickness_mm, faces=load.faces, offset_c=load.offset_c,
            ended_s=None, ended_utc=None, ended_by=None, alert_base=0, invented=self._place.invented,
            piece_ids=load.piece_ids)
        beside = self._kiln_beside(row)
        setup = replace(self._setup(row, plan), kiln=None if beside is None else beside.model.for_watches)
        self.live = live = LiveFiring(row, origin_s, Judge(setup), self._place, self._config.post)
        live.kiln = beside
        if opened_by == "maker":
            self._slot = Slot()
        return [live.opening(), *live.marking(clock, clock_s)]

    def _setup(self, row: Firing, plan: Plan | None) -> Setup:
        """Return what is known before the first reading of a firing that is not stored yet.

        It must be what a restart finds: else the restart judges the stored readings by other knowledge, and comes to
        other alerts than those that were told.
        """
        with self._journal.readable() as db:
            if db is not None:
                try:
                    kiln_id, probe_id = self._place.known_ids(db)
                    return known_setup(db, replace(row, kiln_id=kiln_id, probe_id=probe_id), self._config.reads)
                except sqlite3.Error as err:
                    LOG.error("What is known of earlier firings can't be read: %s.", err)
        return setup_of(row, plan, self._config.reads)

    def _kiln_beside(self, row: Firing) -> KilnBeside | None:
        """Return the kiln as its past firings teach it, for a firing that is not stored yet."""
        with self._journal.readable() as db:
            if db is not None:
                try:
                    kiln_id, probe_id = self._place.known_ids(db)
                    return kiln_beside(db, replace(row, kiln_id=kiln_id, probe_id=probe_id), self._config.post.zone)
                except sqlite3.Error as err:
                    LOG.error("What was learned of the kiln can't be read: %s.", err)
        return None

    def _end(self, live: LiveFiring, t_s: float, clock_s: float, ended_by: EndedBy) -> list[Op]:
        """End the open firing in memory and return the ops that store its end."""
        self.live = None
        self._idle.take()
        self._idle_origin_s = clock_s
        self._slot = Slot()
        LOG.info("Firing %s ended (%s) at second %.0f.", live.row.title, ended_by, t_s)
        return [live.ending(t_s, self._clock.utc(), ended_by)]

    def _take_idle(self, live: LiveFiring) -> None:
        """Give a resumed firing the readings that were taken before the file could be read."""
        for sample in self._idle.take():
            t_s = live.second(self._idle_origin_s + sample.t_s)
            if t_s > live.last_t_s:
                self._journal.write(live.take(sample._replace(t_s=float(t_s)), self._clock.utc()))

    def _asked_live(self, firing_id: int | None) -> LiveFiring:
        """Return the open firing; BadInput where another one is meant."""
        if self.live is None:
            raise BadInput("firing", "none is open.", "Start one first.")
        if firing_id is not None and self.live.row.firing_id not in (0, firing_id):
            raise BadInput("firing", f"number {firing_id} is not the open one.", "Load the page again.")
        return self.live

    def _name(self, ask: Name) -> list[Op]:
        """Return the ops that name a firing, the open one or an earlier one."""
        db = self._readable()
        if "plan_id" in ask.changes:
            self._plan(ask.changes["plan_id"])
        if ask.piece_ids is not None:
            ask = replace(ask, piece_ids=self._known_pieces(ask.piece_ids))
        live = self.live
        if live is None or live.row.firing_id != ask.firing_id:
            row = firings.firing(db, ask.firing_id)
            if row is None:
                raise BadInput("firing", f"there is no number {ask.firing_id}.", "Load the page again.")
            live = LiveFiring(row, 0.0, Judge(known_setup(db, row, self._config.reads)), self._place)
        return rename(db, live, ask, self._config.reads, self._clock.utc())

    def _plan(self, plan_id: int | None) -> Plan | None:
        """Return a stored plan; BadInput where there is none."""
        if plan_id is None:
            return None
        stored = plans.plan(self._readable(), plan_id)
        if stored is None:
            raise BadInput("plan", f"there is no number {plan_id}.", "Choose another one.")
        return stored.parsed()

    def _known_pieces(self, piece_ids: Sequence[int]) -> tuple[int, ...]:
        """Return those of the pieces that are kept."""
        if not piece_ids:
            return ()
        db = self._readable()
        return tuple(piece_id for piece_id in piece_ids if pieces.piece(db, piece_id) is not None)

    def _readable(self) -> sqlite_utils.Database:
        """Write all that waits, and return the open file."""
        db = self._journal.database() if self._journal.flush() else None
        if db is None:
            raise BadInput("storage", "the record can't be read or written now.", "Try again when it is mended.")
        return db
