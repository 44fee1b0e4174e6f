"""Pieces: what is being made."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.store import pieces
from web.form import Form
from web.house import database, settings
from web.load import GLASSES, MAX_THICKNESS_MM, MIN_THICKNESS_MM

BLUEPRINT = Blueprint("pieces", __name__)


@BLUEPRINT.get("/pieces")
def listing() -> str:
    """Show every piece, the latest first."""
    return render_template("pieces.html", pieces=pieces.pieces(database()), glasses=GLASSES)


@BLUEPRINT.get("/pieces/new")
def new() -> str:
    """Show the form."""
    database()
    return render_template("piece_new.html", form=Form(), glasses=GLASSES)


@BLUEPRINT.post("/pieces/new")
def add() -> Response | tuple[str, int]:
    """Keep a piece."""
    form = Form(request.form)
    name = form.line("name", asked="Give the piece a name you will know it by.")
    glass = form.choice("glass", GLASSES, "90")
    thickness = form.number("thickness", MIN_THICKNESS_MM, MAX_THICKNESS_MM, "mm")
    if thickness is None and "thickness" not in form.wrong:
        form.wrong["thickness"] = "Write how thick its thickest place is, in mm."
    layers, note = form.line("layers"), form.text("note")
    if form.wrong or thickness is None:
        return render_template("piece_new.html", form=form, glasses=GLASSES), 400
    pieces.add_piece(database(), name=name, glass=glass, thickness_mm=thickness, layers=layers, note=note,
                     now_utc=settings().clock.utc())
    return redirect(url_for("pieces.listing"), code=303)
