"""What a meter showed of a firing, kept as the owner typed it."""

from __future__ import annotations

from math import inf

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response

from daemon.store.firings import Firing
from daemon.store.wear import heat
from web.firings.page import show_with
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import find

BLUEPRINT = Blueprint("meter", __name__)

_LEAST_KWH, _MOST_KWH = 0.1, 2000.0
"""A firing takes so much at least and at most [kWh].
[chosen: a tabletop kiln for an hour, and days of a large one]"""
_MORE_THAN_RATED = 1.2
"""A kiln may take so many times its rated power. [derived: a mains voltage a tenth too high makes 1.21 of it]"""


def _most_kwh(firing: Firing) -> float:
    """Return what the kiln can take with all its power all the time, and a fifth more; no bound without a power."""
    power_kw = settings().config.energy.power_kw
    if power_kw is None or firing.ended_s is None:
        return inf
    return power_kw * firing.ended_s / 3600 * _MORE_THAN_RATED + _LEAST_KWH


@BLUEPRINT.post("/firings/<int:firing_id>/meter")
def keep(firing_id: int) -> Response | tuple[str, int]:
    """Keep a meter's figure; an empty field takes it out."""
    firing, form = find(firing_id), Form(request.form)
    kwh, most_kwh = form.number("kwh", _LEAST_KWH, _MOST_KWH, "kWh"), _most_kwh(firing)
    if firing.ended_s is None:
        form.wrong["kwh"] = "The firing still runs. Read the meter when it is over."
    elif kwh is not None and kwh > most_kwh:
        form.wrong["kwh"] = (f"{kwh:g} kWh is more than this kiln can take in this firing, {most_kwh:.0f} kWh. Is it "
                             "the meter’s total? Write the figure after the firing less the one before it.")
    if form.wrong:
        return show_with(firing, form), 400
    heat.put_meter(database(), firing.firing_id, kwh, settings().clock.utc())
    return redirect(url_for("firing.show", firing_id=firing.firing_id, _anchor="energy"), code=303)
