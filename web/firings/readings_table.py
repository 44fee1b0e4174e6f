"""The trace as a table, for those who read rather than look."""

from __future__ import annotations

from flask import Blueprint, render_template

from daemon.firing.durations import duration
from daemon.firing.plan.schedule import at
from daemon.store import readings
from web import words
from web.firings.record import read_whole
from web.request.context import database, settings
from web.request.lookup import find
from web.times import date_words, local

BLUEPRINT = Blueprint("readings_table", __name__)

ROWS = 72
"""Rows of the table at most. [chosen: a day and a half of half hours]"""
_STEPS_S = (300, 600, 900, 1200, 1800, 3600)
"""Times between two rows [s]. [chosen: round ones]"""


@BLUEPRINT.get("/firings/<int:firing_id>/table")
def show(firing_id: int) -> str:
    """Show a firing's readings at round steps of its time, with what the plan asked then."""
    firing = find(firing_id)
    record = read_whole(firing)
    unit = settings().unit
    step_s = next((s for s in _STEPS_S if record.last_s / s <= ROWS), _STEPS_S[-1])
    kept = {round(s.t_s): s.temp_c for s in readings.samples(database(), firing_id)}
    rows = []
    for t_s in range(0, int(record.last_s) + 1, step_s):
        near = next((kept[t] for d in range(0, 31, 5) for t in (t_s + d, t_s - d) if t in kept), None)
        planned = at(tuple(record.picture.plan), float(t_s)) if record.picture.plan else None
        rows.append({"day": date_words(local(record.starts, t_s)), "when": words.clock(record.starts, t_s),
                     "since": words.bound(duration(t_s)) if t_s else "0",
                     "got": words.temp(near, unit) if near is not None else "no reading",
                     "asked": words.temp(planned, unit) if planned is not None else ""})
    return render_template("table.html", firing=firing, rows=rows, unit=unit, step=duration(step_s))
