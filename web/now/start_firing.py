"""Starting a firing: what is in the kiln, and by which plan."""

from __future__ import annotations

from collections.abc import Collection

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from daemon.store import firings
from web.request.ask_daemon import ask
from web.request.context import daemon_state, database, kiln_id, settings
from web.request.form import Form
from web.request.load_form import Choices, choices, read_load

BLUEPRINT = Blueprint("start_firing", __name__)


@BLUEPRINT.get("/start")
def show() -> str:
    """Show the form."""
    return _form_page(Form(request.args))


@BLUEPRINT.post("/start")
def begin() -> Response | tuple[str, int]:
    """Ask the daemon to open a firing."""
    form, offered = Form(request.form), choices()
    payload = read_load(form, offered)
    _stop_what_dries(form, offered, payload["piece_ids"])
    if form.wrong:
        return _form_page(form), 400
    return ask("start", payload)


def _stop_what_dries(form: Form, offered: Choices, piece_ids: Collection[int]) -> None:
    """Note each chosen piece that is not dry yet, once; the maker may fire it all the same."""
    now = settings().clock.utc()
    wet = [p.name for p in offered.pieces
           if p.piece_id in piece_ids and p.dry_by_utc is not None and now < p.dry_by_utc]
    if wet and form["wet"] != "yes":
        form.wrong["wet"] = (f"{', '.join(wet)} still dries. Fired wet, colour lifts and glue spits. Wait, or say "
                             "below that it may be fired all the same.")


def _form_page(form: Form) -> str:
    kiln = kiln_id()
    running = firings.current(database(), kiln) if kiln is not None else None
    said = daemon_state()
    return render_template("start.html", form=form, offered=choices(), running=running,
                           silent=said is None or said.stale)
