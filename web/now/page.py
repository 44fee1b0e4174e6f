"""Now: what the kiln does, whether it is all right, and what to do."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from statistics import median
from typing import Any

from flask import Blueprint, Response, get_template_attribute, render_template, request

from daemon.firing.alerts.registry import RUNAWAY, may_be_quieted
from daemon.firing.events import Rank
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.units import Units
from daemon.installed import started
from daemon.service.state_reader import DaemonState, alert_of
from daemon.store import alerts as alert_store
from daemon.store import firing_list, firings, found_parts, judgements, kilns, pieces, plans, readings
from daemon.store.database import NoDatabase
from daemon.store.firings import Firing
from daemon.store.pieces import Piece
from web import words
from web.firings.drawings import Sheet, sheet_of
from web.firings.log import SAID, dated
from web.firings.plan_and_run import asked_words
from web.firings.record import read_record
from web.firings.verdict import FiringVerdict, kept_lines
from web.now.first_steps import first_steps
from web.now.maker_actions import DEEDS, PROBE, called_at
from web.now.other_kilns import OtherKiln, other_kilns
from web.now.page_values import LogLine, Present, present
from web.now.probe_check import probe_check
from web.pieces.page import drying_words
from web.request.ask_daemon import outcome_words
from web.request.context import daemon_state, database, kiln_id, settings
from web.request.etag_json import tagged_json
from web.request.form import Form
from web.security import access
from web.times import date_words

BLUEPRINT = Blueprint("now", __name__)

BLOCKS = ("summons", "alerts", "log", "calls", "glass", "trouble", "answer", "others", "elsewhere")
"""The parts of Now that change by themselves."""
_NEAR_S = 30.0
"""A reading this near in time tells where the kiln was [s]. [chosen: some readings, and no step of a kiln]"""
LATELY = 5
"""Entries of what was, above what is and what comes. [chosen: fits a phone]"""


@dataclass(frozen=True)
class Kept:
    """What the store adds to what the daemon says; without the store, the little that is known."""

    firing: Firing | None
    starts: datetime | None
    """Wall time of second 0 of the open firing, in the owner's zone."""
    asked: Mapping[tuple[int, str], str] = field(default_factory=dict)
    target: int | None = None
    """What acknowledging is about: a firing's id, 0 for one that could not be stored, None for no firing."""
    readable: bool = True
    keyed_s: tuple[float, ...] = ()
    """When lines were keyed in [s of firing]."""
    lately: Sequence[LogLine] = ()
    """What was done and reached lately, the latest last."""
    others: Sequence[Firing] = ()
    """Firings that run in other kilns of this record."""
    beside: Sequence[OtherKiln] = ()
    """Other kilns of the studio, each with a watch of its own."""

    whom_to_call: str = ""
    """A name and a number, as set; empty where none is."""
    noticed: str = ""
    """At which temperature what wakes was first noticed; empty where not known."""

    def log(self, shown: Present) -> list[LogLine]:
        """Return the latest past entries, the present part and the coming ones, in the order of time."""
        over = [LogLine(e.when, f"{words.capital(e.rank_words)}: {e.kind}, {e.state}", "been", e.at_s, e.rank)
                for e in shown.alerts if not e.standing]
        been = sorted((*over, *self.lately), key=lambda line: line.t_s)
        return sorted((*been[-LATELY:], *shown.log), key=lambda line: line.t_s)


def _kept(said: DaemonState | None) -> Kept:
    """Return what is kept of the open firing.

    Raises
    ------
    NoDatabase, sqlite3.Error
        Where the store can't be read and the daemon says nothing either.
    """
    try:
        firing = _open_firing(said)
        if firing is not None:
            return Kept(firing, firing.started_utc.astimezone(settings().zone),
                        _asked_by_part(firing.plan_id, settings().unit), firing.firing_id,
                        keyed_s=found_parts.keyed_in_at(database(), firing.firing_id), lately=_lately(firing),
                        others=_others(firing.kiln_id))
        readable = True
    except (NoDatabase, sqlite3.Error):
        if said is None or said.stale:
            raise
        readable = False
    # The store knows of an end before the daemon has told it.
    just_ended = readable and said is not None and said.number("firing_id") is not None
    if said is None or said.started_utc is None or just_ended:
        return Kept(None, None, readable=readable)
    # A firing that could not be stored: its alerts are told all the same.
    return Kept(None, said.started_utc.astimezone(settings().zone), target=0, readable=readable)


def _open_firing(said: DaemonState | None) -> Firing | None:
    """Return the firing that runs, as the store has it; the daemon's word chooses where there are several."""
    db = database()
    kiln = kiln_id()
    if said is not None:
        told = said.number("firing_id")
        found = firings.firing(db, int(told)) if told is not None else None
        if found is not None and found.ended_s is None:
            return found
    return firings.current(db, kiln) if kiln is not None else None


def _lately(firing: Firing) -> tuple[LogLine, ...]:
    """Return the latest few milestones and things said, in time order."""
    db, starts = database(), firing.started_utc.astimezone(settings().zone)
    units = Units(settings().unit)
    parts = found_parts.parts(db, firing.firing_id)
    found = [dated(replace(m, text=units.retold(m.text, m.temp_c)), parts, starts)
             for m in found_parts.milestones(db, firing.firing_id)]
    found += [(s.t_s, SAID[s.what]) for s in found_parts.said(db, firing.firing_id) if s.what in SAID]
    return tuple(LogLine(words.clock(starts, t_s), words.bound(text), "been", t_s)
                 for t_s, text in sorted(found)[-LATELY:])


def _others(kiln: int | None) -> tuple[Firing, ...]:
    """Return the firings that run in other kilns of this record."""
    found = [firings.current(database(), number) for number in kilns.kilns(database()) if number != kiln]
    return tuple(firing for firing in found if firing is not None)


def _asked_by_part(plan_id: int | None, unit: str) -> dict[tuple[int, str], str]:
    """Return what a plan asks in each of its parts, by step and kind."""
    stored = plans.plan(database(), plan_id) if plan_id is not None else None
    if stored is None:
        return {}
    return {(part.step, part.part): asked_words(part, unit) for part in planned_parts(stored.parsed())}


def _drying(stored: Sequence[Piece]) -> list[tuple[Piece, str]]:
    """Return the pieces that are drying, or were dry within the last day, each with its words."""
    now = settings().clock.utc()
    return [(piece, drying_words(piece, now)) for piece in stored
            if piece.dry_by_utc is not None and now - piece.dry_by_utc < timedelta(days=1)]


def _noticed(kept: Kept, shown: Present) -> str:
    """Return the temperature at which what wakes was first noticed, with its unit; empty where not known."""
    if shown.woken is None or kept.firing is None or not kept.readable:
        return ""
    at_s = shown.woken.since_s
    near = readings.samples(database(), kept.firing.firing_id, at_s - _NEAR_S, at_s + _NEAR_S)
    temps_c = [sample.temp_c for sample in near if sample.temp_c is not None]
    return words.bound(Units(shown.unit).temp(median(temps_c))) if temps_c else ""


def _shown() -> tuple[DaemonState | None, Kept, Present]:
    """Return what the daemon said, what is kept besides, and what the page shows of both."""
    said = daemon_state()
    kept = _kept(said)
    shown = _present(said, kept)
    return said, replace(kept, beside=other_kilns(), noticed=_noticed(kept, shown),
                         whom_to_call=settings().config.whom_to_call), shown


def _present(said: DaemonState | None, kept: Kept) -> Present:
    return present(said, settings().unit, settings().zone, kept.starts, kept.asked,
                   started("daemon", settings().data_dir), kept.keyed_s, collected=settings().collected is not None)


def _call() -> Form:
    """Return the form of a call at a temperature: as typed where it could not be used, with why."""
    form = Form({"at": request.args["at"]} if "at" in request.args else {})
    if form.typed:
        called_at(form, settings().unit)
    return form


def _over(said: DaemonState | None, kept: Kept, listed: Sequence[firing_list.Listed]) -> Firing | None:
    """Return the firing that is over, or whose plan is done and nothing wakes for; None while one is under way."""
    if kept.target is None:
        return listed[0].firing if listed else None
    is_done = said is not None and said.said.get("finished") is True and not rings(said)
    return kept.firing if is_done else None


def _probe_check(firing: Firing | None) -> str:
    """Return what to do about the probe after a firing; empty where nothing in it was about the probe."""
    if firing is None:
        return ""
    starts = firing.started_utc.astimezone(settings().zone)
    return probe_check(alert_store.alerts(database(), firing.firing_id), starts, settings().unit)


def _night(listed: Sequence[firing_list.Listed]) -> tuple[str, str]:
    """Return when the latest firing began and its verdict, so that nobody has to look for them in the morning."""
    if not listed:
        return "", ""
    starts = listed[0].firing.started_utc.astimezone(settings().zone)
    kept = judgements.judgement(database(), listed[0].firing.firing_id)
    return date_words(starts), FiringVerdict(kept_lines(kept, settings().unit)).sentence


@BLUEPRINT.get("/")
def show() -> str:
    """Show the present."""
    said, kept, present_now = _shown()
    shown = {"now": present_now, "kept": kept, "firing": kept.firing,
             "may_change": access.may_change(settings()), "deeds": DEEDS, "probe": PROBE, "call": _call()}
    if not kept.readable:
        return render_template("now.html", **shown, sheet=None, idle=False, first=None, asked="", pieces=[],
                               last=None, night=("", ""), drying=[], check="")
    sheet: Sheet | None = None
    if kept.firing is not None:
        sheet = sheet_of(read_record(database(), settings(), kept.firing, said=said))
    listed = firing_list.matching(database(), limit=1)
    stored = pieces.pieces(database())
    return render_template(
        "now.html", **shown, sheet=sheet, idle=kept.target is None,
        first=None if listed or settings().collected is not None else first_steps(),
        drying=_drying(stored), asked=outcome_words(),
        pieces=[p for p in stored if kept.firing and p.piece_id in kept.firing.piece_ids],
        last=listed[0] if listed else None, night=_night(listed), check=_probe_check(_over(said, kept, listed)),
    )


@BLUEPRINT.get("/now.json")
def now_json() -> Response:
    """Return the changing part of Now, with a tag so that nothing is sent twice."""
    said, kept, shown = _shown()
    body: dict[str, Any] = {
        "firing_id": kept.firing.firing_id if kept.firing else None,
        "t_s": said.number("t_s") if said else None,
        "title": shown.title, "stale": bool(shown.stale), "readable": kept.readable,
        "rings": loudest([said, *(other.said for other in kept.beside)]),
        "texts": {
            "sentence": shown.sentence, "temp": shown.temp, "movement": shown.movement,
            "plan": shown.beside_plan, "clock": shown.clock, "stale": shown.stale,
            "asked": outcome_words() if kept.readable else "",
        },
        "blocks": {name: _part(name, shown, kept) for name in BLOCKS},
    }
    return tagged_json(body)


def rings(said: DaemonState | None) -> str:
    """Return what the page's own sound is for: ``wake``, ``runaway``, or empty."""
    if said is None:
        return ""
    now_s = said.number("t_s") or 0.0
    loud = [alert for alert in map(alert_of, said.tables("alerts")) if alert is not None
            and alert.rank is Rank.WAKE and alert.cleared_s is None and alert.under is None
            and (not may_be_quieted(alert.kind) or alert.quiet_until_s is None or alert.quiet_until_s <= now_s)]
    return "runaway" if any(alert.kind == RUNAWAY for alert in loud) else "wake" if loud else ""


def loudest(said: Sequence[DaemonState | None]) -> str:
    """Return what the page's own sound is for among all kilns."""
    found = {rings(one) for one in said}
    return next((word for word in ("runaway", "wake") if word in found), "")


def _part(name: str, shown: Present, kept: Kept) -> str:
    macro = get_template_attribute("live.html", name)
    return str(macro(shown, kept, access.may_change(settings())))
