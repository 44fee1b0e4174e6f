"""Pieces: what is being made, and a new one."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.store import photographs, pieces
from web.firings.listing import PAGE, asked_page
from web.pieces.page import COLOUR_WORDS, drying_words, read_piece
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import GLASSES
from web.times import month_words

BLUEPRINT = Blueprint("pieces", __name__)


@BLUEPRINT.get("/pieces")
def listing() -> str:
    """Show one page of the pieces, the latest first, by what is looked for."""
    search, page = Form(request.args), asked_page()
    found = pieces.matching(database(), search.line("q"), limit=PAGE + 1, offset=(page - 1) * PAGE)
    shown = found[:PAGE]
    now = settings().clock.utc()
    drying = {p.piece_id: drying_words(p, now) for p in shown if p.dry_by_utc is not None and now < p.dry_by_utc}
    months = {p.piece_id: month_words(p.created_utc.astimezone(settings().zone)) for p in shown}
    return render_template(
        "pieces.html", pieces=shown, glasses=GLASSES, drying=drying, months=months, search=search, page=page,
        more=len(found) > PAGE, pictures=photographs.latest_of_pieces(database(), [p.piece_id for p in shown]))


@BLUEPRINT.get("/pieces/new")
def new() -> str:
    """Show the form."""
    database()
    return render_template("piece_new.html", form=Form(), glasses=GLASSES, colours=COLOUR_WORDS, piece=None)


@BLUEPRINT.post("/pieces/new")
def add() -> Response | tuple[str, int]:
    """Keep a piece."""
    form = Form(request.form)
    found = read_piece(form)
    if form.wrong:
        return render_template("piece_new.html", form=form, glasses=GLASSES, colours=COLOUR_WORDS, piece=None), 400
    number = pieces.add_piece(database(), now_utc=settings().clock.utc(), **found)  # type: ignore[arg-type]
    return redirect(url_for("piece.show", piece_id=number), code=303)
