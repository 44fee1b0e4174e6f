"""The card: one printed page of a firing, black on white, to lie with the piece."""

from __future__ import annotations

from dataclasses import replace

from flask import Blueprint, render_template
from markupsafe import Markup

from daemon.firing.durations import duration
from daemon.store import found_parts, judgements, notes, outcomes, photographs, pieces
from daemon.store.firings import Firing
from daemon.store.photographs import Photograph
from daemon.store.safety import record_mark
from web import words
from web.drawing.trace_svg import svg
from web.firings.alert_entries import alert_entries
from web.firings.drawings import sheet_of
from web.firings.record import peak_c, read_whole
from web.firings.verdict import verdict_of
from web.request.context import database, settings
from web.request.load_form import GLASSES
from web.request.lookup import find
from web.times import date_words, time_words

BLUEPRINT = Blueprint("card", __name__)

TRACE = (760, 245)
"""Width and height of the trace on the card [px]. [chosen: fits a printed page]"""
MOST_ALERTS = 4
"""Alerts that a page has room for. [chosen: by eye]"""
MOST_NOTE = 360
"""Characters of notes that a page has room for. [chosen: by eye]"""


@BLUEPRINT.get("/firings/<int:firing_id>/card")
def show(firing_id: int) -> str:
    """Show the card, ready to be printed."""
    firing = find(firing_id)
    db = database()
    record = read_whole(firing)
    unit, judged = settings().unit, judgements.judgement(db, firing_id)
    highest_c = peak_c(firing, judged)
    seen = verdict_of(record, judged, highest_c)
    entries = alert_entries(record.alerts, record.starts, ended=not record.running, unit=unit,
                            parts=found_parts.parts(db, firing_id), keyed_s=record.keyed_s)
    told = [entry for entry in entries if entry.rank != "log"]
    text = " / ".join(note.text.replace("\n", " ") for note in notes.notes(db, firing_id))
    mark = record_mark.head(db, firing_id)
    return render_template(
        "card.html", firing=firing, record=record, unit=unit, seen=seen,
        pieces=pieces.of_firing(db, firing_id), glasses=GLASSES, outcomes=outcomes.of_firing(db, firing_id),
        drawing=Markup(svg(replace(record.picture, running=False), TRACE, "print", "card", ground=False)),
        rows=sheet_of(record).rows, clock_of=lambda t_s: "" if t_s is None else words.clock(record.starts, t_s),
        date=f"{date_words(record.starts)} {record.starts.year}", clock=time_words(record.starts),
        peak=words.temp(highest_c, unit), duration=duration(record.last_s),
        told=told[:MOST_ALERTS], more=max(0, len(told) - MOST_ALERTS),
        note=text if len(text) <= MOST_NOTE else text[:MOST_NOTE].rsplit(" ", 1)[0] + " …",
        mark=None if mark is None else record_mark.short(mark), photo=photograph_for(firing),
    )


def photograph_for(firing: Firing) -> Photograph | None:
    """Return the picture that a card carries: the latest of the firing, one after it first; else of its pieces."""
    db = database()
    found = photographs.photographs(db, firing_id=firing.firing_id)
    for piece_id in () if found else firing.piece_ids:
        found += photographs.photographs(db, piece_id=piece_id)
    return max(found, key=lambda one: (one.moment == "after", one.photograph_id), default=None)
