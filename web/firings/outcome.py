"""How a piece came out of a firing, in fixed words."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.store import outcomes
from daemon.store.outcomes import WORDS, Word
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import find, find_piece

BLUEPRINT = Blueprint("outcome", __name__)


@BLUEPRINT.get("/firings/<int:firing_id>/pieces/<int:piece_id>/outcome")
def show(firing_id: int, piece_id: int) -> str:
    """Show the form, with what was said before."""
    firing, piece = find(firing_id), find_piece(piece_id)
    form = Form()
    standing = outcomes.of_firing(database(), firing_id).get(piece_id)
    if standing is not None:
        form.typed.setlist("word", list(standing.words))
        form.typed.update({"place": standing.place, "note": standing.note})
    return render_template("outcome.html", firing=firing, piece=piece, form=form, known=WORDS)


@BLUEPRINT.post("/firings/<int:firing_id>/pieces/<int:piece_id>/outcome")
def keep(firing_id: int, piece_id: int) -> Response | tuple[str, int]:
    """Keep an outcome; an earlier one stays in the record."""
    firing, piece, form = find(firing_id), find_piece(piece_id), Form(request.form)
    chosen = [word for word in WORDS if form.has("word", word)]
    place, note = form.line("place"), form.text("note")
    if len(chosen) != len(set(form.typed.getlist("word"))):
        form.wrong["word"] = "Choose words of the list; write anything else as a note."
    elif not chosen and not note:
        form.wrong["word"] = "Choose at least one word, or write a note."
    elif Word.CLEAR in chosen and Word.HAZE in chosen:
        form.wrong["word"] = "Clear and haze can’t both be. Choose one, and say where in the note."
    if place and Word.CRACK not in chosen:
        form.wrong["place"] = "This says where the crack is. Choose crack, or write it as a note."
    if form.wrong:
        return render_template("outcome.html", firing=firing, piece=piece, form=form, known=WORDS), 400
    outcomes.add_outcome(database(), firing_id=firing_id, piece_id=piece_id, words=chosen, place=place, note=note,
                         now_utc=settings().clock.utc())
    return redirect(url_for("firing.show", firing_id=firing_id, _anchor="pieces"), code=303)
