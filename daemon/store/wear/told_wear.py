"""What was last found of a kiln's wear: the sentences for the page, and which changes were told."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import NamedTuple

import sqlite_utils

from daemon.store.own_facts import put_setting, setting

_KEY = "wear-{}"


class ToldWear(NamedTuple):
    """What was found.

    Attributes
    ----------
    looked_at
        The firings and changes of parts that it was found by, as one word.
    lines
        Sentences for the page; empty where there is nothing to tell.
    has_changed
        Whether the first of them is a change.
    told
        The causes that were told since parts were last changed.
    """

    looked_at: str
    lines: Sequence[str]
    has_changed: bool
    told: Sequence[str]


def put(db: sqlite_utils.Database, kiln_id: int, found: ToldWear) -> None:
    """Keep what was found of a kiln in place of what was found before."""
    put_setting(db, _KEY.format(kiln_id), json.dumps(found._asdict()))


def of_kiln(db: sqlite_utils.Database, kiln_id: int) -> ToldWear | None:
    """Return what was last found of a kiln; None where nobody has looked."""
    kept = setting(db, _KEY.format(kiln_id))
    return None if kept is None else ToldWear(**json.loads(kept))
