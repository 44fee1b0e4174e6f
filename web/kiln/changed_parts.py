"""When elements and thermocouple were changed, as the owner says, and how long each has been hot since."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import NamedTuple, get_args

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.firing.energy.wear import AGES_ABOVE_C
from daemon.firing.plan.plan import to_unit
from daemon.store.wear import heat, part_changes
from daemon.store.wear.part_changes import Kind, PartChange
from web import words
from web.request.context import database, kiln_id, settings
from web.request.form import Form
from web.request.lookup import MAX_ID
from web.times import full_date

BLUEPRINT = Blueprint("changed_parts", __name__)

NAMES: dict[str, str] = {"elements": "Elements", "thermocouple": "Thermocouple"}
"""The parts, as they are called at the beginning of a sentence."""
_EARLIEST = date(1950, 1, 1)


class Part(NamedTuple):
    """A part, its changes (the latest first) and how hard it has been used since the latest."""

    kind: Kind
    name: str
    use: str
    changes: Sequence[tuple[PartChange, str]]
    """Each with its date in words."""


def parts_of(kiln: int) -> list[Part]:
    """Return both parts of a kiln."""
    all_of = part_changes.changes(database(), kiln)
    return [_part(kiln, kind, [one for one in all_of if one.part == kind]) for kind in get_args(Kind)]


def _part(kiln: int, kind: Kind, mine: Sequence[PartChange]) -> Part:
    changes = [(one, full_date(one.day)) for one in reversed(mine)]
    since = _began(mine[-1].day) if mine else datetime.fromtimestamp(0, UTC)
    count, hot_h = heat.hot_h_since(database(), kiln, since)
    unit = settings().unit
    at = f"above {to_unit(AGES_ABOVE_C, unit):.0f} °{unit}"
    firings = f"{count} firing{'' if count == 1 else 's'}"
    use = f"{firings} since the change, {hot_h:.0f} h {at}." if mine else \
        f"no change is noted. {firings} recorded, {hot_h:.0f} h {at}."
    return Part(kind, NAMES[kind], words.bound(use), changes)


def _began(day: date) -> datetime:
    """Return when a day of the owner's calendar began."""
    return datetime(day.year, day.month, day.day, tzinfo=settings().zone)


@BLUEPRINT.post("/kiln/parts")
def add() -> Response | tuple[str, int]:
    """Keep that a part was changed."""
    form, kiln = Form(request.form), _kiln()
    part, day, note = _read(form)
    if form.wrong or day is None:
        return render_template("kiln_part.html", form=form, change=None, names=NAMES), 400
    part_changes.add_change(database(), kiln, part, day, note, settings().clock.utc())
    return _back()


@BLUEPRINT.get("/kiln/parts/<int:number>")
def show(number: int) -> str:
    """Show the form that corrects a change."""
    change = _find(number)
    form = Form({"part": change.part, "day": change.day.isoformat(), "note": change.note})
    return render_template("kiln_part.html", form=form, change=change, names=NAMES)


@BLUEPRINT.post("/kiln/parts/<int:number>")
def correct(number: int) -> Response | tuple[str, int]:
    """Keep a change corrected."""
    form, change = Form(request.form), _find(number)
    part, day, note = _read(form)
    if form.wrong or day is None:
        return render_template("kiln_part.html", form=form, change=change, names=NAMES), 400
    if not change.is_removed:
        part_changes.correct(database(), change, part, day, note, settings().clock.utc())
    return _back()


@BLUEPRINT.post("/kiln/parts/<int:number>/remove")
def remove(number: int) -> Response:
    """Take a change out of sight."""
    part_changes.remove(database(), _find(number).part_change_id, settings().clock.utc())
    return _back(taken=number)


@BLUEPRINT.post("/kiln/parts/<int:number>/bring-back")
def bring_back(number: int) -> Response:
    """Bring a change back that was taken out."""
    part_changes.bring_back(database(), _find(number).part_change_id)
    return _back()


def just_taken() -> PartChange | None:
    """Return the change that was just taken out and can be brought back; None where there is none."""
    typed = request.args.get("taken", "")
    if not (typed.isascii() and typed.isdigit() and len(typed) < 12):
        return None
    found = part_changes.change(database(), int(typed))
    return found if found is not None and found.is_removed else None


def _read(form: Form) -> tuple[Kind, date | None, str]:
    """Return part, day and note as typed."""
    part: Kind = "elements" if form.choice("part", NAMES, "elements") == "elements" else "thermocouple"
    day, note = None, form.line("note")
    try:
        day = date.fromisoformat(form["day"].strip())
    except ValueError:
        form.wrong["day"] = "Give the day, as 2026-03-14."
    if day is not None and day > settings().clock.utc().astimezone(settings().zone).date():
        form.wrong["day"] = "That day is still to come. Note a change when it is made."
    elif day is not None and day < _EARLIEST:
        form.wrong["day"] = "That is too long ago. Check the year."
    return part, day, note


def _kiln() -> int:
    """Return the kiln, or answer 400."""
    kiln = kiln_id()
    if kiln is None:
        abort(400, "There is no kiln yet. It is entered here with the first firing.")
    return kiln


def _find(number: int) -> PartChange:
    """Return a change, or answer 404."""
    found = part_changes.change(database(), number) if 0 < number < MAX_ID else None
    if found is None:
        abort(404, "There is no such change here. The kiln’s page has them all.")
    return found


def _back(taken: int | None = None) -> Response:
    return redirect(url_for("kiln.show", _anchor="parts", taken=taken), code=303)
