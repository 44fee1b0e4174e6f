"""Messages whose alert is not stored yet: delivery reads them from the state file, so that a full disk stops none."""

from __future__ import annotations

import json
import logging
import socket
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from daemon.notify.alert_messages import OutboxRow
from daemon.store.outbox import Mark, Pending
from daemon.store.stamps import moment, stamp

LOG = logging.getLogger("lehrling.deliver")
FIRST_NUMBER = 10**12
"""Numbers from here on are of messages that are in no file yet. [chosen: no outbox counts so far]"""
MOST = 50
"""So many such messages are shown in the state file at most. [chosen: more are nothing that anybody reads]"""
_ANSWER_S = 2.0
"""How long the daemon may take to answer at its socket [s]. [chosen: it answers within a tick of a second]"""
_LONGEST = 1_000_000
"""Longest answer that is read [bytes]. [chosen: far beyond MOST messages]"""


class Key(NamedTuple):
    """Identifies a message before and after it is stored."""

    channel: str
    title: str
    created: str


class Unkept:
    """In the daemon: the messages whose transition is not in the file yet, newest last."""

    def __init__(self) -> None:
        self._waiting: dict[int, list[dict[str, Any]]] = {}
        self._count = 0

    def add(self, rows: Sequence[OutboxRow], utc: datetime, change: str, rank: str) -> int:
        """Take the messages of one transition; return the number under which ``kept`` is told of them."""
        self._count += 1
        if rows:
            self._waiting[self._count] = [
                {"channel": row.channel, "title": row.title, "body": row.body, "created_utc": stamp(utc),
                 "change": change, "rank": rank} for row in rows]
        return self._count

    def kept(self, number: int) -> None:
        """Forget the messages of one transition: the outbox has them now."""
        self._waiting.pop(number, None)

    @property
    def messages(self) -> list[dict[str, Any]]:
        """Return the waiting messages for the state file; the newest MOST of them."""
        return [message for rows in self._waiting.values() for message in rows][-MOST:]


class Box(Protocol):
    """The outbox in the file, as the delivery loop uses it."""

    def pending(self, channel: str) -> list[Pending] | None:
        """Return what waits; None when it can't be read now."""

    def mark(self, marks: Sequence[Mark]) -> bool:
        """Store what became of messages."""


class BoxAndMemory:
    """In delivery: the outbox in the file, and the messages that are only in the state file.

    Once such a message is kept it is marked as sent, and not sent again.
    """

    def __init__(self, box: Box, run_dir: Path, socket_name: str, state_name: str) -> None:
        self._box = box
        self._state = run_dir / state_name
        self._socket = run_dir / socket_name
        self._written = -1
        self._told: list[dict[str, Any]] = []
        self._numbers: dict[Key, int] = {}
        self._marks: dict[int, Mark] = {}

    def changed(self) -> bool:
        """Look into the state file; return whether messages wait there that did not before."""
        try:
            written = self._state.stat().st_mtime_ns
        except OSError:
            written = 0
        if written == self._written:
            return False
        self._written = written
        before, self._told = self._told, self._read()
        if self._told and not before:
            LOG.warning("The record can't be written: %d messages are sent from memory.", len(self._told))
        return self._told != before

    def pending(self, channel: str) -> list[Pending] | None:
        """Return what waits for ``channel``, in the file and past it, oldest first."""
        kept = self._box.pending(channel)
        unkept = [self._pending(message) for message in self._told if message["channel"] == channel]
        open_still = [message for message in unkept if not self._is_sent(message.outbox_id)]
        if kept is None:
            return open_still or None
        again = [message for message in kept if self._was_sent(message)]
        if again:
            self._box.mark([self._marked(message) for message in again])
        fresh = [message for message in kept if message not in again]
        names = {(message.title, message.created_utc) for message in fresh}
        return fresh + [message for message in open_still if (message.title, message.created_utc) not in names]

    def mark(self, marks: Sequence[Mark]) -> bool:
        """Store what became of messages; for those in no file it is kept in memory."""
        for found in marks:
            if found.outbox_id >= FIRST_NUMBER:
                self._marks[found.outbox_id] = found
        in_file = [found for found in marks if found.outbox_id < FIRST_NUMBER]
        return self._box.mark(in_file) if in_file else True

    def _is_sent(self, number: int) -> bool:
        found = self._marks.get(number)
        return found is not None and found.sent_utc is not None

    def _was_sent(self, message: Pending) -> bool:
        number = self._numbers.get(_key(message))
        return number is not None and self._is_sent(number)

    def _marked(self, message: Pending) -> Mark:
        sent_utc = self._marks[self._numbers[_key(message)]].sent_utc
        return Mark(message.outbox_id, message.tries + 1, sent_utc=sent_utc, error="told from memory")

    def _pending(self, message: dict[str, Any]) -> Pending:
        key = Key(message["channel"], message["title"], message["created_utc"])
        number = self._numbers.setdefault(key, FIRST_NUMBER + len(self._numbers))
        tries = self._marks[number].tries if number in self._marks else 0
        return Pending(number, key.channel, key.title, message["body"], moment(key.created), tries, None, None,
                       message["change"], message["rank"])

    def _read(self) -> list[dict[str, Any]]:
        try:
            present = json.loads(self._state.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            present = self._asked()
        found = present.get("unkept", []) if isinstance(present, dict) else []
        return [message for message in found if isinstance(message, dict)]

    def _asked(self) -> Any:
        """Return the state as the daemon's socket gives it, where the state file can't be read."""
        try:
            with socket.socket(socket.AF_UNIX) as line:
                line.settimeout(_ANSWER_S)
                line.connect(str(self._socket))
                line.sendall(b'{"kind": "present"}\n')
                with line.makefile("rb") as answer:
                    return json.loads(answer.readline(_LONGEST))
        except (OSError, ValueError):
            return {}


def _key(message: Pending) -> Key:
    return Key(message.channel, message.title, stamp(message.created_utc))
