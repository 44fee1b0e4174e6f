"""Tells that no copy was taken elsewhere for long: once in each such stretch, as what can wait for the morning."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Collection
from datetime import datetime
from pathlib import Path

import sqlite_utils

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.notify.other_messages import Post, of_old_copy
from daemon.store import outbox
from daemon.store.database import open_database, transaction
from daemon.store.own_facts import put_setting, setting
from daemon.store.safety import elsewhere
from daemon.store.safety.elsewhere import OLD, age_words
from daemon.store.stamps import moment, stamp

LOG = logging.getLogger(__name__)
_TOLD = "old-copy-told"
_SET = "copies-elsewhere-set"


def tell_old_copy(record: Path, places: Collection[str], post: Post, clock: Clock) -> str:
    """Put a message into the outbox where the newest copy elsewhere is too old and that was not told yet.

    Parameters
    ----------
    record
        The database, opened for this alone: it is called in a thread of its own.
    places
        Where copies are kept, as the settings spell it; none, and nothing is told.
    post
        Whom to tell.
    clock
        Wall time; while nothing that is trusted has set it, nothing is old.

    Returns
    -------
    str
        A sentence for the page as long as the newest copy is too old; empty otherwise.
    """
    if not places or not clock.synchronised() or not record.is_file():
        return ""
    now = clock.utc()
    try:
        db = open_database(record)
        try:
            newest = elsewhere.newest(record.parent, places)
            since = newest.made if newest is not None and newest.made is not None else _set_since(db, places, now)
            if now - since <= OLD:
                return ""
            said = _sentence(newest, now)
            if setting(db, _TOLD) != stamp(since):
                with transaction(db):
                    put_setting(db, _TOLD, stamp(since))
                    outbox.post(db, of_old_copy(said, post), now)
            return f"{said} “Check the box” on the kiln’s page says what to do."
        finally:
            db.close()
    except (sqlite3.Error, OSError, BadInput) as err:
        LOG.error("Whether the copies elsewhere are old could not be looked up: %s.", err)
        return ""


def _set_since(db: sqlite_utils.Database, places: Collection[str], now: datetime) -> datetime:
    """Return since when these places are set of which none has a copy; from the first look on."""
    since, _, of = (setting(db, _SET) or "").partition(" ")
    names = " ".join(sorted(places))
    if of != names:
        put_setting(db, _SET, f"{stamp(now)} {names}")
        return now
    return moment(since)


def _sentence(newest: elsewhere.Known | None, now: datetime) -> str:
    if newest is None or newest.made is None:
        return f"No copy of the record was taken elsewhere yet. It was to be done for over {OLD.days} days."
    return f"Newest copy elsewhere: {age_words(newest.made, now)}, {newest.where}."
