"""What is wrong with delivery, in sentences for the page: messages that wait, a process that does not run."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Sequence
from datetime import datetime, time, timedelta, tzinfo

import sqlite_utils

from daemon.notify.alert_messages import Channel
from daemon.notify.other_messages import is_hushed
from daemon.notify.sends_nothing import WORDS
from daemon.store import outbox
from daemon.store.outbox import Fate

WAITING_S = 120.0
"""A message not sent by then is worth a word [s]. [chosen: some tries have failed by then]"""
_TRY = ("Send a trial under “How Lehrling reaches you”. If it waits, too, the part that sends does not run "
        "(lehrling deliver).")
"""What to do about a message that nothing has tried to send."""
_LOOK_EVERY_S = 10.0
"""Time between two looks into the outbox [s]. [chosen: short against WAITING_S]"""


class PostHealth:
    """Looks into the outbox now and then, with the daemon's own connection.

    Parameters
    ----------
    database
        Gives the open file, or None.
    channels
        The channels of the settings.
    zone
        The owner's time zone; None is the computer's.
    quiet_hours
        In which only wakes go out.
    sends_nothing
        Whether nothing is sent on purpose, as in a demonstration.
    """

    def __init__(self, database: Callable[[], sqlite_utils.Database | None], channels: Sequence[Channel],
                 zone: tzinfo | None, quiet_hours: tuple[time, time] | None = None, *,
                 sends_nothing: bool = False) -> None:
        self._database = database
        self._names = {channel.name for channel in channels}
        self._zone = zone
        self._quiet_hours = quiet_hours
        self._sends_nothing = sends_nothing
        self._looked: datetime | None = None
        self._found: list[str] = []

    def trouble(self, now: datetime) -> list[str]:
        """Return a sentence for each channel that does not get through."""
        if self._names and (self._looked is None or abs((now - self._looked).total_seconds()) >= _LOOK_EVERY_S):
            self._looked = now
            self._look(now)
        return self._found

    def _look(self, now: datetime) -> None:
        """Find the messages that have waited too long, those held back by quiet hours left aside."""
        db = self._database()
        if db is None:
            return  # the record's own trouble is told already
        try:
            waiting = [fate for fate in outbox.unsent(db) if fate.channel in self._names]
        except sqlite3.Error:
            return
        hushed = any(is_hushed(self._quiet_hours, moment.astimezone(self._zone).time())
                     for moment in (now, now - timedelta(seconds=WAITING_S)))
        late = [fate for fate in waiting if now - fate.created_utc >= timedelta(seconds=WAITING_S)
                and (fate.rank == "wake" or not hushed)]
        self._found = [self._sentence(name, [fate for fate in late if fate.channel == name])
                       for name in sorted({fate.channel for fate in late})]

    def _sentence(self, channel: str, late: Sequence[Fate]) -> str:
        since = f"{late[0].created_utc.astimezone(self._zone):%H:%M}"
        count = "a message waits" if len(late) == 1 else f"{len(late)} messages wait"
        if self._sends_nothing:
            return f"{WORDS} What stands on this page does not reach {channel}."
        why = late[0].error.rstrip(".") or "nothing has tried to send it"
        told = f"Delivery: {count} for {channel} since {since} ({why}). What stands on this page may not reach you."
        return told if late[0].error else f"{told} {_TRY}"
