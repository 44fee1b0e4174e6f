"""One firing as it is kept, read from the store and set against its plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlite_utils

from daemon.firing.events import Alert, Part
from daemon.firing.plan.schedule import PlannedPart, planned_parts
from daemon.glass.exposure import HAZE_C
from daemon.glass.materials import FAMILIES, Glass
from daemon.service.state_reader import DaemonState, number
from daemon.store import alerts as alert_store
from daemon.store import found_parts, judgements, plans, readings
from daemon.store.firings import Firing
from daemon.store.judgements import Judgement
from daemon.store.plans import StoredPlan
from web.drawing.decimation import Column
from web.drawing.trace_model import Picture, marks_of
from web.firings.left_plan import (
    before_lines,
    free_until_left,
    taken_up_elsewhere,
    until_broken,
    until_left,
    until_lost,
)
from web.firings.plan_and_run import Leg, cells, corner_points, free_spans, legs
from web.request.context import daemon_state, database, settings
from web.settings import Settings


@dataclass(frozen=True)
class Record:
    """What the page knows of one firing."""

    firing: Firing
    plan: StoredPlan | None
    course: tuple[Leg, ...]
    alerts: Sequence[Alert]
    last_s: float
    starts: datetime
    picture: Picture
    glass: Glass | None = None
    keyed_s: tuple[float, ...] = ()
    """When lines were keyed in [s]."""

    @property
    def running(self) -> bool:
        """Return whether the firing is open."""
        return self.firing.ended_s is None


def read_record(db: sqlite_utils.Database, owner: Settings, firing: Firing, *,
                said: DaemonState | None = None, columns: int | None = None) -> Record:
    """Return a firing with its course, alerts and picture.

    Parameters
    ----------
    db
        An open database.
    owner
        The owner's unit and zone.
    firing
        Which firing.
    said
        What the daemon last said of this firing: when the part under way is expected to end, where it broke off.
    columns
        How finely the trace is wanted; None takes the thinned trace that is kept of a firing that has ended.
    """
    running = firing.ended_s is None
    last = readings.last(db, firing.firing_id)
    last_s = last.t_s if last else float(firing.ended_s or 0)
    stored = plans.plan(db, firing.plan_id) if firing.plan_id is not None else None
    found: list[Part] = found_parts.parts(db, firing.firing_id)
    planned = planned_parts(stored.parsed()) if stored else ()
    next_at_s = number(said.table("next"), "at_s") if said is not None else None
    run = legs(planned, found, last_s, ended=not running, next_at_s=next_at_s)
    trace = readings.thinned(db, firing.firing_id) if columns is None else \
        readings.buckets(db, firing.firing_id, columns)
    keyed_in = stored.parsed().keyed_in if stored else None
    run = before_lines(taken_up_elsewhere(run, trace), keyed_in, trace)
    run = _until_it_left(run, planned, trace, last_s, said)
    run = free_until_left(run, trace)
    alerts = alert_store.alerts(db, firing.firing_id)
    glass = glass_of(firing.glass)
    starts = firing.started_utc.astimezone(owner.zone)
    return Record(firing, stored, run, alerts, last_s, starts, Picture(
        columns=trace, plan=corner_points(run),
        free=free_spans(run), marks=marks_of(alerts),
        anneal_c=(glass.band_low_c, glass.band_high_c) if glass else None, haze_c=HAZE_C,
        starts=starts, unit=owner.unit, running=running,
        cells=cells(run, last_s, owner.unit), peak_c=_judged_peak_c(db, firing),
    ), glass, found_parts.keyed_in_at(db, firing.firing_id))


def _until_it_left(run: tuple[Leg, ...], planned: Sequence[PlannedPart], trace: Sequence[Column], last_s: float,
                   said: DaemonState | None) -> tuple[Leg, ...]:
    """Return the course up to where the firing broke off or was last seen, as the daemon says, or left its plan."""
    broke = said.table("broke_off") if said is not None else {}
    index, at_s, held_s = (number(broke, key) for key in ("index", "at_s", "held_s"))
    if index is None or at_s is None or not 0 <= int(index) < len(planned):
        lost_s = number(said.said, "lost_s") if said is not None else None
        return until_left(run, trace, last_s) if lost_s is None else until_lost(run, lost_s)
    return until_broken(run, planned[int(index)], at_s, held_s or 0.0)


def _judged_peak_c(db: sqlite_utils.Database, firing: Firing) -> float | None:
    kept = judgements.judgement(db, firing.firing_id) if firing.ended_s is not None else None
    return number(kept.told, "peak_c") if kept is not None else None


def glass_of(name: str) -> Glass | None:
    """Return the glass a firing names; None where this program does not know it."""
    return FAMILIES.get(name)


def read_whole(firing: Firing, columns: int | None = None) -> Record:
    """Return a firing with its trace as ``read_record`` reads it, and where the plan goes from here if it runs."""
    said = daemon_state() if firing.ended_s is None else None
    is_of_it = said is not None and said.number("firing_id") == firing.firing_id
    return read_record(database(), settings(), firing, said=said if is_of_it else None, columns=columns)


def peak_c(firing: Firing, judged: Judgement | None) -> float | None:
    """Return a firing's peak [°C]: the highest one-minute median as judged, else its highest kept reading.

    Of a firing that runs the daemon says that median, so that the figure stays when the firing has ended.
    """
    told = number(judged.told, "peak_c") if judged is not None else None
    said = daemon_state() if told is None and firing.ended_s is None else None
    if said is not None and said.number("firing_id") == firing.firing_id:
        told = said.number("peak_c")
    return told if told is not None else readings.highest_c(database(), firing.firing_id)
