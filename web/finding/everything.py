"""One search through everything that was written: firings, pieces, plans, notes and outcomes, each by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from flask import Blueprint, render_template, request, url_for

from daemon.store import firings, notes, outcomes, pieces, plans
from daemon.store.finding import search
from daemon.store.finding.search import CLOSE, OPEN, Found, Kind, Wanted
from web import words
from web.request.context import database, settings
from web.request.form import Form
from web.times import full_date

BLUEPRINT = Blueprint("find", __name__)
SHOWN = 10
"""Of each kind the latest are shown. [chosen: so that each kind is soon seen]"""


@dataclass(frozen=True, slots=True)
class Row:
    """One row that was found: where it leads, its heading, what it is, and other words of it.

    Heading and words are in pieces of text, each with whether it was looked for.
    """

    href: str
    title: Sequence[tuple[str, bool]]
    grey: str
    said: Sequence[tuple[str, bool]]


@dataclass(frozen=True, slots=True)
class Group:
    """The rows of a kind; ``all_of`` leads to all of them where they have a list, and is empty elsewhere."""

    name: str
    rows: Sequence[Row]
    more: bool
    all_of: str = ""


@BLUEPRINT.get("/find")
def show() -> str:
    """Show what holds the words that are asked for."""
    form = Form(request.args)
    typed = form.line("q")
    wanted = Wanted("" if form.wrong else typed)
    groups = [_group("Firings", [_firing(one) for one in _found(wanted, Kind.FIRING)],
                     url_for("firings.listing", q=typed)),
              _group("Pieces", [_piece(one) for one in _found(wanted, Kind.PIECE)],
                     url_for("pieces.listing", q=typed)),
              _group("Plans", [_plan(one) for one in _found(wanted, Kind.PLAN)]),
              _group("Notes and outcomes", _written(wanted))]
    return render_template("find.html", form=form, wanted=wanted, shown=SHOWN,
                           groups=[group for group in groups if group.rows])


def _found(wanted: Wanted, kind: Kind) -> list[Found]:
    return search.found(database(), wanted, kind, SHOWN + 1)


def _group(name: str, rows: Sequence[Row | None], all_of: str = "") -> Group:
    there = [row for row in rows if row is not None]
    return Group(name, there[:SHOWN], len(there) > SHOWN, all_of)


def _written(wanted: Wanted) -> list[Row | None]:
    """Return the notes and the outcomes, the latest first."""
    db, found = database(), []
    for one in _found(wanted, Kind.NOTE):
        note = notes.note(db, one.number)
        if note is not None:
            found.append((note.wall_utc, _of_firing(one, note.firing_id, "note", note.wall_utc)))
    for one in _found(wanted, Kind.OUTCOME):
        said = outcomes.outcome(db, one.number)
        if said is not None:
            found.append((said.wall_utc, _of_firing(one, said.firing_id, "came out", said.wall_utc)))
    return [row for _, row in sorted(found, key=lambda pair: pair[0], reverse=True)]


def _of_firing(found: Found, firing_id: int, what: str, when: datetime) -> Row | None:
    firing = firings.firing(database(), firing_id)
    return None if firing is None else Row(
        url_for("firing.show", firing_id=firing_id), [(firing.title, False)], f"{what}, {_day(when)}",
        search.plain(_one_line(found.words)))


def _firing(found: Found) -> Row | None:
    firing = firings.firing(database(), found.number)
    return None if firing is None else Row(
        url_for("firing.show", firing_id=found.number), *_headed(found, firing.title, _day(firing.started_utc)))


def _piece(found: Found) -> Row | None:
    piece = pieces.piece(database(), found.number)
    return None if piece is None else Row(url_for("piece.show", piece_id=found.number), *_headed(found, piece.name))


def _plan(found: Found) -> Row | None:
    plan = plans.plan(database(), found.number)
    if plan is None:
        return None
    return Row(url_for("plans.show", plan_id=found.number),
               *_headed(found, plan.title, "retired" if plan.retired_utc else ""))


def _day(moment: datetime) -> str:
    return words.bound(full_date(moment.astimezone(settings().zone).date()))


def _headed(found: Found, title: str, grey: str = "") -> tuple[search.Pieces, str, search.Pieces]:
    """Return the heading, what it is and the other words of a row, whose first line of words is its heading."""
    first, _, rest = found.words.partition("\n")
    if first.replace(OPEN, "").replace(CLOSE, "") != title:  # it was cut, or goes on
        return [(title, False)], grey, search.plain(_one_line(found.words))
    return search.plain(first), grey, search.plain(_one_line(rest))


def _one_line(text: str) -> str:
    """Return lines as one, a dot between two of them."""
    return " · ".join(" ".join(line.split()) for line in text.split("\n") if line.strip())
