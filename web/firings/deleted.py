"""Deleting a firing that is empty or was only a test, and the bin it lies in for a month."""

from __future__ import annotations

from flask import Blueprint, abort, render_template, request
from werkzeug.wrappers import Response

from daemon.firing.durations import duration
from daemon.lifecycle.delete import is_empty
from daemon.store import bin, judgements, readings
from daemon.store.firings import Firing
from web import words
from web.firings.record import peak_c
from web.request.ask_daemon import ask, outcome_words
from web.request.context import database, settings
from web.request.lookup import find
from web.security import access
from web.times import date_words

BLUEPRINT = Blueprint("deleted", __name__)


@BLUEPRINT.get("/firings/deleted")
def listing() -> str:
    """Show what lies in the bin, and until when each can be taken back."""
    zone, unit = settings().zone, settings().unit
    entries = [{
        "id": firing.firing_id, "title": firing.title, "date": date_words(firing.started_utc.astimezone(zone)),
        "duration": duration(float(firing.ended_s or 0)),
        "peak": words.temp(peak_c(firing, judgements.judgement(database(), firing.firing_id)), unit),
        "until": until_words(firing),
    } for firing in bin.in_bin(database())]
    return render_template("deleted.html", entries=entries, unit=unit, days=bin.KEPT_FOR.days, asked=outcome_words(),
                           may_change=access.may_change(settings()))


@BLUEPRINT.post("/firings/<int:firing_id>/delete")
def delete(firing_id: int) -> Response | tuple[str, int]:
    """Ask the daemon to put a firing into the bin."""
    firing = find(firing_id)
    if firing.ended_s is None:
        abort(409, "This firing runs. A firing that runs is never deleted; end it first.")
    is_test = request.form.get("test") == "yes"
    if not is_test and needs_word(firing):
        abort(409, "This was a real firing. Go back and say that it was only a test, or keep it.")
    return ask("delete", {"firing_id": firing_id, "is_test": is_test}, "firing.show", firing_id=firing_id)


@BLUEPRINT.post("/firings/<int:firing_id>/take-back")
def take_back(firing_id: int) -> Response | tuple[str, int]:
    """Ask the daemon to take a firing out of the bin."""
    return ask("take-back", {"firing_id": find(firing_id).firing_id}, "firing.show", firing_id=firing_id)


def needs_word(firing: Firing) -> bool:
    """Return whether the maker must say that a firing was only a test before it can be deleted."""
    return not is_empty(firing, readings.highest_c(database(), firing.firing_id))


def until_words(firing: Firing) -> str:
    """Return the last day on which a deleted firing can be taken back; empty of one that is not deleted."""
    if firing.binned_utc is None:
        return ""
    return date_words((firing.binned_utc + bin.KEPT_FOR).astimezone(settings().zone))
