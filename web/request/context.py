"""The database as one request sees it: opened when first asked for, closed when the answer is sent."""

from __future__ import annotations

from dataclasses import replace

import sqlite_utils
from flask import current_app, g, request

from daemon.service.state_reader import DaemonState, read_daemon_state
from daemon.store import kilns
from daemon.store.database import FILE_NAME, NoDatabase, is_current, open_database
from web.preferences import COOKIE, Preferences, read_preferences
from web.settings import Settings


def settings() -> Settings:
    """Return what this page was started with, in the unit of the one who looks."""
    if "house_settings" not in g:
        found = current_app.extensions["lehrling"]
        assert isinstance(found, Settings)
        g.house_settings = replace(found, unit=preferences().unit)
    kept = g.house_settings
    assert isinstance(kept, Settings)
    return kept


def preferences() -> Preferences:
    """Return the preferences that the asking browser sent."""
    found = current_app.extensions["lehrling"]
    assert isinstance(found, Settings)
    return read_preferences(request.cookies.get(COOKIE, ""), found.unit)


def database() -> sqlite_utils.Database:
    """Return this request's connection.

    Raises
    ------
    NoDatabase
        Where the daemon has not made the file, or not brought it to today's schema.
    """
    collected = settings().collected
    if "house_db" not in g and collected is not None:
        g.house_db = collected.record()
    if "house_db" not in g:
        path = settings().data_dir / FILE_NAME
        g.house_db = open_database(path)
        if not is_current(g.house_db):
            raise NoDatabase(str(path), "the daemon has not brought this file up to date yet.",
                             "Start lehrling daemon; it does so by itself.")
    found: sqlite_utils.Database = g.house_db
    return found


def close_database(_error: BaseException | None = None) -> None:
    """Close this request's connection, where one was opened."""
    db = g.pop("house_db", None)
    if db is not None:
        db.close()


def kiln_id() -> int | None:
    """Return the id of the kiln that Now is about; None before the daemon has met it."""
    names = kilns.kilns(database())
    wanted = settings().kiln
    return next((number for number, name in names.items() if name == wanted), next(iter(names), None))


def daemon_state() -> DaemonState | None:
    """Return what the daemon last said."""
    collected = settings().collected
    if collected is not None:
        return collected.state()
    return read_daemon_state(settings().run_dir, settings().clock.utc())
