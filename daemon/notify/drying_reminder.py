"""Reminds that a piece has dried as long as it was to: once, through the outbox, also after a restart."""

from __future__ import annotations

import logging
import sqlite3
from datetime import timedelta
from pathlib import Path

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.firing.events import Milestone
from daemon.notify.milestone_choice import as_chosen
from daemon.notify.other_messages import Post, of_milestone
from daemon.store import outbox, pieces
from daemon.store.database import open_database, transaction
from daemon.store.own_facts import put_setting, setting
from daemon.store.stamps import stamp

LOG = logging.getLogger(__name__)
EVERY_S = 120
"""Time between two looks at what dries [s]. [chosen: drying takes hours]"""
LATE = timedelta(days=1)
"""Later than this a reminder is of no use: the maker has been at the piece."""
_TOLD = "dry-told-{}"


def tell_dry(path: Path, post: Post, clock: Clock) -> int:
    """Put a message into the outbox for every piece that has dried since it was last looked; return how many.

    Parameters
    ----------
    path
        The database, opened for this alone: it is called in a thread of its own.
    post
        Whom to tell, and how loudly where nothing was chosen on the page.
    clock
        Wall time.
    """
    told = 0
    try:
        db = open_database(path)
        try:
            now, told_how = clock.utc(), as_chosen(post, db)
            for piece in pieces.pieces(db):
                until = piece.dry_by_utc
                key = _TOLD.format(piece.piece_id)
                if until is None or until > now or setting(db, key) == stamp(until):
                    continue
                text = f"{piece.name} has dried as long as it was to. Feel whether it is dry before you fire it."
                letters = of_milestone(Milestone(0.0, "dry", text), piece.name, told_how)
                with transaction(db):
                    put_setting(db, key, stamp(until))
                    if now - until < LATE:
                        told += len(outbox.post(db, letters, now))
        finally:
            db.close()
    except (sqlite3.Error, OSError, BadInput) as err:
        LOG.error("Whether a piece is dry could not be looked up: %s.", err)
    return told
