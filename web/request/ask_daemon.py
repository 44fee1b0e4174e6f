"""Asking the daemon to do something: written down for its next tick, or called to it where that can't be done."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from typing import Any

from flask import abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.socket_call import call
from daemon.store import requests
from daemon.store.database import NoDatabase
from web.request.context import daemon_state, database, settings

SOON_S = 300.0
"""A request the daemon did not take within this is not done later, when nobody expects it [s]. [chosen: five
minutes, as the page says]"""
ASKED = "Asked. The watch takes it in a moment."
UNHEARD = ("Asked, but the watch is silent just now: nothing is watched. If it is back within five minutes it does "
           "this; later it will not.")


def ask(kind: str, payload: Mapping[str, Any], back: str = "now.show", token: str = "",
        **where: Any) -> Response | tuple[str, int]:
    """Ask, and lead to Now, or to the endpoint ``back`` ``where``; that page tells what becomes of it.

    A form with a ``token`` asks once, however often it is sent.

    Raises
    ------
    NoDatabase, sqlite3.Error
        Where it can be neither written down nor called out.
    """
    try:
        now_utc = settings().clock.utc()
        if token:
            request_id, _ = requests.put_once(database(), kind, payload, now_utc, SOON_S, token)
        else:
            request_id = requests.put(database(), kind, payload, now_utc, SOON_S)
    except (NoDatabase, sqlite3.Error):
        outcome = call(settings().run_dir / SOCKET_NAME, kind, payload)
        if outcome is None:
            raise
        if outcome in {"done", "waiting"}:
            return redirect(url_for(back, **where), code=303)
        return render_template("message.html", headline="Not done", words=outcome), 409
    return redirect(url_for(back, **where, asked=request_id), code=303)


def outcome_words() -> str:
    """Return what became of the request that the page was led here by; empty where all is done."""
    typed = request.args.get("asked", "")
    if not (typed.isascii() and typed.isdigit() and len(typed) < 12):
        return ""
    found = requests.request(database(), int(typed))
    if found is None or found.outcome == "done":
        return ""
    if found.outcome is None:
        if settings().clock.utc() > found.expires_utc:
            return "The watch did not take it. Is the daemon running?"
        said = daemon_state()
        return ASKED if said is not None and not said.stale else UNHEARD
    return f"Not done: {found.outcome}"


def alert_no() -> int | None:
    """Return the alert that the form is about; None where it is about all."""
    typed = request.form.get("alert_no", "")
    if not typed:
        return None
    if not (typed.isascii() and typed.isdigit() and len(typed) < 7):
        abort(400, "That names no alert. Go back and use the buttons beside the alert.")
    return int(typed)
