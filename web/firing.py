"""One firing: its trace over its plan, planned against measured, alerts, notes; and what can be said of it."""

from __future__ import annotations

import sqlite3

from flask import Blueprint, Response, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.store import firings, notes, pieces
from daemon.store.database import NoDatabase
from daemon.store.firings import Firing
from web import access, words
from web.asking import ask
from web.form import Form
from web.glance import number
from web.house import database, glance, settings
from web.load import choices, read_load
from web.plots import figure
from web.present import alert_entries
from web.record import Record, read_record
from web.scales import date_words
from web.sheet import sheet_of, strips_of, traces_of
from web.tagged import tagged_json

BLUEPRINT = Blueprint("firing", __name__)

Answer = AnyResponse | tuple[str, int]

QUIET_S = 1800.0
PLOT_COLUMNS = 1500
MAX_ID = 2**53


def _firing(firing_id: int) -> Firing:
    found = firings.firing(database(), firing_id) if 0 < firing_id < MAX_ID else None
    if found is None:
        abort(404, f"There is no firing number {firing_id} here. The list of firings has them all.")
    return found


def _record(firing: Firing, columns: int) -> Record:
    at_s = None
    if firing.ended_s is None:
        said = glance()
        if said is not None and said.number("firing_id") == firing.firing_id:
            at_s = number(said.table("next"), "at_s")
    return read_record(database(), settings(), firing, next_at_s=at_s, columns=columns)


@BLUEPRINT.get("/firings/<int:firing_id>")
def show(firing_id: int) -> str:
    """Show a firing."""
    return _show(_firing(firing_id), Form())


def _show(firing: Firing, form: Form) -> str:
    unit, zone = settings().unit, settings().zone
    record = _record(firing, 700)
    temps = [high_c for _, _, _, high_c in record.picture.columns if high_c is not None]
    load = [p for p in pieces.pieces(database()) if p.piece_id in firing.piece_ids]
    written = [
        {"when": f"{note.wall_utc.astimezone(zone):%H:%M}", "date": date_words(note.wall_utc.astimezone(zone)),
         "text": note.text}
        for note in notes.notes(database(), firing.firing_id)
    ]
    return render_template(
        "firing.html", firing=firing, record=record, sheet=sheet_of(record), pieces=load, notes=written,
        alerts=alert_entries(record.alerts, record.starts, ended=not record.running), form=form, unit=unit,
        peak=words.temp(max(temps), unit) if temps else "–", date=date_words(record.starts),
        clock=f"{record.starts:%H:%M}", duration=words.duration(record.last_s),
        may_change=access.may_change(settings()),
        clock_of=lambda t_s: words.clock(record.starts, t_s) if t_s is not None else "",
    )


@BLUEPRINT.get("/firings/<int:firing_id>/trace.json")
def trace_json(firing_id: int) -> Response:
    """Return the interactive figure and the strip of the moment."""
    record = _record(_firing(firing_id), PLOT_COLUMNS)
    wide, narrow = strips_of(record)
    body = {"figure": figure(record.picture), "strip": {"wide": wide, "narrow": narrow},
            "last_s": record.last_s, "running": record.running}
    if "drawing" in request.args:
        wide, narrow = traces_of(record)
        body["trace"] = {"wide": wide, "narrow": narrow}
    return tagged_json(body)


@BLUEPRINT.post("/firings/<int:firing_id>/acknowledge")
def acknowledge(firing_id: int) -> Answer:
    """Say that an alert, or all that stand, were heard."""
    return ask("acknowledge", {"firing_id": _told(firing_id), "alert_no": _alert_no()})


@BLUEPRINT.post("/firings/<int:firing_id>/quiet")
def quiet(firing_id: int) -> Answer:
    """Ask for half an hour of quiet about an alert, or about all that stand."""
    return ask("quiet", {"firing_id": _told(firing_id), "alert_no": _alert_no(), "for_s": QUIET_S})


@BLUEPRINT.post("/firings/<int:firing_id>/end")
def end(firing_id: int) -> Answer:
    """Ask the daemon to close a firing."""
    return ask("end", {"firing_id": _told(firing_id)})


def _told(firing_id: int) -> int | None:
    """Return the firing that is meant; None means the open one, where it could not be stored."""
    if firing_id == 0:
        return None
    try:
        return _firing(firing_id).firing_id
    except (NoDatabase, sqlite3.Error):
        return firing_id if firing_id < MAX_ID else None  # the daemon knows what runs


def _alert_no() -> int | None:
    typed = request.form.get("alert_no", "")
    if not typed:
        return None
    if not (typed.isascii() and typed.isdigit() and len(typed) < 7):
        abort(400, "That names no alert. Go back and use the buttons beside the alert.")
    return int(typed)


@BLUEPRINT.post("/firings/<int:firing_id>/note")
def note(firing_id: int) -> Answer:
    """Keep a note."""
    firing, form = _firing(firing_id), Form(request.form)
    text = form.text("note", asked="Write the note first.")
    if form.wrong:
        return _show(firing, form), 400
    notes.add_note(database(), firing.firing_id, text, settings().clock.utc())
    return redirect(url_for("firing.show", firing_id=firing.firing_id, _anchor="notes"), code=303)


@BLUEPRINT.get("/firings/<int:firing_id>/name")
def name(firing_id: int) -> str:
    """Show the form that names a firing and says what was in it."""
    firing = _firing(firing_id)
    form = Form()
    form.typed.setlist("piece", [str(piece_id) for piece_id in firing.piece_ids])
    form.typed.update({
        "title": firing.title, "plan": str(firing.plan_id or ""), "glass": firing.glass,
        "thickness": f"{firing.thickness_mm:g}", "faces": str(firing.faces),
    })
    return render_template("name.html", firing=firing, form=form, offered=choices())


@BLUEPRINT.post("/firings/<int:firing_id>/name")
def rename(firing_id: int) -> Answer:
    """Ask the daemon to name a firing; a changed plan has it judge the trace again."""
    firing, form, offered = _firing(firing_id), Form(request.form), choices()
    payload = read_load(form, offered)
    if form.wrong:
        return render_template("name.html", firing=firing, form=form, offered=offered), 400
    return ask("name", {"firing_id": firing.firing_id, **payload})
