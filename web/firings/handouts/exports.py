"""A firing to take away: its trace as CSV, all of it as JSON, its picture as SVG; the list as CSV."""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from typing import Any

import sqlite_utils
from flask import Blueprint, Response, request

from daemon.firing.report import alert_json
from daemon.plain_json import without_minus_zero
from daemon.store import alerts as alert_store
from daemon.store import firing_list, found_parts, judgements, notes, outcomes, pieces, plans, readings
from daemon.store.firings import Firing
from daemon.store.outcomes import Outcome
from daemon.store.safety import record_mark
from web.drawing.trace_svg import svg
from web.firings.moments import second_of
from web.firings.record import read_whole
from web.request.context import database, settings
from web.request.lookup import find

BLUEPRINT = Blueprint("exports", __name__)

PICTURE = (1600, 700)
"""Width and height of an exported trace [px]. [chosen: sharp on a printed page]"""
_LISTED = 100_000
"""Firings of a listing that is exported at most. [chosen: more than anybody fires in a life]"""
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
COLUMNS = 1200
"""Columns that an exported trace is drawn from. [chosen: no fewer than three quarters of its pixels]"""


def neutral(text: str) -> str:
    """Return a text for a cell of a CSV, so that no spreadsheet takes it for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def file_name(firing: Firing, kind: str) -> str:
    """Return a file's name in plain letters: ``2026-03-03-bowl-blank.csv``."""
    plain = unicodedata.normalize("NFKD", firing.title).encode("ascii", "ignore").decode().lower()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60] or f"firing-{firing.firing_id}"
    return f"{firing.started_utc.astimezone(settings().zone):%Y-%m-%d}-{slug}.{kind}"


def _file(body: str, mimetype: str, name: str) -> Response:
    response = Response(body, mimetype=mimetype)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@BLUEPRINT.get("/firings/<int:firing_id>/trace.csv")
def trace_csv(firing_id: int) -> Response:
    """Return every kept reading: second, °C, fault, as ``lehrling replay`` reads it (RFC 4180)."""
    firing = find(firing_id)
    lines = io.StringIO()
    writer = csv.writer(lines)
    writer.writerow(("seconds", "celsius", "fault"))
    for sample in readings.samples(database(), firing.firing_id):
        writer.writerow((f"{sample.t_s:g}" if sample.t_s < 1e5 else f"{sample.t_s:.0f}",
                         "" if sample.temp_c is None else repr(sample.temp_c), sample.fault or ""))
    return _file(lines.getvalue(), "text/csv", file_name(firing, "csv"))


@BLUEPRINT.get("/firings/<int:firing_id>/trace.svg")
def trace_svg(firing_id: int) -> Response:
    """Return the strip and the trace as one drawing, by day."""
    firing = find(firing_id)
    drawn = svg(read_whole(firing, COLUMNS).picture, PICTURE, name="picture")
    if "shown" in request.args:
        return Response(drawn, mimetype="image/svg+xml")
    return _file(drawn, "image/svg+xml", file_name(firing, "svg"))


@BLUEPRINT.get("/firings/<int:firing_id>/firing.json")
def firing_json(firing_id: int) -> Response:
    """Return all that is kept of a firing, its readings included."""
    firing = find(firing_id)
    kept = without_minus_zero(everything(database(), firing))
    text = json.dumps(kept, ensure_ascii=False, allow_nan=False, indent=1)
    return _file(text + "\n", "application/json", file_name(firing, "json"))


def everything(db: sqlite_utils.Database, firing: Firing) -> dict[str, Any]:
    """Return a firing as plain values: seconds of the firing, °C, wall times in UTC."""
    number = firing.firing_id
    plan = plans.plan(db, firing.plan_id) if firing.plan_id is not None else None
    judged = judgements.judgement(db, number)
    told = alert_store.alerts(db, number)
    marks = found_parts.clock_marks(db, number)
    return {
        "title": firing.title, "started_utc": firing.started_utc.isoformat(), "ended_s": firing.ended_s,
        "ended_by": firing.ended_by, "opened_by": firing.opened_by, "invented": firing.invented,
        "glass": firing.glass, "thickness_mm": firing.thickness_mm, "faces": firing.faces,
        "offset_c": firing.offset_c, "plan": None if plan is None else plan.toml,
        "pieces": [{"name": p.name, "glass": p.glass, "thickness_mm": p.thickness_mm, "thinnest_mm": p.thinnest_mm,
                    "layers": p.layers, "separator": p.separator, "note": p.note}
                   for p in pieces.of_firing(db, number)],
        "outcomes": [{"piece": o.piece_id, "words": list(o.words), "place": o.place, "note": o.note}
                     for o in outcomes.of_firing(db, number).values()],
        "outcome": _outcome_json(outcomes.of_load(db, number)),
        "judged": None if judged is None else {
            "when_utc": judged.wall_utc.isoformat(), "version": judged.version, **judged.told},
        "parts": [{"step": p.step, "part": p.part, "start_s": p.start_s, "end_s": p.end_s,
                   "rate_c_per_h": p.rate_c_per_h, "mean_c": p.mean_c} for p in found_parts.parts(db, number)],
        "alerts": [alert_json(alert, told) for alert in told],
        "milestones": [{"t_s": m.t_s, "name": m.name, "text": m.text} for m in found_parts.milestones(db, number)],
        "said": [{"t_s": s.t_s, "what": s.what.value, "alert_no": s.alert_no, "for_s": s.for_s}
                 for s in found_parts.said(db, number)],
        "notes": [{"when_utc": n.wall_utc.isoformat(), "t_s": round(second_of(n.wall_utc, firing, marks)),
                   "text": n.text} for n in notes.notes(db, number)],
        "gaps": [{"from_s": g.from_s, "to_s": g.to_s, "reason": g.reason} for g in found_parts.gaps(db, number)],
        "clock": [{"t_s": c.t_s, "wall_utc": c.wall_utc.isoformat(), "synchronised": c.synchronised}
                  for c in marks],
        "mark": record_mark.head(db, number),
        "readings": {"columns": ["seconds", "celsius", "fault"],
                     "rows": [[s.t_s, s.temp_c, s.fault] for s in readings.samples(db, number)]},
    }


def _outcome_json(of_load: Outcome | None) -> dict[str, Any] | None:
    """Return what was said of the whole load."""
    return None if of_load is None else {"words": list(of_load.words), "note": of_load.note}


@BLUEPRINT.get("/firings.csv")
def list_csv() -> Response:
    """Return the list of firings."""
    lines = io.StringIO()
    writer = csv.writer(lines)
    writer.writerow(("firing", "started_utc", "title", "plan", "seconds", "highest_celsius", "told"))
    for listed in firing_list.matching(database(), limit=_LISTED):
        firing = listed.firing
        writer.writerow((
            firing.firing_id, firing.started_utc.isoformat(), neutral(firing.title), neutral(listed.plan_title or ""),
            listed.duration_s, "" if listed.peak_c is None else repr(listed.peak_c),
            listed.worst_rank.value if listed.worst_rank else ""))
    return _file(lines.getvalue(), "text/csv", "firings.csv")
