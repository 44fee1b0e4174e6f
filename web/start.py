"""Starting a firing: what is in the kiln, and by which plan."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from daemon.store import firings
from web.asking import ask
from web.form import Form
from web.house import database, kiln_id
from web.load import choices, read_load

BLUEPRINT = Blueprint("start", __name__)


@BLUEPRINT.get("/start")
def start() -> str:
    """Show the form."""
    return _show(Form(request.args))


@BLUEPRINT.post("/start")
def begin() -> Response | tuple[str, int]:
    """Ask the daemon to open a firing."""
    form, offered = Form(request.form), choices()
    payload = read_load(form, offered)
    if form.wrong:
        return _show(form), 400
    return ask("start", payload)


def _show(form: Form) -> str:
    kiln = kiln_id()
    running = firings.current(database(), kiln) if kiln is not None else None
    return render_template("start.html", form=form, offered=choices(), running=running)
