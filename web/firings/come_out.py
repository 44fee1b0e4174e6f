"""One question in the morning: how did it come out? Fixed words and a note, of the whole load at once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.lifecycle.delete import COLD_C
from daemon.store import firing_list, outcomes, pieces
from daemon.store.firings import UNNAMED, Firing
from daemon.store.outcomes import WORDS, Outcome, Word
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import find
from web.times import date_words, local, time_words

BLUEPRINT = Blueprint("come_out", __name__)

ASKED_FOR = timedelta(days=7)
"""Now asks so long after a firing ended. [chosen: a week; who has not answered by then will not]"""
LATEST = 5
"""So many firings are looked through for a hot one. [chosen: a probe is seldom tried more often in a row]"""


@dataclass(frozen=True)
class Question:
    """What is asked of one firing, and what was said before."""

    firing: Firing
    names: tuple[str, ...]
    """Of the pieces it is about; empty where none was named."""
    form: Form
    said: Outcome | None
    ended: str = ""
    """When the firing ended, by its own time; empty while it runs."""
    words: tuple[str, ...] = WORDS

    @property
    def title(self) -> str:
        """Return what the firing is called, as the subject of a sentence."""
        return "A firing without a name" if self.firing.title == UNNAMED else self.firing.title


def question_of(firing: Firing, form: Form | None = None) -> Question:
    """Return the question about a firing, with the form as typed or as it was answered before."""
    db = database()
    said = outcomes.of_load(db, firing.firing_id)
    if form is None:
        form = Form()
        if said is not None:
            form.typed.setlist("word", list(said.words))
            form.typed["note"] = said.note
    return Question(firing, tuple(piece.name for piece in pieces.of_firing(db, firing.firing_id)), form, said,
                    _ended(firing))


def _ended(firing: Firing) -> str:
    """Return when a firing ended, as ``Mon 30 Nov, 07:43``: by its own time, as its table and its log have it."""
    if firing.ended_s is None:
        return ""
    there = local(firing.started_utc.astimezone(settings().zone), firing.ended_s)
    return f"{date_words(there)}, {time_words(there)}"


def is_open(firing: Firing, peak_c: float | None) -> bool:
    """Return whether a firing that has ended was hot, was not deleted, and nobody has said how it came out."""
    db = database()
    if firing.ended_s is None or firing.binned_utc is not None or peak_c is None or peak_c < COLD_C:
        return False
    return not outcomes.of_firing(db, firing.firing_id) and outcomes.of_load(db, firing.firing_id) is None


def asked_now() -> Question | None:
    """Return the question that Now asks: about the latest hot firing, if it ended lately and is not answered."""
    hot = (one for one in firing_list.matching(database(), limit=LATEST) if one.peak_c is not None
           and one.peak_c >= COLD_C)
    latest = next(hot, None)
    if latest is None or latest.firing.ended_utc is None or not is_open(latest.firing, latest.peak_c):
        return None
    return question_of(latest.firing) if settings().clock.utc() - latest.firing.ended_utc <= ASKED_FOR else None


@BLUEPRINT.post("/firings/<int:firing_id>/came-out")
def keep(firing_id: int) -> Response | tuple[str, int]:
    """Keep how a load came out, of each of its pieces; what was said earlier stays in the record."""
    firing, form = find(firing_id), Form(request.form)
    if firing.ended_s is None:
        abort(409, "This firing still runs. Say how it came out when it has ended.")
    chosen = [word for word in WORDS if form.has("word", word)]
    note = form.text("note")
    if len(chosen) != len(set(form.typed.getlist("word"))):
        form.wrong["word"] = "Choose words of the list. Write anything else as a note."
    elif not chosen and not note:
        form.wrong["word"] = "Choose at least one word, or write a note."
    elif Word.CLEAR in chosen and Word.HAZE in chosen:
        form.wrong["word"] = "Clear and haze can’t both be. Choose one, and say where in the note."
    if form.wrong:
        return render_template("come_out_page.html", question=question_of(firing, form), back=form["back"]), 400
    for piece_id in firing.piece_ids or (None,):
        outcomes.add_outcome(database(), firing_id=firing_id, piece_id=piece_id, words=chosen, place="", note=note,
                             now_utc=settings().clock.utc())
    if form["back"] == "now":
        return redirect(url_for("now.show"), code=303)
    return redirect(url_for("firing.show", firing_id=firing_id, _anchor="pieces"), code=303)
