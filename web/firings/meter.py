"""What a meter showed of a firing, kept as the owner typed it."""

from __future__ import annotations

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response

from daemon.store.wear import heat
from web.firings.page import show_with
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import find

BLUEPRINT = Blueprint("meter", __name__)

_LEAST_KWH, _MOST_KWH = 0.1, 2000.0
"""A firing takes so much at least and at most [kWh].
[chosen: a tabletop kiln for an hour, and days of a large one]"""


@BLUEPRINT.post("/firings/<int:firing_id>/meter")
def keep(firing_id: int) -> Response | tuple[str, int]:
    """Keep a meter's figure; an empty field takes it out."""
    firing, form = find(firing_id), Form(request.form)
    kwh = form.number("kwh", _LEAST_KWH, _MOST_KWH, "kWh")
    if firing.ended_s is None:
        form.wrong["kwh"] = "The firing still runs. Read the meter when it is over."
    if form.wrong:
        return show_with(firing, form), 400
    heat.put_meter(database(), firing.firing_id, kwh, settings().clock.utc())
    return redirect(url_for("firing.show", firing_id=firing.firing_id, _anchor="energy"), code=303)
