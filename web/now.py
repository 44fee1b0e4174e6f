"""Now: what the kiln does, whether it is all right, and what to do."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, get_template_attribute, render_template, request

from daemon.firing.schedule import planned_parts
from daemon.store import firings, pieces, plans, requests
from daemon.store.firings import Firing
from web import access
from web.course import asked_words
from web.glance import Glance, number
from web.house import database, glance, kiln_id, settings
from web.present import Present, present
from web.record import read_record
from web.sheet import Sheet, sheet_of
from web.tagged import tagged_json

BLUEPRINT = Blueprint("now", __name__)


def _open_firing(said: Glance | None) -> Firing | None:
    """Return the firing that runs, as the store has it; the daemon's word chooses where there are several."""
    db = database()
    kiln = kiln_id()
    if said is not None:
        told = said.number("firing_id")
        found = firings.firing(db, int(told)) if told is not None else None
        if found is not None and found.ended_s is None:
            return found
    return firings.current(db, kiln) if kiln is not None else None


def _present(said: Glance | None, firing: Firing | None) -> Present:
    zone, unit = settings().zone, settings().unit
    if firing is None:
        return present(said, unit, zone, None)
    return present(said, unit, zone, firing.started_utc.astimezone(zone), asked_by_part(firing.plan_id, unit))


def asked_by_part(plan_id: int | None, unit: str) -> dict[tuple[int, str], str]:
    """Return what a plan asks in each of its parts, by step and kind."""
    stored = plans.plan(database(), plan_id) if plan_id is not None else None
    if stored is None:
        return {}
    return {(part.step, part.part): asked_words(part, unit) for part in planned_parts(stored.parsed())}


@BLUEPRINT.get("/")
def now() -> str:
    """Show the present."""
    said = glance()
    firing = _open_firing(said)
    sheet: Sheet | None = None
    if firing is not None:
        at_s = number(said.table("next"), "at_s") if said else None
        sheet = sheet_of(read_record(database(), settings(), firing, next_at_s=at_s))
    listed = firings.firings(database(), limit=1)
    stored = pieces.pieces(database())
    steps = {"plan": bool(plans.plans(database())), "piece": bool(stored), "firing": bool(listed)}
    return render_template(
        "now.html", now=_present(said, firing), firing=firing, sheet=sheet, steps=steps, asked=_asked(),
        pieces=[p for p in stored if firing and p.piece_id in firing.piece_ids],
        last=listed[0] if listed else None, may_change=access.may_change(settings()),
    )


def _asked() -> str:
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
        return "Asked. The watch takes it in a moment."
    return f"Not done: {found.outcome}"


@BLUEPRINT.get("/now.json")
def now_json() -> Response:
    """Return the changing part of Now, with a tag so that nothing is sent twice."""
    said = glance()
    firing = _open_firing(said)
    shown = _present(said, firing)
    body: dict[str, Any] = {
        "firing_id": firing.firing_id if firing else None,
        "t_s": said.number("t_s") if said else None,
        "title": shown.title, "stale": bool(shown.stale),
        "texts": {
            "sentence": shown.sentence, "temp": shown.temp, "movement": shown.movement,
            "plan": shown.beside_plan, "clock": shown.clock, "stale": shown.stale, "asked": _asked(),
        },
        "blocks": {
            "alerts": _part("alerts", shown, firing), "log": _part("log", shown, firing),
            "trouble": _part("trouble", shown, firing), "answer": _part("answer", shown, firing),
        },
    }
    return tagged_json(body)


def _part(name: str, shown: Present, firing: Firing | None) -> str:
    macro = get_template_attribute("live.html", name)
    return str(macro(shown, firing, access.may_change(settings())))
