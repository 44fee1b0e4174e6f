"""Who or what wakes the owner, and how surely: said before a firing is started."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from typing import NamedTuple

from daemon.firing.events import Rank
from daemon.notify.alert_messages import Channel
from daemon.notify.reached import SOUNDER, Answer, answers
from daemon.notify.trouble import Ailing
from daemon.store import outbox
from daemon.store.database import NoDatabase
from web.request.context import daemon_state, database, settings
from web.times import date_words


class Waker(NamedTuple):
    """One way to be woken.

    Attributes
    ----------
    name
        What it is.
    words
        Whether it is known to work.
    sure
        Whether the owner has said that a trial came.
    """

    name: str
    words: str
    sure: bool


def wakers() -> Sequence[Waker]:
    """Return every way to be woken, and the sounder, whether there is one or not."""
    config = settings().config
    try:
        db = database()
        said = answers(db)
        troubled = {channel.name for channel in config.channels if _is_troubled(channel)}
    except (NoDatabase, sqlite3.Error):
        said, troubled = {}, set()
    found = [_waker(channel, said.get(channel.name), channel.name in troubled)
             for channel in config.channels if Rank.WAKE in channel.ranks]
    return (*found, _sounder(said.get(SOUNDER)))


def _sounder(said: Answer | None) -> Waker:
    """Return the sounder at the kiln with what is known of it."""
    sounder, state = settings().config.sounder, daemon_state()
    if not sounder or (sounder.get("kind") == "gpio" and not sounder.get("pin")):
        return Waker("Sounder", "there is none at the kiln", sure=False)
    if state is not None and any(one.ailing is Ailing.SOUNDER for one in state.troubles):
        return Waker("Sounder", "it does not work just now", sure=False)
    if said is None:
        return Waker("Sounder", "at the kiln, not tried yet", sure=False)
    day = date_words(said.utc.astimezone(settings().zone))
    if said.reached:
        return Waker("Sounder", f"at the kiln, heard on {day}; it needs no network", sure=True)
    return Waker("Sounder", f"at the kiln, not heard on {day}", sure=False)


def _is_troubled(channel: Channel) -> bool:
    last = outbox.last_fate(database(), channel.name)
    return last is not None and last.sent_utc is None and bool(last.error)


def _waker(channel: Channel, said: Answer | None, troubled: bool) -> Waker:
    """Return a channel with what is known of it."""
    late = f", after {channel.after_min:.0f} min without an answer" if channel.after_min else ""
    if troubled:
        return Waker(channel.name, f"the last message did not get through{late}", sure=False)
    if said is None:
        return Waker(channel.name, f"not tried yet{late}", sure=False)
    day = date_words(said.utc.astimezone(settings().zone))
    if said.reached:
        return Waker(channel.name, f"a trial reached you on {day}{late}", sure=True)
    return Waker(channel.name, f"the trial of {day} did not reach you{late}", sure=False)
