"""Comparing two to six firings: what was different in words, their curves over each other, then fact by fact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flask import Blueprint, render_template, request
from markupsafe import Markup

from daemon.firing.units import Units
from daemon.lifecycle.broke_off import broken_off
from daemon.store import firings, photographs
from daemon.store.firings import Firing
from daemon.store.photographs import Photograph
from web.compare.aligned import WAYS, One, level_c, read_one, zero_s
from web.compare.choosing import LEAST, MOST, choosing
from web.compare.figures import FigureRow, figure_rows
from web.compare.stretch import around_the_top, shown_stretch, ways
from web.compare.summary import summary
from web.compare.written import Load, WrittenRow, came_out_row, load_rows, night_rows
from web.drawing.overlay_layers import LETTERS, Layer, hours, shifted, whole
from web.drawing.overlay_svg import overlay_svg, sample_svg
from web.drawing.trace_svg import NARROW, WIDE
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import MAX_ID
from web.times import date_words

BLUEPRINT = Blueprint("compare", __name__)

_FAR_H = 1000.0
"""The stretch that is shown may be asked for within this of its zero [h]. [chosen: longer than any firing]"""
_MOST_PHOTOGRAPHS = 4
"""So many photographs of a firing stand beside those of the others. [chosen: the page has them all]"""
UNKNOWN = "One of those is no firing kept here. "
FEW = "Choose at least two different ones."
MANY = f"These are more than {MOST}. Take some away: at most {MOST} are compared at once."


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing of the curves, for a desk and for a phone."""

    title: str
    wide: Markup
    narrow: Markup


@BLUEPRINT.get("/compare")
def show() -> str:
    """Show the firings asked for laid together, or what there is to choose from."""
    asked = list(dict.fromkeys(request.args.getlist("firing")))
    chosen = _chosen(asked)
    form = Form(request.args)
    if "page" in request.args:
        return choosing(form, chosen)
    if not LEAST <= len(chosen) <= MOST:
        wrong = MANY if len(chosen) > MOST else (UNKNOWN if len(asked) > len(chosen) else "") + FEW
        return choosing(form, chosen, wrong if asked else "")
    return _compare(form, [read_one(firing) for firing in chosen])


def _chosen(asked: Sequence[str]) -> list[Firing]:
    """Return the firings asked for, the oldest first but for the one asked to be first; or a piece's latest six."""
    db = database()
    numbers = [int(typed) for typed in asked if typed.isascii() and typed.isdigit() and len(typed) < 16]
    found = [firing for number in numbers[:4 * MOST] if 0 < number < MAX_ID
             and (firing := firings.firing(db, number)) is not None and firing.binned_utc is None]
    piece = request.args.get("piece", "")
    if not found and piece.isascii() and piece.isdigit() and len(piece) < 16:
        found = firings.of_piece(db, int(piece))[-MOST:]
    first = request.args.get("first", "")
    return sorted(found, key=lambda firing: (str(firing.firing_id) != first, firing.started_utc, firing.firing_id))


def _compare(form: Form, found: Sequence[One]) -> str:
    """Return the comparison."""
    unit = settings().unit
    by = form.choice("by", WAYS, "process")
    process_c = level_c(found)
    zeros = [zero_s(one, by, process_c) for one in found]
    layers = [shifted(Layer(one.firing.title, one.load.record.picture.columns, one.load.record.picture.cells),
                      zero or 0.0) for one, zero in zip(found, zeros, strict=True)]
    at = {"process": f"{Units(unit).temp(process_c)}, climbing", "clock": "noon"}.get(by, WAYS[by])
    all_s = whole(layers)
    shown = shown_stretch((form.number("from", -_FAR_H, _FAR_H, "h"), form.number("to", -_FAR_H, _FAR_H, "h")), all_s)
    loads = [one.load for one in found]
    broken = broken_off(database(), [one.firing for one in found if not one.load.record.running])
    compared = [one.compared for one in found]
    figures = figure_rows(compared, unit)
    load, night = load_rows(loads), night_rows(loads)
    unlike = [row.name.lower() for row in load if not row.is_same and row.is_summed_up]
    return render_template(
        "compare.html", by=by, ways=WAYS, of=f"of-{len(found)}",
        running=[LETTERS[number] for number, one in enumerate(found) if one.load.record.running],
        missing=[LETTERS[number] for number, zero in enumerate(zeros) if zero is None],
        broken=[LETTERS[number] for number, one in enumerate(found) if one.firing.firing_id in broken],
        firings=[_head(one, number) for number, one in enumerate(found)],
        said=summary(compared, figures, unlike, unit),
        drawings=_drawings(layers, unit, at, shown, all_s), shown=shown, nearer=ways(shown, all_s), hours=hours,
        came_out=came_out_row(loads), photographs=[_photographs(one) for one in loads],
        figures=[row for row in figures if not row.is_same and row.figure.deed is not None],
        further=[row for row in figures if not row.is_same and row.figure.deed is None],
        load=[row for row in load if not row.is_same], night=[row for row in night if not row.is_same],
        same=_same(figures, (*load, *night)),
    )


def _head(one: One, number: int) -> dict[str, object]:
    """Return what a firing is known by: its letter, the sample of its line, title, day and outcome."""
    starts = one.load.record.starts
    return {"id": one.firing.firing_id, "letter": LETTERS[number], "title": one.firing.title,
            "date": f"{date_words(starts)} {starts.year}".replace(" ", "\u00a0"),
            "sample": Markup(sample_svg(number)), "outcome": ", ".join(one.compared.outcome)}


def _drawings(layers: Sequence[Layer], unit: str, at: str, shown: tuple[float, float] | None,
              all_s: tuple[float, float]) -> list[Drawing]:
    """Return the stretch asked for; without one, the stretch around the tops and the whole."""
    if shown is not None:
        return [_drawing(f"From {hours(shown[0])} to {hours(shown[1])}", layers, unit, at, "near", shown)]
    top = around_the_top(layers, all_s)
    near = [] if top is None else [_drawing("Around the top", layers, unit, at, "top", top)]
    return [*near, _drawing("The whole firing", layers, unit, at, "whole", None, strips=top is None)]


def _drawing(title: str, layers: Sequence[Layer], unit: str, at: str, name: str,
             shown: tuple[float, float] | None, *, strips: bool = True) -> Drawing:
    return Drawing(title, Markup(overlay_svg(layers, unit, at, WIDE, f"{name}-wide", shown, strips=strips)),
                   Markup(overlay_svg(layers, unit, at, NARROW, f"{name}-narrow", shown)))


def _photographs(load: Load) -> list[Photograph]:
    """Return the photographs of a firing, else those of its pieces; the latest ones."""
    db = database()
    found = photographs.photographs(db, firing_id=load.firing.firing_id)
    for piece in () if found else load.pieces:
        found += photographs.photographs(db, piece_id=piece.piece_id)
    return found[-_MOST_PHOTOGRAPHS:]


def _same(figures: Sequence[FigureRow], written: Sequence[WrittenRow]) -> list[tuple[str, str]]:
    """Return what is the same in all, by its name: of figures their span, of the written the words."""
    return [(row.name, ", ".join(line.text for line in row.cells[0])) for row in written if row.is_same] + [
        (row.name, row.span) for row in figures if row.is_same]
