"""What the maker did at the kiln, reported by one tap, so that it is not taken for a fault and is in the log."""

from __future__ import annotations

import json

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.wrappers import Response

from daemon.firing.events import Saying
from daemon.firing.plan.plan import to_unit
from daemon.firing.text_json import read_lines
from daemon.lifecycle.requests import HIGHEST_CALL_C, LOWEST_CALL_C
from web.firings.page import told
from web.request.ask_daemon import ask
from web.request.context import settings
from web.request.form import Form

BLUEPRINT = Blueprint("maker_actions", __name__)

_LONGEST_TYPED = 40
"""Of what was typed for a temperature so much is shown again [characters]. [chosen: no temperature is longer]"""

DEEDS = {
    Saying.VENTED: "Vented", Saying.LENGTHENED: "Made the hold longer", Saying.ADVANCED: "Skipped a step",
    Saying.PEEKED: "Opened to look",
}
DISPLAY = (Saying.OWN_DISPLAY, Saying.OWN_DISPLAY_OFF)
PROBE = {Saying.PROBE_OUT: "The probe is out of service", Saying.PROBE_BACK: "The probe is back"}


@BLUEPRINT.post("/firings/<int:firing_id>/call")
def call(firing_id: int) -> Response | tuple[str, int]:
    """Ask to be called at a temperature, or take that back."""
    unit = settings().unit
    off = request.form.get("off", "")
    form = Form({"at": off or request.form.get("at", "")})
    at = called_at(form, unit)
    if at is None:
        return redirect(url_for("now.show", at=form["at"][:_LONGEST_TYPED], _anchor="call"), code=303)
    temp_c = round((at - 32) * 5 / 9 if unit == "F" else at, 1)
    what = Saying.CALL_OFF if off else Saying.CALL
    return ask("said", {"firing_id": told(firing_id), "what": what.value, "temp_c": temp_c})


def called_at(form: Form, unit: str) -> float | None:
    """Return the temperature typed into ``at``, in ``unit``; None where it can't be one, with why in the form."""
    low, high = (to_unit(c, unit) for c in (LOWEST_CALL_C, HIGHEST_CALL_C))
    at = form.number("at", low, high, f"°{unit}")
    if at is None:
        form.wrong.setdefault("at", "Write at which temperature.")
    return at


@BLUEPRINT.post("/firings/<int:firing_id>/keyed-in")
def keyed_in(firing_id: int) -> Response | tuple[str, int]:
    """Tell the daemon which lines were keyed in: the ones that the page showed."""
    try:
        lines = json.loads(request.form.get("lines", ""))
    except ValueError:
        lines = None
    if not isinstance(lines, list) or not read_lines(lines):
        abort(400, "These are no lines to key in. Go back, load the page again, and use its button.")
    return ask("keyed-in", {"firing_id": told(firing_id), "lines": [list(line) for line in read_lines(lines)]})


@BLUEPRINT.post("/firings/<int:firing_id>/said")
def tell(firing_id: int) -> Response | tuple[str, int]:
    """Tell the daemon what was done."""
    typed = request.form.get("what", "")
    if typed not in {deed.value for deed in (*DEEDS, *PROBE, *DISPLAY)}:
        abort(400, "That names nothing a maker does at a kiln. Go back and use the buttons.")
    return ask("said", {"firing_id": told(firing_id), "what": typed})
