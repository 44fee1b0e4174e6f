"""Comparing: two to six firings laid together where their process begins, differences first."""

from __future__ import annotations

from dataclasses import dataclass, replace

from flask import Blueprint, render_template, request
from markupsafe import Markup

from daemon.firing.plan.plan import to_unit
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.store import firing_list, firings, outcomes, pieces
from daemon.store.firings import Firing
from web import words
from web.compare.differences import Compared, rows, sentences
from web.compare.measures import Stretch, crossing_s, falling_s, measures, process_c
from web.drawing.overlay_svg import Layer, hours, overlay_svg, sample_svg, shifted, whole
from web.drawing.trace_svg import NARROW, WIDE
from web.firings.listing import PAGE, asked_page
from web.firings.record import Record, read_whole
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import GLASSES
from web.request.lookup import MAX_ID
from web.times import date_words

BLUEPRINT = Blueprint("compare", __name__)

MOST, LEAST = 6, 2
"""So many firings can be compared at most, and at least. [chosen: as many as there are dashes to tell them apart
by]"""
WAYS = {"process": "where the process begins", "anneal": "the start of the anneal", "clock": "the hour of the day",
        "start": "the start"}
_MINUTES = 2000
"""Columns that a compared trace is read in. [chosen: more than the drawing is wide]"""
_NOON_S = 12 * 3600
"""Noon as a second of the day. [derived: 12 h]"""
_FAR_H = 1000.0
"""The stretch that is shown may be asked for within this of its zero [h]. [chosen: longer than any firing]"""
_LEAST_SHOWN_S = 600.0
"""No shorter stretch is shown [s]. [chosen: a hundred readings or so]"""


@dataclass(frozen=True)
class One:
    """One firing as it is compared."""

    firing: Firing
    record: Record
    trace: tuple[Stretch, ...]
    anneal_start_s: float | None
    compared: Compared


@BLUEPRINT.get("/compare")
def show() -> str:
    """Show the firings asked for laid together, or what there is to choose from."""
    chosen = _chosen()
    form = Form(request.args)
    by = form.choice("by", WAYS, "process")
    if len(chosen) < LEAST or "page" in request.args:
        return _choosing(form, chosen)
    found = [_one(firing) for firing in chosen]
    unit = settings().unit
    level_c = _level_c(found)
    zeros = [_zero_s(one, by, level_c) for one in found]
    missing = [one.firing.title for one, zero in zip(found, zeros, strict=True) if zero is None]
    layers = [shifted(Layer(one.firing.title, one.record.picture.columns, one.record.picture.cells), zero or 0.0)
              for one, zero in zip(found, zeros, strict=True)]
    zero_words = WAYS[by] if by != "process" else f"{to_unit(level_c, unit):.0f} °{unit}, climbing"
    if by == "clock":
        zero_words = "noon"
    compared = [one.compared for one in found]
    shown, nearer = _shown(form, whole(layers))
    return render_template(
        "compare.html", form=form, by=by, ways=WAYS, unit=unit, missing=missing,
        firings=[{"id": one.firing.firing_id, "title": one.firing.title, "date": date_words(one.record.starts),
                  "year": one.record.starts.year, "sample": Markup(sample_svg(number)),
                  "outcome": one.compared.outcome} for number, one in enumerate(found)],
        sentences=sentences(compared, unit), rows=rows(compared, unit),
        wide=Markup(overlay_svg(layers, unit, zero_words, WIDE, "wide", shown)),
        narrow=Markup(overlay_svg(layers, unit, zero_words, NARROW, "narrow", shown)),
        shown=shown, nearer=nearer, hours=hours,
    )


def _shown(form: Form, all_s: tuple[float, float]) -> tuple[tuple[float, float] | None, dict[str, tuple[str, str]]]:
    """Return the stretch asked for [s from the zero], None for all, and what leads nearer, wider and aside [h].

    One that lies outside or is no stretch is all of it.
    """
    first_h, last_h = form.number("from", -_FAR_H, _FAR_H, "h"), form.number("to", -_FAR_H, _FAR_H, "h")
    lowest_s, highest_s = all_s
    from_s = max(lowest_s, lowest_s if first_h is None else first_h * 3600)
    to_s = min(highest_s, highest_s if last_h is None else last_h * 3600)
    if to_s - from_s < _LEAST_SHOWN_S:
        from_s, to_s = all_s
    half_s = (to_s - from_s) / 2
    ways = {"Earlier": (from_s - half_s, to_s - half_s), "Later": (from_s + half_s, to_s + half_s),
            "Nearer": (from_s + half_s / 2, to_s - half_s / 2), "Wider": (from_s - half_s, to_s + half_s)}
    is_all = (from_s, to_s) == all_s
    offered = {name: (f"{a / 3600:.2f}", f"{b / 3600:.2f}") for name, (a, b) in ways.items()
               if name == "Nearer" or not is_all}
    return None if is_all else (from_s, to_s), offered


def _chosen() -> list[Firing]:
    """Return the firings asked for, in the order asked; or those of the piece asked for, the latest six."""
    db = database()
    wanted = [int(typed) for typed in dict.fromkeys(request.args.getlist("firing"))
              if typed.isascii() and typed.isdigit() and len(typed) < 16]
    found = [firing for number in wanted[:MOST] if 0 < number < MAX_ID and (firing := firings.firing(db, number))]
    piece = request.args.get("piece", "")
    if not found and piece.isascii() and piece.isdigit() and len(piece) < 16:
        found = firings.of_piece(db, int(piece))[-MOST:]
    return found


def _choosing(form: Form, chosen: list[Firing]) -> str:
    """Return the page that offers firings to compare."""
    glass, outcome = request.args.get("glass", ""), request.args.get("outcome", "")
    page = asked_page()
    listed = firing_list.matching(
        database(), limit=PAGE + 1, offset=(page - 1) * PAGE, text=form.line("q"),
        glass=glass if glass in GLASSES else "", outcome=outcome if outcome in outcomes.WORDS else "")
    shown = [_offer(one.firing, one.peak_c) for one in listed[:PAGE]]
    here = {offer["id"] for offer in shown}
    elsewhere = [_offer(firing, None) for firing in chosen if firing.firing_id not in here]
    for firing in chosen:
        form.typed.add("firing", str(firing.firing_id))
    asked = request.args.getlist("firing")
    return render_template(
        "compare_choose.html", form=form, glasses=GLASSES, known=outcomes.WORDS, glass=glass, outcome=outcome,
        few=bool(asked) and "page" not in request.args, unknown=len(set(asked)) > len(chosen),
        offered=elsewhere + shown, unit=settings().unit, page=page, more=len(listed) > PAGE, q=form["q"],
    )


def _offer(firing: Firing, peak_c: float | None) -> dict[str, object]:
    """Return a firing as it is offered; without its peak where that is not at hand."""
    starts = firing.started_utc.astimezone(settings().zone)
    return {"id": firing.firing_id, "title": firing.title, "date": f"{date_words(starts)} {starts.year}",
            "peak": "" if peak_c is None else words.temp(peak_c, settings().unit)}


def _one(firing: Firing) -> One:
    """Return one firing with its trace by the minute, its anneal hold, its figures and how its pieces came out."""
    record = read_whole(firing, _MINUTES)
    trace = tuple((t, mid) for t, _, mid, _ in record.picture.columns if mid is not None)
    anneal = None
    if record.plan is not None and record.glass is not None:
        anneal = anneal_hold(planned_parts(record.plan.parsed()), record.glass)
    legs = [leg for leg in record.course if leg.run is not None and anneal is not None
            and leg.planned.index == anneal.index]
    held_s = sum(leg.end_s - leg.start_s for leg in legs) or None
    means = [leg.run.mean_c for leg in legs if leg.run is not None and leg.run.mean_c is not None]
    anneal_c = sum(means) / len(means) if means else None
    came = outcomes.of_firing(database(), firing.firing_id)
    names = {p.piece_id: p.name for p in pieces.of_firing(database(), firing.firing_id)}
    said = [f"{', '.join(o.words) or 'a note'}" + (f" ({names.get(piece_id, '')})" if len(came) > 1 else "")
            for piece_id, o in came.items()]
    of_load = outcomes.of_load(database(), firing.firing_id)
    if of_load is not None and not said:
        said = [", ".join(of_load.words) or "a note"]
    measured, peak_c = measures(trace, anneal_c), record.picture.peak_c
    if measured is not None and peak_c is not None:
        measured = replace(measured, peak_c=peak_c)  # the columns' means smooth a short top
    return One(firing, record, trace, legs[0].start_s if legs else None, Compared(
        firing.title, measured, anneal_c, held_s, ", ".join(said)))


def _level_c(found: list[One]) -> float:
    peaks = [one.compared.measures.peak_c for one in found if one.compared.measures is not None]
    return process_c(peaks) if peaks else 0.0


def _zero_s(one: One, by: str, level_c: float) -> float | None:
    """Return the second of the firing that is laid at the common zero; None where it has none."""
    if by == "process":
        return crossing_s(one.trace, level_c)
    if by == "anneal":
        if one.anneal_start_s is not None:
            return one.anneal_start_s
        return None if one.record.glass is None else falling_s(one.trace, one.record.glass.annealing_point_c)
    if by == "clock":
        starts = one.record.starts
        return float(_NOON_S - (starts.hour * 3600 + starts.minute * 60 + starts.second))
    return 0.0
