"""Pieces: what is being made, and a new one."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.store import pieces
from web.pieces.page import COLOUR_WORDS, drying_words, read_piece
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import GLASSES

BLUEPRINT = Blueprint("pieces", __name__)


@BLUEPRINT.get("/pieces")
def listing() -> str:
    """Show every piece, the latest first."""
    found = pieces.pieces(database())
    now = settings().clock.utc()
    drying = {p.piece_id: drying_words(p, now) for p in found if p.dry_by_utc is not None and now < p.dry_by_utc}
    return render_template("pieces.html", pieces=found, glasses=GLASSES, drying=drying)


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
