"""Starting a firing: what is in the kiln, and by which plan."""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Collection

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.store import firings, requests
from daemon.store.database import NoDatabase
from daemon.store.firings import Firing
from web import words
from web.kiln.woken_by import wakers
from web.request.ask_daemon import ask
from web.request.context import daemon_state, database, kiln_id, settings
from web.request.form import Form, whole
from web.request.load_form import Choices, choices, read_load
from web.times import date_words, time_words

BLUEPRINT = Blueprint("start_firing", __name__)

LONGEST_TOKEN = 64
"""Longest token of a form that is taken [characters]. [chosen: more than this page writes]"""


@BLUEPRINT.get("/start")
def show() -> str:
    """Show the form."""
    return _form_page(Form(request.args))


@BLUEPRINT.post("/start")
def begin() -> Response | tuple[str, int]:
    """Ask the daemon to open a firing; a form that saw another present, or was used already, gets a sentence."""
    form = Form(request.form)
    offered = choices(_asked_plan(form))
    token = form["token"]
    running = _running()
    saw = str(running.firing_id) if running is not None else ""
    if running is not None or form["saw"] != saw or not 0 < len(token) <= LONGEST_TOKEN:
        known = _asked(token)
        if known is not None and running is not None and known.outcome == "done":
            return redirect(url_for("now.show", asked=known.request_id), code=303)  # pressed twice
        form.wrong["stale"] = _stale_words(running)
        return _form_page(form), 409
    payload = read_load(form, offered)
    _stop_what_dries(form, offered, payload["piece_ids"])
    if form.wrong:
        return _form_page(form), 400
    known = _asked(token)
    if known is not None and (known.outcome is not None or settings().clock.utc() > known.expires_utc):
        when = known.wall_utc.astimezone(settings().zone)
        form.wrong["stale"] = (f"This form was sent already, on {date_words(when)} at {time_words(when)}. Nothing is "
                               "started now. Check it, and press the button again if you mean it.")
        return _form_page(form), 409
    return ask("start", {**payload, "saw_firing_id": None, "token": token}, token=token)


def _running() -> Firing | None:
    """Return the firing that runs in this kiln; None where none does, or the store can't tell."""
    try:
        kiln = kiln_id()
        return firings.current(database(), kiln) if kiln is not None else None
    except (NoDatabase, sqlite3.Error):
        return None


def _asked(token: str) -> requests.Request | None:
    """Return the request that a form with this token made; None where it made none."""
    return requests.of_token(database(), token) if token else None


def _stale_words(running: Firing | None) -> str:
    """Return why a form can't be used that was shown while something else was so."""
    if running is None:
        return ("This page was loaded some time ago. Nothing is started. Check the form, and press the button "
                "again.")
    since = running.started_utc.astimezone(settings().zone)
    return words.bound(f"“{running.title}” has run since {time_words(since)}. Nothing was ended and nothing was "
                       "started.")


def _stop_what_dries(form: Form, offered: Choices, piece_ids: Collection[int]) -> None:
    """Note each chosen piece that is not dry yet, once; the maker may fire it all the same."""
    now = settings().clock.utc()
    wet = [p.name for p in offered.pieces
           if p.piece_id in piece_ids and p.dry_by_utc is not None and now < p.dry_by_utc]
    if wet and form["wet"] != "yes":
        form.wrong["wet"] = (f"{', '.join(wet)} still dries. Fired wet, colour lifts and glue spits. Wait, or say "
                             "below that it may be fired all the same.")


def _asked_plan(form: Form) -> int | None:
    """Return the plan that the form names, which may be an older version than the list offers."""
    return whole(form["plan"])


def _form_page(form: Form) -> str:
    said = daemon_state()
    return render_template("start.html", form=form, offered=choices(_asked_plan(form)), running=_running(),
                           silent=said is None or said.stale, token=secrets.token_urlsafe(16), wakers=wakers())
