"""Whether a trial message reached the owner: asked on the page, answered by the owner alone."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.store.own_facts import put_setting, setting
from daemon.store.stamps import moment, stamp

_KEY = "reached"
SOUNDER = "[sounder]"
"""The sounder at the kiln, among the channels that the owner was asked about; no channel is named so."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the owner said of the last trial through a channel, and when."""

    reached: bool
    utc: datetime


def answers(db: sqlite_utils.Database) -> Mapping[str, Answer]:
    """Return the last answer for each channel, by its name; what makes no sense is left out."""
    try:
        kept = json.loads(setting(db, _KEY) or "{}")
        return {name: Answer(said["reached"] is True, moment(said["utc"])) for name, said in kept.items()}
    except (ValueError, KeyError, TypeError, AttributeError):
        return {}


def answer(db: sqlite_utils.Database, channel: str, *, reached: bool, now_utc: datetime) -> None:
    """Keep the owner's answer in place of an earlier one."""
    kept = {name: {"reached": said.reached, "utc": stamp(said.utc)} for name, said in answers(db).items()}
    kept[channel] = {"reached": reached, "utc": stamp(now_utc)}
    put_setting(db, _KEY, json.dumps(kept, sort_keys=True))
