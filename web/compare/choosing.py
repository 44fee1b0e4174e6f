"""The list from which firings are ticked to be compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask import render_template, request

from daemon.store import firing_list, outcomes, pieces, plans
from daemon.store.firing_list import Listed
from daemon.store.firings import Firing
from web import words
from web.firings.curve import HEIGHT, WIDTH
from web.firings.listing import PAGE, asked_page
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import GLASSES
from web.times import date_words

LEAST, MOST = 2, 6
"""So many firings can be compared at least, and at most. [chosen: as many as there are dashes to tell them apart
by]"""
_MOST_LIKE = 8
"""So many of the same plan or piece are offered first. [chosen: what a phone shows without scrolling far]"""


@dataclass(frozen=True, slots=True)
class Group:
    """Firings under one heading; without one where it is the only group."""

    heading: str
    offers: tuple[dict[str, object], ...]


def choosing(form: Form, chosen: Sequence[Firing], wrong: str = "") -> str:
    """Return the page that offers firings to compare.

    Parameters
    ----------
    form
        What is searched for, and what was ticked.
    chosen
        The firings that are ticked.
    wrong
        Why what was ticked can't be compared; empty where nothing is said of it.
    """
    db = database()
    glass, outcome = request.args.get("glass", ""), request.args.get("outcome", "")
    page, text = asked_page(), form.line("q")
    is_searched = bool(text or glass or outcome)
    found = firing_list.matching(
        db, limit=PAGE + 1, offset=(page - 1) * PAGE, text=text, glass=glass if glass in GLASSES else "",
        outcome=outcome if outcome in outcomes.WORDS else "")
    ticked = firing_list.by_number(db, [firing.firing_id for firing in chosen])
    like = _like(chosen[0]) if len(chosen) == 1 and page == 1 and not is_searched else []
    for firing in chosen:
        if not form.has("firing", firing.firing_id):
            form.typed.add("firing", str(firing.firing_id))
    return render_template(
        "compare_choose.html", form=form, glasses=GLASSES, known=outcomes.WORDS, glass=glass, outcome=outcome,
        wrong=wrong, groups=_groups([("Ticked", ticked), ("By the same plan or with the same piece", like),
                                     ("Found" if is_searched else "Others" if ticked else "", found[:PAGE])]),
        unit=settings().unit, page=page, more=len(found) > PAGE, q=form["q"], curve=(WIDTH, HEIGHT),
        is_searched=is_searched)


def _like(firing: Firing) -> list[Listed]:
    """Return the firings of the same plan, whatever its version, or with one of the same pieces, the latest first."""
    db, found = database(), {}
    plan = plans.plan(db, firing.plan_id) if firing.plan_id is not None else None
    if plan is not None:
        found = {one.firing.firing_id: one for one in firing_list.matching(db, limit=_MOST_LIKE, plan=plan.title)}
    for piece in pieces.of_firing(db, firing.firing_id):
        for one in firing_list.matching(db, limit=_MOST_LIKE, text=piece.name):
            if piece.piece_id in one.firing.piece_ids:
                found[one.firing.firing_id] = one
    return sorted(found.values(), key=lambda one: one.firing.started_utc, reverse=True)[:_MOST_LIKE]


def _groups(listed: Sequence[tuple[str, Sequence[Listed]]]) -> list[Group]:
    """Return the groups that have any, each firing in the first that it belongs to."""
    groups, offered = [], set()
    for heading, found in listed:
        new = [one for one in found if one.firing.firing_id not in offered]
        offered |= {one.firing.firing_id for one in new}
        if new:
            groups.append(Group(heading, tuple(map(_offer, new))))
    return groups


def _offer(listed: Listed) -> dict[str, object]:
    """Return a firing as it is offered."""
    starts = listed.firing.started_utc.astimezone(settings().zone)
    return {
        "id": listed.firing.firing_id, "title": listed.firing.title, "date": date_words(starts), "year": starts.year,
        "peak": "" if listed.peak_c is None else words.temp(listed.peak_c, settings().unit),
        "came_out": listed.came_out, "plan": listed.plan_title or "", "picture": listed.picture,
        "drawn": listed.firing.ended_s or "now",
    }
