"""The list of firings, the latest first."""

from __future__ import annotations

from flask import Blueprint, render_template, request

from daemon.store import firings
from web import words
from web.house import database, settings
from web.scales import MONTHS
from web.taste import time_words

BLUEPRINT = Blueprint("firings", __name__)

PAGE = 60
LAST_PAGE = 10_000


@BLUEPRINT.get("/firings")
def listing() -> str:
    """Show one page of the list."""
    typed = request.args.get("page", "1")
    page = min(LAST_PAGE, max(1, int(typed))) if typed.isascii() and typed.isdigit() and len(typed) < 8 else 1
    found = firings.firings(database(), limit=PAGE + 1, offset=(page - 1) * PAGE)
    zone, unit = settings().zone, settings().unit
    entries = []
    for listed in found[:PAGE]:
        starts = listed.firing.started_utc.astimezone(zone)
        entries.append({
            "id": listed.firing.firing_id, "title": listed.firing.title,
            "date": f"{starts.day} {MONTHS[starts.month - 1]}", "year": starts.year,
            "clock": time_words(starts), "running": listed.firing.ended_s is None,
            "peak": words.temp(listed.peak_c, unit), "duration": words.duration(listed.duration_s),
            "rank": listed.worst_rank.value if listed.worst_rank else "",
            "rank_words": words.RANKS[listed.worst_rank.value] if listed.worst_rank else "",
            "plan": listed.plan_title or "", "invented": listed.firing.invented,
        })
    return render_template("firings.html", entries=entries, page=page, more=len(found) > PAGE, unit=unit)
