"""The list of firings, the latest first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from flask import Blueprint, render_template, request

from daemon.firing.durations import duration
from daemon.store import bin, firing_list, plans
from daemon.store.outcomes import WORDS
from web import words
from web.drawing.trace_model import kind_words
from web.firings.curve import HEIGHT, WIDTH
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import GLASSES
from web.times import WEEKDAYS, month_words, time_words

BLUEPRINT = Blueprint("firings", __name__)

PAGE = 60
"""Firings on a page. [chosen: a year of a studio that fires weekly]"""
LAST_PAGE = 10_000
"""No later page is looked for. [chosen: bounds the work of a request]"""
FIELDS = ("q", "glass", "plan", "outcome", "since", "until", "strayed")


def read_search() -> tuple[Form, dict[str, Any]]:
    """Return what is looked for, as typed and as the store takes it; what can't be used is left out and said."""
    form = Form(request.args)
    wishes: dict[str, Any] = {
        "text": form.line("q"), "plan": form.line("plan"),
        "glass": form.choice("glass", ("", *GLASSES), ""), "outcome": form.choice("outcome", ("", *WORDS), ""),
        "strayed": form["strayed"] == "yes", "since_utc": _day(form, "since"), "until_utc": _day(form, "until"),
    }
    if wishes["until_utc"] is not None:
        wishes["until_utc"] += timedelta(days=1)
    for name in form.wrong:
        wishes.pop({"q": "text"}.get(name, name), None)
    return form, wishes


def _day(form: Form, name: str) -> datetime | None:
    """Return the first moment of a day as typed, 2026-03-04; None where none is."""
    typed = form[name].strip()
    if not typed:
        return None
    try:
        day = datetime.strptime(typed, "%Y-%m-%d").replace(tzinfo=settings().zone)
        return day.astimezone(UTC) if 1970 < day.year < 9000 else None
    except (ValueError, OverflowError):
        form.wrong[name] = f"“{typed[:20]}” is no day. Write it as 2026-03-04."
        return None


def asked_page() -> int:
    """Return which page of a list is asked for, from 1; the first where that is not to be read."""
    typed = request.args.get("page", "1")
    return min(LAST_PAGE, max(1, int(typed))) if typed.isascii() and typed.isdigit() and len(typed) < 8 else 1


@BLUEPRINT.get("/firings")
def listing() -> str:
    """Show one page of the list."""
    page = asked_page()
    search, wishes = read_search()
    found = firing_list.matching(database(), limit=PAGE + 1, offset=(page - 1) * PAGE, **wishes)
    zone, unit = settings().zone, settings().unit
    entries = []
    for listed in found[:PAGE]:
        starts = listed.firing.started_utc.astimezone(zone)
        entries.append({
            "id": listed.firing.firing_id, "title": listed.firing.title,
            "date": f"{WEEKDAYS[starts.weekday()]} {starts.day}", "month": month_words(starts),
            "woke": [kind_words(kind) for kind in listed.woke], "came_out": listed.came_out,
            "picture": listed.picture, "drawn": listed.firing.ended_s or "now",
            "clock": time_words(starts), "running": listed.firing.ended_s is None,
            "peak": words.temp(listed.peak_c, unit), "duration": duration(listed.duration_s),
            "rank": listed.worst_rank.value if listed.worst_rank else "",
            "rank_words": words.RANKS[listed.worst_rank.value] if listed.worst_rank else "",
            "plan": listed.plan_title or "", "invented": listed.firing.invented,
        })
    return render_template(
        "firings.html", entries=entries, page=page, curve=(WIDTH, HEIGHT), more=len(found) > PAGE, unit=unit,
        search=search, asked={name: typed for name, typed in search.typed.items() if typed and name in FIELDS},
        deleted=len(bin.in_bin(database())), known=[(word, word) for word in WORDS], glasses=GLASSES,
        plans=[(p.title, p.title) for p in plans.plans(database())])
