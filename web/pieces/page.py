"""One piece: what it is, the firings it went through, and what the next one must respect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.firing.durations import duration
from daemon.firing.setup import DEFAULT_GLASS, THINNEST_MM
from daemon.firing.verdict.answer import Question
from daemon.glass.materials import FAMILIES
from daemon.store import firings, judgements, outcomes, photographs, pieces
from daemon.store.firings import Firing
from daemon.store.outcomes import Outcome
from daemon.store.pieces import COLOURS, Piece
from web import words
from web.firings.record import peak_c
from web.firings.verdict import VerdictLine, kept_lines
from web.pieces.next_firing_advice import STANDING, Been, respects
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import GLASSES, MOST_TYPED_MM
from web.request.lookup import find_piece, taken_out
from web.request.thickness import thickness_figure
from web.security import access
from web.times import date_words, time_words

BLUEPRINT = Blueprint("piece", __name__)

Answer = Response | tuple[str, int]
COLOUR_WORDS = {"": "none", "high-fire": "high-fire enamel or decal", "low-fire": "low-fire enamel or decal"}
LONGEST_DRYING_H = 24.0 * 14
"""Longest drying that can be asked for [h]. [chosen: two weeks]"""


@dataclass(frozen=True)
class Link:
    """One firing of a piece's chain, as it is shown."""

    firing: Firing
    date: str
    peak: str
    running: bool
    came: Outcome | None
    strayed: Sequence[VerdictLine]
    judged: bool
    been: Been


@BLUEPRINT.get("/pieces/<int:piece_id>")
def show(piece_id: int) -> str:
    """Show a piece."""
    return show_with(find_piece(piece_id), Form())


def show_with(piece: Piece, form: Form) -> str:
    """Return the page of a piece with a form as it was typed."""
    db, unit = database(), settings().unit
    chain = firings.of_piece(db, piece.piece_id)
    came = outcomes.of_piece(db, piece.piece_id)
    links = [_link(firing, came.get(firing.firing_id)) for firing in chain]
    been = [link.been for link in links if not link.running]
    return render_template(
        "piece.html", piece=piece, form=form, glasses=GLASSES, unit=unit, chain=links,
        colour=COLOUR_WORDS.get(piece.colour, piece.colour), drying=drying_words(piece),
        respects=[words.bound(line) for line in respects(
            been, piece.thickness_mm, FAMILIES.get(piece.glass, FAMILIES["90"]), piece.colour, unit)],
        standing=STANDING, photographs=photographs.photographs(db, piece_id=piece.piece_id), taken=taken_out(),
        may_change=access.may_change(settings()),
    )


def _link(firing: Firing, came: Outcome | None) -> Link:
    """Return one firing of a piece's chain: when, how hot, what it is to look at, and how the piece came out."""
    zone, unit = settings().zone, settings().unit
    starts = firing.started_utc.astimezone(zone)
    judged = judgements.judgement(database(), firing.firing_id)
    lines = kept_lines(judged, unit)
    strayed = [line for line in lines if not line.well]
    highest_c = peak_c(firing, judged)
    return Link(
        firing, date_words(starts), words.temp(highest_c, unit), firing.ended_s is None, came, strayed, bool(lines),
        Been(date_words(starts), highest_c, any(line.told.kind is Question.ANNEAL_HOLD for line in strayed),
             came.words if came else ()),
    )


def drying_words(piece: Piece, now_utc: datetime | None = None) -> str:
    """Return how a piece's drying stands; empty where nothing dries."""
    if piece.dry_by_utc is None:
        return ""
    now = now_utc or settings().clock.utc()
    there = piece.dry_by_utc.astimezone(settings().zone)
    when = f"{date_words(there)} {time_words(there)}"
    if now < piece.dry_by_utc:
        left = duration((piece.dry_by_utc - now).total_seconds())
        return words.bound(f"It dries until {when}, {left} from now. Firing it wet lifts colour and spits.")
    return words.bound(f"It has dried since {when}.")


def read_piece(form: Form) -> dict[str, object]:
    """Return a piece's description as typed; what can't be used is noted in ``form.wrong``."""
    name = form.line("name", asked="Give the piece a name you will know it by.")
    glass = form.choice("glass", GLASSES, DEFAULT_GLASS)
    unit = settings().config.thickness_unit
    thickness = form.thickness("thickness", THINNEST_MM, MOST_TYPED_MM, unit)
    if thickness is None and "thickness" not in form.wrong:
        form.wrong["thickness"] = "Write how thick its thickest place is, in mm."
    thinnest = form.thickness("thinnest", 0.1, MOST_TYPED_MM, unit)
    if thinnest is not None and thickness is not None and thinnest > thickness:
        form.wrong["thinnest"] = f"{thinnest:g} mm is more than the thickest place, {thickness:g} mm. Check the two."
    return {
        "name": name, "glass": glass, "thickness_mm": thickness or 0.0, "thinnest_mm": thinnest,
        "layers": form.line("layers"), "separator": form.line("separator"),
        "colour": form.choice("colour", ("", *COLOURS), ""), "note": form.text("note"),
    }


@BLUEPRINT.get("/pieces/<int:piece_id>/change")
def change(piece_id: int) -> str:
    """Show the form with what is kept."""
    piece, unit = find_piece(piece_id), settings().config.thickness_unit
    form = Form({
        "name": piece.name, "glass": piece.glass, "thickness": thickness_figure(piece.thickness_mm, unit),
        "thinnest": "" if piece.thinnest_mm is None else thickness_figure(piece.thinnest_mm, unit),
        "layers": piece.layers, "separator": piece.separator,
        "colour": piece.colour, "note": piece.note,
    })
    return render_template("piece_new.html", form=form, glasses=GLASSES, colours=COLOUR_WORDS, piece=piece)


@BLUEPRINT.post("/pieces/<int:piece_id>/change")
def keep(piece_id: int) -> Answer:
    """Describe a piece anew."""
    piece, form = find_piece(piece_id), Form(request.form)
    found = read_piece(form)
    if form.wrong:
        return render_template("piece_new.html", form=form, glasses=GLASSES, colours=COLOUR_WORDS, piece=piece), 400
    pieces.change_piece(database(), piece_id, **found)  # type: ignore[arg-type]
    return redirect(url_for("piece.show", piece_id=piece_id), code=303)


@BLUEPRINT.post("/pieces/<int:piece_id>/drying")
def dry(piece_id: int) -> Answer:
    """Let a piece dry from now on for some hours; none is dry already."""
    piece, form = find_piece(piece_id), Form(request.form)
    hours = form.number("hours", 0.0, LONGEST_DRYING_H, "hours")
    if hours is None and "hours" not in form.wrong:
        form.wrong["hours"] = "Write how many hours it dries; 0 says that it is dry."
    if form.wrong or hours is None:
        return show_with(piece, form), 400
    now = settings().clock.utc()
    if hours:
        pieces.set_drying(database(), piece_id, now, now + timedelta(hours=hours))
    else:
        pieces.set_drying(database(), piece_id, piece.drying_from_utc, min(piece.dry_by_utc or now, now))
    return redirect(url_for("piece.show", piece_id=piece_id), code=303)
