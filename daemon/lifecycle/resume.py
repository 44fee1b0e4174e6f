"""Going on with a firing that was open when the daemon stopped: its clock, and its judge rebuilt."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import merge
from pathlib import Path

import sqlite_utils

from daemon.clock import Clock
from daemon.firing.events import AlertChanged, Event, PartsRevised, Said, Sample
from daemon.firing.setup import Reads
from daemon.lifecycle import checkpoint
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.known_gaps import OFF_UNKNOWN
from daemon.lifecycle.learned_kiln import kiln_beside
from daemon.lifecycle.open_firing import LiveFiring, Place
from daemon.lifecycle.setup_from_store import known_setup
from daemon.notify.other_messages import Post
from daemon.store import alerts, found_parts, readings
from daemon.store.firings import Firing
from daemon.store.found_parts import ClockMark
from daemon.store.write_queue import Op

LOG = logging.getLogger(__name__)
NOT_RUNNING = "Lehrling was not running"
OFF = "the computer was off"
GIVEN_UP_S = 72 * 3600
"""A firing not looked at for longer than any kiln fires is not gone on with [s]. [common practice: three days,
castings included]"""
TOLD_AFTER_S = 120.0
"""A shorter absence is a restart that nobody needs to hear of [s]. [chosen: a computer starts again in it]"""
_TOLD = frozenset({"raised", "woke", "sharpened", "resounded"})
"""The steps of an alert that may sound."""
_BELIEVED_S = 7 * 86400
"""A longer absence by a clock that is not set is no estimate [s]. [chosen: a week]"""


@dataclass(frozen=True)
class Return:
    """Where a firing stands on the clock after an absence."""

    t_s: float
    """Second of the firing now."""
    reason: str
    """Why nothing was read."""


def returned(row: Firing, marks: Sequence[ClockMark], last_t_s: float, clock: Clock) -> Return:
    """Return where the firing is now.

    Within a boot the firing clock tells, which counts on while no process runs. After a reboot the wall
    clock tells, if it was set before and is now. Otherwise the length is unknown; what is said is the
    least it can be: the time since the boot, or the wall clock's difference, since a clock without a
    battery comes up behind.

    Parameters
    ----------
    row
        The firing.
    marks
        Its clock marks in order.
    last_t_s
        Second of its last entry [s].
    clock
        The clock as it is now.
    """
    begun = ClockMark(0, row.started_utc, row.start_boot_id, row.start_clock_s, synchronised=False)
    same_boot = [mark for mark in (begun, *marks) if mark.boot_id == clock.boot_id]
    now_s = clock.now_s()
    if same_boot and (t_s := now_s - same_boot[-1].clock_s + same_boot[-1].t_s) >= last_t_s:
        return Return(t_s, NOT_RUNNING)
    mark = marks[-1] if marks else begun
    wall_s = (clock.utc() - mark.wall_utc).total_seconds() * row.speed - (last_t_s - mark.t_s)
    if mark.synchronised and clock.synchronised() and wall_s >= 0:
        return Return(last_t_s + max(wall_s, now_s), OFF)
    least_s = max(now_s, wall_s) if 0 <= wall_s <= _BELIEVED_S else now_s
    return Return(last_t_s + least_s, OFF_UNKNOWN)


def entries(db: sqlite_utils.Database, firing_id: int) -> list[Sample | Said]:
    """Return the stored entries of a firing in the order they were judged.

    At the same second what the maker said comes before the reading, as the daemon takes requests first.
    """
    said: list[tuple[float, int, Sample | Said]] = [
        (entry.t_s, 0, entry) for entry in found_parts.said(db, firing_id)]
    read: list[tuple[float, int, Sample | Said]] = [
        (entry.t_s, 1, entry) for entry in readings.samples(db, firing_id)]
    return [entry for _, _, entry in merge(said, read, key=lambda row: row[:2])]


def replay(judge: Judge, taken: Sequence[Sample | Said]) -> list[Event]:
    """Step through stored entries and return all that came of them, but only the last word on parts."""
    found: list[Event] = []
    parts: PartsRevised | None = None
    for entry in taken:
        for event in judge.take(entry):
            if isinstance(event, PartsRevised):
                parts = event
            else:
                found.append(event)
    return found if parts is None else [*found, parts]


def resume(db: sqlite_utils.Database, row: Firing, clock: Clock, place: Place, reads: Reads,
           post: Post, checkpoint_path: Path | None = None) -> tuple[LiveFiring, list[Op]] | None:
    """Rebuild an open firing from what is stored, from the last checkpoint on where there is one.

    Returns
    -------
    tuple or None
        The firing and what has still to be kept of it: a clock mark, and the end of alerts that this program does
        not know any more. None where it was left too long ago to go on with.
    """
    taken = entries(db, row.firing_id)
    samples = [entry for entry in taken if isinstance(entry, Sample)]
    marks = found_parts.clock_marks(db, row.firing_id)
    last_t_s = max([0.0, *(entry.t_s for entry in taken[-1:]), *(float(mark.t_s) for mark in marks[-1:])])
    back = returned(row, marks, last_t_s, clock)
    if back.t_s - last_t_s > GIVEN_UP_S:
        return None
    live = LiveFiring(row, clock.now_s() - back.t_s, Judge(known_setup(db, row, reads), row.alert_base), place, post)
    live.kiln = kiln_beside(db, row, post.zone)
    _judge(live, taken, checkpoint_path)
    live.is_dated = any(mark.synchronised for mark in marks)
    live.last_t_s = samples[-1].t_s if samples else 0.0
    live.gap_reason = back.reason
    for sample in samples:
        live.follow(sample)
    ops = live.keeping(_go_on_as_told(db, live, back.t_s), clock.utc())
    away_s = back.t_s - live.last_t_s
    if away_s > TOLD_AFTER_S:
        ops += live.returning(away_s, clock.utc())
    first_tick_s = live.next_tick_s(clock.now_s())
    LOG.info("Going on with firing %d, %s, at second %.0f after %.0f s without a reading: %s.",
             row.firing_id, row.title, back.t_s, back.t_s - live.last_t_s, back.reason)
    return live, [*ops, *live.marking(clock, first_tick_s)]


def _judge(live: LiveFiring, taken: Sequence[Sample | Said], path: Path | None) -> None:
    """Let a new judge take the stored entries, those before the checkpoint at once."""
    found = None if path is None else checkpoint.read(path, live.of, taken)
    if found is not None:
        state, live.taken = found
        live.judge.go_on_from(state)
    rest = taken[live.taken.number:]
    live.taken = checkpoint.after_all(rest, live.taken)
    replay(live.judge, rest)


def _go_on_as_told(db: sqlite_utils.Database, live: LiveFiring, t_s: float) -> list[AlertChanged]:
    """Let the judge go on with the alerts as they are stored, and return those steps of them that are not stored yet.

    They differ from what it has found only where the program was changed, or what is known of the kiln.
    """
    number = live.row.firing_id
    stored = alerts.alerts(db, number)
    live.earlier = tuple(alert for alert in stored if alert.no <= live.row.alert_base)
    told_s = {step.no: step.t_s for step in alerts.transitions(db, number) if step.change in _TOLD}
    changes = live.judge.go_on_from_record(stored, told_s, t_s)
    if changes is not None:
        LOG.warning("The stored readings of firing %d give other alerts than were told. Those of the record go on.",
                    number)
    return changes or []
