"""Which good news the owner chose on the page; kept in the database, and goes before the settings."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace

import sqlite_utils

from daemon.notify.other_messages import LOUDNESS, MILESTONES, Loudness, Post
from daemon.store.own_facts import put_setting, setting

_KEY = "tell"


def chosen(db: sqlite_utils.Database) -> dict[str, Loudness]:
    """Return how loudly each milestone is told that was chosen on the page; what makes no sense is left out."""
    try:
        kept = json.loads(setting(db, _KEY) or "{}")
    except ValueError:
        return {}
    if not isinstance(kept, dict):
        return {}
    return {name: word for name, said in kept.items() if name in MILESTONES for word in LOUDNESS if word == said}


def choose(db: sqlite_utils.Database, choices: Mapping[str, Loudness]) -> None:
    """Keep what was chosen; it holds from the next milestone on, without a restart."""
    put_setting(db, _KEY, json.dumps(dict(choices), sort_keys=True))


def as_chosen(post: Post, db: sqlite_utils.Database) -> Post:
    """Return the channels and the milestones as chosen by now."""
    return replace(post, milestones={**post.milestones, **chosen(db)})
