"""The firing that runs now: its clock, its judge, and what has to be kept of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from importlib.metadata import version
from math import floor

import sqlite_utils

from daemon.acquisition.sampling import GAP_S
from daemon.clock import Clock
from daemon.firing.events import Alert, AlertChanged, Event, Milestone, PartsRevised, Said, Sample
from daemon.firing.status import Standing
from daemon.kiln.model_text import known_as_text
from daemon.lifecycle import known_gaps
from daemon.lifecycle.auto_end import ColdWatch
from daemon.lifecycle.checkpoint import Of, Taken
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.learned_kiln import KilnBeside
from daemon.notify import other_messages
from daemon.notify.alert_messages import Afterwards, OutboxRow, rows_for
from daemon.notify.milestone_choice import as_chosen
from daemon.notify.other_messages import Post
from daemon.notify.unstored import Unkept
from daemon.store import alerts, firings, found_parts, judgements, kilns, outbox, readings
from daemon.store.firings import EndedBy, Firing
from daemon.store.found_parts import ClockMark, Gap
from daemon.store.outbox import Letter
from daemon.store.wear import known_kilns
from daemon.store.write_queue import Op

STOOD_STILL = "the computer stood still or was too busy to read"
MARK_EVERY_S = 600
"""Time between two clock marks while nothing happens to the clock [s]. [chosen: close enough to place a clock that
was moved]"""
_TINY_S = 1e-3
"""What sums of seconds may be off by [s]. [chosen: far above rounding, far below a reading]"""
_STEP_S = 1.0
"""The wall clock has been moved when it strays by more than this from the firing clock [s]. [chosen: a clock that
runs a little fast or slow is not moved]"""

_OTHER_DAY_S = 86_400.0
"""A start that is wrong by more than this is no length of a power cut [s]. [chosen: a day]"""


@dataclass(frozen=True)
class Place:
    """The kiln and the probe in it, as the settings name them."""

    kiln_name: str
    probe_name: str
    thermocouple_type: str = "K"
    invented: bool = False
    """Whether this is the bench, so that its firings are no real ones."""

    def ids(self, db: sqlite_utils.Database) -> tuple[int, int]:
        """Return the ids of kiln and probe, made where they are new."""
        kiln_id = kilns.kiln_id(db, self.kiln_name)
        return kiln_id, kilns.probe_id(db, kiln_id, self.probe_name, self.thermocouple_type)

    def known_ids(self, db: sqlite_utils.Database) -> tuple[int, int]:
        """Return the ids of kiln and probe without writing; 0 for what the file does not know yet."""
        kiln_id = kilns.find(db, self.kiln_name)
        if kiln_id is None:
            return 0, 0
        same = (probe.probe_id for probe in kilns.probes(db, kiln_id)
                if (probe.name, probe.thermocouple_type) == (self.probe_name, self.thermocouple_type))
        return kiln_id, next(same, 0)


class LiveFiring:
    """One open firing in memory.

    Parameters
    ----------
    row
        As it stands in the file, or will; ``firing_id`` is 0 until it is stored.
    origin_s
        Second of this boot's firing clock that is the firing's second 0.
    judge
        Has taken every entry up to now.
    place
        Kiln and probe it runs in.
    post
        Whom to tell what.
    """

    def __init__(self, row: Firing, origin_s: float, judge: Judge, place: Place,
                 post: Post | None = None) -> None:
        self.row = row
        self.origin_s = origin_s
        self.judge = judge
        self.key = row.firing_id
        """Its id within the transaction that opens it; elsewhere the same as ``row.firing_id``."""
        self.cold = ColdWatch()
        self.earlier: tuple[Alert, ...] = ()
        """Alerts of earlier plans."""
        self.taken = Taken()
        """The entries that it has taken, which are stored or wait to be."""
        self.last_t_s = 0.0
        """Second of the last reading that is kept or waits to be."""
        self.gap_reason = STOOD_STILL
        self._place = place
        self._post = post or Post()
        self.kiln: KilnBeside | None = None
        """The kiln as its past firings teach it; None where they teach nothing."""
        self.unkept = Unkept()
        """Messages that wait in memory for the record to be written."""
        self._mark: ClockMark | None = None
        self.is_dated = False
        """Whether a mark of a clock that was set has told when it began."""

    def second(self, clock_s: float) -> int:
        """Return the second of the firing at ``clock_s`` of the firing clock."""
        return round(clock_s - self.origin_s)

    def next_tick_s(self, clock_s: float) -> float:
        """Return the next whole second of the firing after ``clock_s``, on the firing clock [s]."""
        return self.origin_s + floor(clock_s - self.origin_s + _TINY_S) + 1

    @property
    def of(self) -> Of:
        """Return what a checkpoint of it is of."""
        return Of(self.row.firing_id, self.judge.alert_base, self.judge.setup)

    def opening(self) -> Op:
        """Return the op that stores the firing itself; ``row`` gets its id once that is in the file."""
        return _Opening(self, self._place)

    def take(self, entry: Sample | Said, utc: datetime) -> list[Op]:
        """Judge an entry and return the ops that store it and the events it brought about."""
        self.taken = self.taken.after(entry)
        ops = self._reading(entry) if isinstance(entry, Sample) else [self._said(entry)]
        return ops + self.keeping(self.judge.take(entry), utc)

    def keeping(self, events: Iterable[Event], utc: datetime, *, tell: bool = True) -> list[Op]:
        """Return the ops that store ``events``, with the messages they ask for where ``tell`` is true."""
        ops: list[Op] = []
        parts: PartsRevised | None = None
        for event in events:
            if isinstance(event, AlertChanged):
                ops.append(self._change(event, utc, self._messages(event) if tell else []))
            elif isinstance(event, Milestone):
                ops.append(self._milestone(event))
                if tell:
                    ops.append(self._good_news(event, utc))
            else:
                parts = event
        return ops if parts is None else [*ops, self._parts(parts)]

    def returning(self, away_s: float, utc: datetime) -> list[Op]:
        """Return the ops of the messages that the watch is back after ``away_s`` without a reading [s]."""
        return _posting(other_messages.of_return(self.row.title, away_s, self.gap_reason, self._post), utc)

    def ending(self, t_s: float, utc: datetime, ended_by: EndedBy) -> Op:
        """Return the op that stores the end of the firing, its parts and its judgement."""
        outcome = self._outcome(utc)

        def op(db: sqlite_utils.Database) -> None:
            firings.end_firing(db, self.key, t_s, utc, ended_by)
            outcome(db)
        return op

    def judged_anew(self, utc: datetime) -> list[Op]:
        """Return the ops that store parts and judgement of a firing that has ended and was judged again."""
        return [self._outcome(utc)]

    def _outcome(self, utc: datetime) -> Op:
        """Return the op that stores the parts, the last one ended, and the judgement."""
        told, parts = self.judge.judgement(), self.judge.parts()

        def op(db: sqlite_utils.Database) -> None:
            if parts:
                found_parts.replace_parts(db, self.key, parts)
            if told is not None:
                judgements.add_judgement(db, self.key, told, version("lehrling"), utc)
        return op

    def marking(self, clock: Clock, clock_s: float) -> list[Op]:
        """Return the op that stores a clock mark, where one is due: now and then, and when the wall clock moved."""
        mark = ClockMark(self.second(clock_s), clock.utc(), clock.boot_id, clock_s, clock.synchronised())
        last = self._mark
        if last is not None and not _is_due(last, mark, clock.speed):
            return []
        self._mark = mark
        is_set_now = mark.synchronised and (last is None or not last.synchronised)
        ops: list[Op] = [lambda db: found_parts.add_clock_mark(db, self.key, mark)]
        if mark.synchronised and not self.is_dated:
            self.is_dated = True
            ops += self._dating(mark)
        if is_set_now:
            ops.append(lambda db: known_gaps.correct(db, self.key, mark, self.row.speed))
        return ops

    def _dating(self, mark: ClockMark) -> list[Op]:
        """Return the op that corrects when the firing began, by its first mark of a clock that is set.

        Within one boot the firing's seconds are right, and so is what is reckoned from them. After a reboot they may
        lack the time without power; then only a date that is wrong by more than a day is replaced.
        """
        began = mark.wall_utc - timedelta(seconds=mark.t_s)
        wrong_s = abs((began - self.row.started_utc).total_seconds())
        if self.row.speed != 1.0 or wrong_s <= (
                _STEP_S if mark.boot_id == self.row.start_boot_id else _OTHER_DAY_S):
            return []
        self.row = replace(self.row, started_utc=began)
        return [lambda db: firings.date_firing(db, self.key, began)]

    def is_over(self) -> bool:
        """Return whether the firing is over by itself: the kiln is cold, by readings that are believed."""
        if not self.cold.is_cold:
            return False
        standing = self.judge.standing()
        if standing is not None and standing.lost_s is not None:
            return False
        return self.cold.is_over(
            self.last_t_s, finished=standing is not None and standing.finished,
            has_plan=self.judge.setup.plan is not None, opened_itself=self.row.opened_by == "climb")

    def _reading(self, sample: Sample) -> list[Op]:
        """Return the ops that store a reading, and the gap before it."""
        ops: list[Op] = [lambda db: readings.append(db, self.key, [sample])]
        if sample.t_s - self.last_t_s > GAP_S:
            gap = Gap(round(self.last_t_s), round(sample.t_s), self.gap_reason)
            ops.append(lambda db: found_parts.add_gap(db, self.key, gap))
        self.gap_reason = STOOD_STILL
        self.last_t_s = sample.t_s
        self.follow(sample)
        return ops

    def follow(self, sample: Sample) -> None:
        """Let what looks on beside the judge take a stored reading."""
        self.cold.take(sample)
        if self.kiln is not None:
            self.kiln.take(sample)

    def standing(self) -> Standing | None:
        """Return where the firing stands, with what this kiln is foreseen to do; None where the decision failed."""
        kiln, found = self.kiln, self.judge.standing(None if self.kiln is None else self.kiln.model.slows)
        state = self.judge.state
        return found if kiln is None or found is None or state is None else kiln.told(state, found)

    def _said(self, said: Said) -> Op:
        return lambda db: found_parts.add_said(db, self.key, said)

    def _change(self, change: AlertChanged, utc: datetime, messages: Sequence[OutboxRow]) -> Op:
        """Return the op that stores a step of an alert with its messages."""
        number = self.unkept.add(messages, utc, change.change, change.alert.rank.value)
        return _Change(self, change, utc, messages, number)

    def _messages(self, change: AlertChanged) -> list[OutboxRow]:
        """Return the messages about a step of an alert."""
        if self.row.speed != 1.0 and change.change == "resounded":
            return []  # a bench ten times as fast would sound ten times as often
        now = self.judge.standing() if change.change == "over" and not change.silent else None
        then = None if now is None else Afterwards(now.sentence, now.nothing_to_do, now.rate_c_per_h)
        return rows_for(change, self.row.title, self._post.channels, then, self.time_of_day)

    def time_of_day(self, t_s: float) -> str:
        """Return the owner's time of day at second ``t_s`` of the firing: ``02:14``."""
        moment = datetime.fromtimestamp(self.row.started_utc.timestamp() + t_s, tz=UTC)
        return f"{moment.astimezone(self._post.zone):%H:%M}"

    def _milestone(self, milestone: Milestone) -> Op:
        return lambda db: found_parts.add_milestone(db, self.key, milestone)

    def _good_news(self, milestone: Milestone, utc: datetime) -> Op:
        """Return the op that puts the messages of a milestone into the outbox, as the owner has chosen by then."""
        def op(db: sqlite_utils.Database) -> None:
            outbox.post(db, other_messages.of_milestone(milestone, self.row.title, as_chosen(self._post, db)), utc)
        return op

    def _parts(self, revised: PartsRevised) -> Op:
        return lambda db: found_parts.replace_parts(db, self.key, revised.parts)


def _posting(written: Sequence[Letter], utc: datetime) -> list[Op]:
    """Return the ops that put messages into the outbox; none where there are no messages."""
    def op(db: sqlite_utils.Database) -> None:
        outbox.post(db, written, utc)
    return [op] if written else []


@dataclass(frozen=True)
class _Change:
    """Stores a step of an alert with its messages; until that is done delivery finds them in the state file."""

    live: LiveFiring
    change: AlertChanged
    utc: datetime
    messages: Sequence[OutboxRow]
    number: int

    def __call__(self, db: sqlite_utils.Database) -> None:
        """Record it."""
        alerts.record(db, self.live.key, self.change, self.utc, self.messages)

    def kept(self) -> None:
        """Leave its messages to the outbox."""
        self.live.unkept.kept(self.number)


class _Opening:
    """Stores a new firing; its id is used only once it is safely in the file."""

    def __init__(self, live: LiveFiring, place: Place) -> None:
        self._live = live
        self._place = place
        self._known = live.judge.setup.kiln
        self._ids = (0, 0)

    def __call__(self, db: sqlite_utils.Database) -> None:
        """Insert it."""
        row = self._live.row
        self._ids = kiln_id, probe_id = self._place.ids(db)
        left = firings.current(db, kiln_id)
        if left is not None:  # the file could not be read when this one opened
            last = readings.last(db, left.firing_id)
            firings.end_firing(db, left.firing_id, last.t_s if last else 0.0, row.started_utc, "next")
        self._live.key = firings.open_firing(
            db, kiln_id=kiln_id, probe_id=probe_id, title=row.title, opened_by=row.opened_by,
            started_utc=row.started_utc, boot_id=row.start_boot_id, clock_s=row.start_clock_s,
            speed=row.speed, plan_id=row.plan_id, glass=row.glass, thickness_mm=row.thickness_mm,
            faces=row.faces, offset_c=row.offset_c, piece_ids=row.piece_ids, invented=row.invented)
        if self._known is not None:
            known_kilns.put(db, self._live.key, known_as_text(self._known))

    def kept(self) -> None:
        """Tell the firing its id."""
        kiln_id, probe_id = self._ids
        self._live.row = replace(self._live.row, firing_id=self._live.key, kiln_id=kiln_id, probe_id=probe_id)


def _is_due(last: ClockMark, now: ClockMark, speed: float) -> bool:
    """Return whether a clock mark is due: after a while, or because the wall clock moved or was set."""
    if now.synchronised != last.synchronised or now.t_s - last.t_s >= MARK_EVERY_S:
        return True
    if speed != 1.0:
        return False  # a bench may fall behind the wall; that is no step of the clock
    strayed_s = (now.wall_utc - last.wall_utc).total_seconds() - (now.clock_s - last.clock_s)
    return abs(strayed_s) > _STEP_S
