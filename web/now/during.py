"""Notes and photographs while a firing runs, from Now: each with its time and how hot it was."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.store import notes, photographs
from daemon.store.firings import Firing
from daemon.store.notes import Note
from daemon.store.photographs import Photograph
from web.firings.moments import moment_words
from web.pieces.photographs import keep_photograph
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import find

BLUEPRINT = Blueprint("during", __name__)

Answer = Response | tuple[str, int]
LATEST = 4
"""Notes and photographs that Now shows again. [chosen: fits a phone; the firing's page has them all]"""


@dataclass(frozen=True, slots=True)
class Noted:
    """A note or a photograph, with its moment in words; one of the two is there."""

    when: str
    note: Note | None = None
    photograph: Photograph | None = None


def noted(firing: Firing) -> list[Noted]:
    """Return the latest notes and photographs of a firing, the newest first."""
    db = database()
    found: list[Note | Photograph] = [
        *notes.notes(db, firing.firing_id), *photographs.photographs(db, firing_id=firing.firing_id)]
    found.sort(key=lambda one: one.wall_utc, reverse=True)
    return [Noted(moment_words(firing, one.wall_utc), *((one, None) if isinstance(one, Note) else (None, one)))
            for one in found[:LATEST]]


@BLUEPRINT.get("/firings/<int:firing_id>/now")
def show(firing_id: int) -> str:
    """Show the forms by themselves: Now loads itself again where no script runs, and what was half typed is lost."""
    return render_template("during.html", firing=_running(firing_id), form=Form())


@BLUEPRINT.post("/firings/<int:firing_id>/now/note")
def note(firing_id: int) -> Answer:
    """Keep a note to the firing that runs."""
    firing, form = _running(firing_id), Form(request.form)
    text = form.text("note", asked="Write the note first.")
    if form.wrong:
        return render_template("during.html", firing=firing, form=form), 400
    notes.add_note(database(), firing_id, text, settings().clock.utc())
    return _back()


@BLUEPRINT.post("/firings/<int:firing_id>/now/photograph")
def photograph(firing_id: int) -> Answer:
    """Keep a photograph of the firing that runs."""
    firing, form = _running(firing_id), Form(request.form)
    if not keep_photograph(form, firing_id=firing_id, moment="during"):
        return render_template("during.html", firing=firing, form=form), 400
    return _back()


def _running(firing_id: int) -> Firing:
    """Return a firing that runs; of one that has ended say where its notes go."""
    firing = find(firing_id)
    if firing.ended_s is not None:
        abort(409, f"“{firing.title}” has ended meanwhile. Write the note on the firing’s own page.")
    return firing


def _back() -> Response:
    return redirect(url_for("now.show", _anchor="noted"), code=303)
