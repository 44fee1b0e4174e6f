"""The delivery loop: takes messages from the outbox in order, tries, marks, and tries again."""

from __future__ import annotations

import logging
import random
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Protocol

from daemon.delivery.channel_thread import Lane, Tried
from daemon.delivery.sender import Sender
from daemon.store.outbox import GIVEN_UP, Mark, Pending

LOG = logging.getLogger("lehrling.deliver")

FIRST_WAIT_S = 5.0
LONGEST_WAIT_S = 120.0
UNREADABLE_WAIT_S = 1.0
"""After the first failed try a message waits so long, later at most so long; an outbox that is locked is looked at
again after the third [s]. [chosen: a blink of the network is over in seconds; an hour of silence is not made
two]"""
JITTER = 0.25
"""Waits vary by up to this share either way, so that two houses don't knock in step. [common practice]"""
LAST_TRY = 1500
"""After so many tries a message is given up and stays in the record. [derived: about two days, at LONGEST_WAIT_S
between tries]"""

class Waiting(Protocol):
    """What the loop needs of a clock (daemon/clock.py has it)."""

    def now_s(self) -> float:
        """Return seconds that only go forward."""

    def utc(self) -> datetime:
        """Return the wall time."""


class Box(Protocol):
    """What the loop needs of the outbox."""

    def pending(self, channel: str) -> list[Pending] | None:
        """Return what waits for a channel, oldest first; None when it can't be read now."""

    def mark(self, marks: Sequence[Mark]) -> bool:
        """Store what became of messages; False when it can't be stored now."""

    def changed(self) -> bool:
        """Return whether messages wait past the file that did not before."""


def wait_s(tries: int, chance: random.Random) -> float:
    """Return how long to wait [s] after ``tries`` failed tries: doubling, bounded, with jitter."""
    plain = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** min(tries - 1, 10))
    return plain * (1 + JITTER * (2 * chance.random() - 1))


class Delivery:
    """Everything between the outbox and the channels; call ``round`` a few times a second."""

    def __init__(self, box: Box, senders: Mapping[str, Sender], clock: Waiting, chance: random.Random,
                 envelope: Callable[[Pending], str], hushed: Callable[[], bool] = lambda: False) -> None:
        self.box = box
        self.clock = clock
        self.chance = chance
        self.hushed = hushed
        """Says whether these are the owner's quiet hours, in which only wakes go out."""
        self._was_hushed = False
        self.lanes = [Lane(name, sender, envelope) for name, sender in senders.items()]

    def round(self, *, look: bool = True) -> bool:
        """Take what has come back, start what is due; return whether an attempt is under way.

        Parameters
        ----------
        look
            Whether the outbox may have changed. A lane that is due looks anyway.

        Raises
        ------
        TimeoutError
            When a channel hangs beyond help; a fresh process repeats what was not marked.
        """
        hushed = self.hushed()
        look, self._was_hushed = look or hushed is not self._was_hushed, hushed
        for lane in self.lanes:
            came_back = self._take(lane)
            if not lane.busy and (look or came_back or self._due(lane)):
                self._start(lane)
        return self.busy

    def finish(self) -> bool:
        """Take what has come back and start nothing; return whether something is still under way."""
        for lane in self.lanes:
            self._take(lane)
        return self.busy

    @property
    def busy(self) -> bool:
        """Return whether an attempt is under way."""
        return any(lane.busy for lane in self.lanes)

    @property
    def troubled(self) -> bool:
        """Return whether a channel waits to try a message again, or something sent could not be marked."""
        return any(lane.next_try_s is not None or lane.unmarked for lane in self.lanes)

    def _take(self, lane: Lane) -> bool:
        """Store what a finished attempt came to; return whether there was one."""
        tried = lane.outcome(self.clock.now_s())
        if tried is not None:
            self._settle(lane, tried)
        self._mark(lane)
        return tried is not None

    def _due(self, lane: Lane) -> bool:
        """Return whether a channel that waited may try again."""
        return lane.next_try_s is not None and self.clock.now_s() >= lane.next_try_s

    def _start(self, lane: Lane) -> None:
        """Begin an attempt where messages wait and it is their time."""
        found = self.box.pending(lane.name)
        if found is None:
            lane.next_try_s = self.clock.now_s() + UNREADABLE_WAIT_S
            return
        messages = self._without_old_resounds(lane, lane.still_waiting(found))
        if self._was_hushed:
            messages = [message for message in messages if message.rank == "wake"]
        if not messages:
            lane.next_try_s = None
            return
        newest = messages[-1].outbox_id
        if newest > lane.newest_seen or lane.next_try_s is None or self._due(lane):
            lane.newest_seen = newest
            lane.begin(messages, self.clock.now_s())

    def _without_old_resounds(self, lane: Lane, messages: list[Pending]) -> list[Pending]:
        """Fold "it still stands" into the alert's newest message, so that an outage ends quietly."""
        latest = {m.alert_id: m.outbox_id for m in messages if m.alert_id is not None}
        kept = []
        for message in messages:
            into = latest.get(message.alert_id) if message.alert_id is not None else None
            if message.change == "resounded" and into != message.outbox_id:
                lane.unmarked[message.outbox_id] = Mark(
                    message.outbox_id, message.tries, sent_utc=self.clock.utc(),
                    error=f"told by message {into}")
            else:
                kept.append(message)
        self._mark(lane)
        return kept

    def _settle(self, lane: Lane, tried: Sequence[Tried]) -> None:
        """Note for each message tried that it was sent, or when it is tried again."""
        lane.next_try_s = None
        for message, outcome in tried:
            tries = message.tries + 1
            if outcome.sent:
                lane.unmarked[message.outbox_id] = Mark(message.outbox_id, tries, sent_utc=self.clock.utc())
                lane.next_try_s = None
                LOG.info("%s: message %d sent", lane.name, message.outbox_id)
                continue
            pause_s = wait_s(tries, self.chance)
            given_up = tries >= LAST_TRY
            lane.unmarked[message.outbox_id] = Mark(
                message.outbox_id, tries, error=(GIVEN_UP if given_up else "") + outcome.trouble,
                next_try_utc=None if given_up else self.clock.utc() + timedelta(seconds=pause_s))
            lane.next_try_s = self.clock.now_s() + pause_s
            LOG.warning("%s: message %d not sent (try %d): %s; %s", lane.name, message.outbox_id, tries,
                        outcome.trouble, "given up" if given_up else f"again in {pause_s:.0f} s")

    def _mark(self, lane: Lane) -> None:
        """Store the marks that wait; they stay where the outbox can't be written."""
        if lane.unmarked and self.box.mark(list(lane.unmarked.values())):
            lane.unmarked.clear()
