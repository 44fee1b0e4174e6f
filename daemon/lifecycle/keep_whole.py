"""A firing that is over, judged as if it were live and kept as the service would have kept it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from importlib.metadata import version
from typing import Any

import sqlite_utils

from daemon.firing.events import AlertChanged, Event, Milestone, Part, Sample
from daemon.firing.setup import Setup
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.reckon_heat import reckon
from daemon.store import alerts, firings, found_parts, judgements, readings
from daemon.store.database import transaction

_program_version = cache(version)


@dataclass(frozen=True)
class Judged:
    """Readings, and what the one decision made of them."""

    samples: tuple[Sample, ...]
    events: tuple[Event, ...]
    parts: tuple[Part, ...]
    judgement: dict[str, Any] | None


def judge_whole(setup: Setup, samples: Sequence[Sample]) -> Judged:
    """Judge readings one by one, as the service does."""
    judge = Judge(setup)
    events = tuple(event for sample in samples for event in judge.take(sample))
    return Judged(tuple(samples), events, tuple(judge.parts()), judge.judgement())


def keep_whole(db: sqlite_utils.Database, judged: Judged, started_utc: datetime, **facts: Any) -> int:
    """Keep a firing that is over, all of it or nothing; return its number.

    Parameters
    ----------
    db
        The record.
    judged
        Readings at whole seconds, and what was made of them.
    started_utc
        Wall time of second 0.
    facts
        What ``daemon.store.firings.open_firing`` takes besides.
    """
    end_s = judged.samples[-1].t_s
    ended_utc = started_utc + timedelta(seconds=end_s)
    with transaction(db):
        firing_id = firings.open_firing(db, started_utc=started_utc, clock_s=0.0, **facts)
        readings.append(db, firing_id, judged.samples)
        _keep_found(db, firing_id, judged, started_utc)
        firings.end_firing(db, firing_id, end_s, ended_utc, "cold")
        if judged.judgement is not None:
            judgements.add_judgement(db, firing_id, judged.judgement, _program_version("lehrling"), ended_utc)
        kept = firings.firing(db, firing_id)
        if kept is not None:
            reckon(db, kept)
    return firing_id


def _keep_found(db: sqlite_utils.Database, firing_id: int, judged: Judged, started_utc: datetime) -> None:
    """Keep the alerts, milestones and parts of a firing."""
    for event in judged.events:
        if isinstance(event, AlertChanged):
            alerts.record(db, firing_id, event, started_utc + timedelta(seconds=event.t_s))
        elif isinstance(event, Milestone):
            found_parts.add_milestone(db, firing_id, event)
    found_parts.replace_parts(db, firing_id, judged.parts)
