"""The daily word that the watch is awake: written by the daemon, sent by delivery, missed by the owner."""

from __future__ import annotations

import json
import logging
import sqlite3
from pathlib import Path

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.notify.other_messages import Post, of_waking
from daemon.notify.trouble import troubles_in
from daemon.store import outbox
from daemon.store.database import open_database

LOG = logging.getLogger(__name__)


def tell_awake(path: Path, present_text: str, post: Post, clock: Clock) -> None:
    """Put the daily word into the outbox; where that fails, its absence says so.

    Parameters
    ----------
    path
        The database, opened for this alone: it is called in a thread of its own.
    present_text
        The present as one line of JSON.
    """
    present = json.loads(present_text)
    said = f"{present.get('kiln', 'The kiln')}: {present.get('sentence', 'nothing is read yet.')}"
    try:
        db = open_database(path)
        try:
            outbox.post(db, of_waking(said, [trouble.text for trouble in troubles_in(present)], post), clock.utc())
        finally:
            db.close()
    except (sqlite3.Error, OSError, BadInput) as err:
        LOG.error("The daily word could not be written: %s.", err)
