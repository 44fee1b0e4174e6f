"""What the maker did at the kiln, told in one tap: so that it is not taken for a fault, and stands in the log."""

from __future__ import annotations

from flask import Blueprint, abort, request
from werkzeug.wrappers import Response

from daemon.firing.events import Saying
from web.asking import ask
from web.firing import told

BLUEPRINT = Blueprint("did", __name__)

DEEDS = {
    Saying.VENTED: "Vented", Saying.LENGTHENED: "Lengthened the hold", Saying.ADVANCED: "Went on a step",
    Saying.PEEKED: "Looked in",
}
PROBE = {Saying.PROBE_OUT: "The probe is out of service", Saying.PROBE_BACK: "The probe is back"}


@BLUEPRINT.post("/firings/<int:firing_id>/said")
def said(firing_id: int) -> Response | tuple[str, int]:
    """Tell the daemon what was done."""
    typed = request.form.get("what", "")
    if typed not in {deed.value for deed in (*DEEDS, *PROBE)}:
        abort(400, "That names nothing a maker does at a kiln. Go back and use the buttons.")
    return ask("said", {"firing_id": told(firing_id), "what": typed})
