"""One firing: what the probe saw, its trace over its plan, its log, its pieces; and what can be said of it."""

from __future__ import annotations

import sqlite3
from dataclasses import replace

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.firing.durations import duration
from daemon.firing.events import LONGEST_QUIET_S
from daemon.firing.units import Units
from daemon.store import alerts as alert_store
from daemon.store import found_parts, judgements, notes, outcomes, photographs, pieces, readings
from daemon.store.chain import source_file
from daemon.store.database import NoDatabase
from daemon.store.firings import Firing
from daemon.store.wear import heat
from web import words
from web.drawing.trace_plotly import figure, measured
from web.firings.alert_entries import entry_of
from web.firings.come_out import is_open, question_of
from web.firings.deleted import needs_word, until_words
from web.firings.drawings import sheet_of, strips_of, traces_of
from web.firings.energy import energy_line
from web.firings.log import Day, chronicle
from web.firings.moments import clock_steps, moment_words, second_of
from web.firings.record import Record, peak_c, read_whole
from web.firings.verdict import FiringVerdict, verdict_of
from web.request.ask_daemon import ASKED, UNHEARD, alert_no, ask, outcome_words
from web.request.context import database, settings
from web.request.etag_json import tagged_json
from web.request.form import Form
from web.request.load_form import again, choices, read_load
from web.request.lookup import MAX_ID, find, taken_out
from web.request.thermocouple import highest_words
from web.request.thickness import thickness_figure
from web.security import access
from web.times import date_words, time_words

BLUEPRINT = Blueprint("firing", __name__)

Answer = AnyResponse | tuple[str, int]

_FAR_S = 3.6e6
"""The stretch that is shown may be asked for within this of the start [s]. [chosen: longer than any firing]"""


@BLUEPRINT.get("/firings/<int:firing_id>")
def show(firing_id: int) -> str:
    """Show a firing."""
    return show_with(find(firing_id), Form())


def show_with(firing: Firing, form: Form) -> str:
    """Return the page of a firing with a form as it was typed."""
    db, unit = database(), settings().unit
    record = read_whole(firing)
    judged = judgements.judgement(db, firing.firing_id)
    highest_c = peak_c(firing, judged)
    asked = outcome_words()
    return render_template(
        "firing.html", firing=firing, record=record, sheet=sheet_of(record), form=form, unit=unit,
        seen=FiringVerdict(()) if record.running else verdict_of(record, judged, highest_c),
        days=log_of(record), pieces=pieces.of_firing(db, firing.firing_id),
        outcomes=outcomes.of_firing(db, firing.firing_id),
        photographs=photographs.photographs(db, firing_id=firing.firing_id), taken=taken_out(),
        peak=words.temp(highest_c, unit), worth=highest_words(firing, highest_c),
        date=date_words(record.starts), clock=time_words(record.starts),
        duration=duration(record.last_s), asked=asked, waiting=asked in (ASKED, UNHEARD),
        came_out=None if record.running else question_of(firing),
        asks_now=is_open(firing, highest_c),
        taken_at=lambda photo: moment_words(firing, photo.wall_utc),
        may_change=access.may_change(settings()), deleted_until=until_words(firing),
        again=again(firing), source=_source_of(firing),
        energy=energy_line(firing), meter=heat.meters(db, firing.kiln_id).get(firing.firing_id),
        needs_word=not record.running and needs_word(firing),
        clock_of=lambda t_s: words.clock(record.starts, t_s) if t_s is not None else "",
    )


def _source_of(firing: Firing) -> tuple[str, str] | None:
    """Return name and length of the file that a firing was taken in from; None where it was not."""
    found = source_file.name_of(database(), firing.firing_id)
    return None if found is None else (found[0], f"{max(1, round(found[1] / 1024)):,} KB")


def log_of(record: Record) -> tuple[Day, ...]:
    """Return the firing's log by days."""
    db, number = database(), record.firing.firing_id
    units = Units(settings().unit)
    again, parts = _said_again(record), found_parts.parts(db, number)
    alerts = [
        (a.woke_s if a.woke_s is not None else a.raised_s,
         entry_of(a, record.starts, record.alerts, ended=not record.running, unit=settings().unit, parts=parts,
                  again=again, keyed_s=record.keyed_s))
        for a in record.alerts if a.under is None
    ]
    milestones = [replace(m, text=units.retold(m.text, m.temp_c)) for m in found_parts.milestones(db, number)]
    marks, real_time = found_parts.clock_marks(db, number), record.firing.speed == 1.0
    written = [(second_of(note.wall_utc, record.firing, marks), note) for note in notes.notes(db, number)]
    return chronicle(record.starts, alerts, milestones, found_parts.said(db, number), found_parts.gaps(db, number),
                     written, clock_steps(marks) if real_time else (), parts)


def _said_again(record: Record) -> dict[int, list[tuple[float, str]]]:
    """Return when each alert sounded again and in which words, by its number, where they were new."""
    heard: dict[int, list[tuple[float, str]]] = {}
    for step in alert_store.transitions(database(), record.firing.firing_id):
        if step.change == "resounded":
            heard.setdefault(step.no, []).append((step.t_s, step.what))
    return heard


@BLUEPRINT.get("/firings/<int:firing_id>/trace.json")
def trace_json(firing_id: int) -> Response:
    """Return the interactive figure and the strip of the moment."""
    record = read_whole(find(firing_id))
    wide, narrow = strips_of(record)
    body = {"figure": figure(record.picture), "strip": {"wide": wide, "narrow": narrow},
            "last_s": record.last_s, "running": record.running}
    if "drawing" in request.args:
        wide, narrow = traces_of(record)
        body["trace"] = {"wide": wide, "narrow": narrow}
    return tagged_json(body)


@BLUEPRINT.get("/firings/<int:firing_id>/strip.json")
def strip_json(firing_id: int) -> Response:
    """Return the strip for the stretch of the firing that the plot shows, ``from`` to ``to`` [s].

    Where a stretch is given, its trace comes with it, as fine as the whole one is at first.
    """
    firing = find(firing_id)
    record = read_whole(firing)
    form = Form(request.args)
    from_s, to_s = form.number("from", -_FAR_S, _FAR_S, "s"), form.number("to", -_FAR_S, _FAR_S, "s")
    shown = (from_s, to_s) if from_s is not None and to_s is not None and to_s - from_s >= 1.0 else None
    wide, narrow = strips_of(record, shown)
    body: dict[str, object] = {"strip": {"wide": wide, "narrow": narrow}}
    if shown is not None:
        columns = readings.buckets(database(), firing_id, readings.THINNED, *_with_neighbours(shown))
        body["measured"] = measured(replace(record.picture, columns=columns))
    return tagged_json(body)


def _with_neighbours(shown: tuple[float, float]) -> tuple[float, float]:
    """Return the stretch with a tenth more at either end, so that the line does not end within the plot."""
    more_s = (shown[1] - shown[0]) / 10
    return shown[0] - more_s, shown[1] + more_s


@BLUEPRINT.post("/firings/<int:firing_id>/acknowledge")
def acknowledge(firing_id: int) -> Answer:
    """Say that an alert, or all that stand, were heard."""
    return ask("acknowledge", {"firing_id": told(firing_id), "alert_no": alert_no()})


@BLUEPRINT.post("/firings/<int:firing_id>/quiet")
def quiet(firing_id: int) -> Answer:
    """Ask for half an hour of quiet about an alert, or about all that stand."""
    return ask("quiet", {"firing_id": told(firing_id), "alert_no": alert_no(), "for_s": LONGEST_QUIET_S})


@BLUEPRINT.post("/firings/<int:firing_id>/end")
def end(firing_id: int) -> Answer:
    """Ask the daemon to close a firing."""
    return ask("end", {"firing_id": told(firing_id)})


def told(firing_id: int) -> int | None:
    """Return the id of the firing that is meant; None for an open one that could not be stored."""
    if firing_id == 0:
        return None
    try:
        return find(firing_id).firing_id
    except (NoDatabase, sqlite3.Error):
        return firing_id if firing_id < MAX_ID else None  # the daemon knows what runs


@BLUEPRINT.post("/firings/<int:firing_id>/note")
def note(firing_id: int) -> Answer:
    """Keep a note."""
    firing, form = find(firing_id), Form(request.form)
    text = form.text("note", asked="Write the note first.")
    if form.wrong:
        return show_with(firing, form), 400
    notes.add_note(database(), firing.firing_id, text, settings().clock.utc())
    return redirect(url_for("firing.show", firing_id=firing.firing_id, _anchor="log"), code=303)


@BLUEPRINT.get("/firings/<int:firing_id>/name")
def name(firing_id: int) -> str:
    """Show the form that names a firing and says what was in it."""
    firing = find(firing_id)
    form = Form()
    form.typed.setlist("piece", [str(piece_id) for piece_id in firing.piece_ids])
    form.typed.update({
        "title": firing.title, "plan": str(firing.plan_id or ""), "glass": firing.glass,
        "thickness": thickness_figure(firing.thickness_mm, settings().config.thickness_unit),
        "faces": str(firing.faces),
    })
    return render_template("name.html", firing=firing, form=form, offered=choices(firing.plan_id))


@BLUEPRINT.post("/firings/<int:firing_id>/name")
def rename(firing_id: int) -> Answer:
    """Ask the daemon to name a firing; a changed plan has it judge the trace again."""
    firing, form = find(firing_id), Form(request.form)
    offered = choices(firing.plan_id)
    payload = read_load(form, offered)
    if form.wrong:
        return render_template("name.html", firing=firing, form=form, offered=offered), 400
    return ask("name", {"firing_id": firing.firing_id, **payload}, "firing.show", firing_id=firing.firing_id)
