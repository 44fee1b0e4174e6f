"""Three questions that all firings answer together, each with a sentence, its firings and a drawing."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from markupsafe import Markup

from daemon.firing.plan.plan import MAX_HOLD_MIN, MAX_TARGET_C, rate_to_unit, to_unit
from daemon.store.finding import figures
from web.drawing.scatter_svg import sample_svg
from web.finding import haze, hot
from web.kiln.changed_parts import parts_of
from web.request.context import database, kiln_id, settings
from web.request.form import Form
from web.request.load_form import GLASSES

BLUEPRINT = Blueprint("questions", __name__)
_LIMIT = (1.0, 200.0)
"""Within these a firing can be asked to be called hot [degrees]. [chosen: a reading's noise, and no slip of a pen]"""


@BLUEPRINT.get("/questions")
def show() -> str:
    """Show the questions with their answers."""
    db, form, kiln, unit = database(), Form(request.args), kiln_id(), settings().unit
    fired = [] if kiln is None else figures.fired(db, kiln)
    return render_template(
        "questions.html", form=form, unit=unit, kiln_id=kiln, hot=_hot(form, fired), haze=_haze(form),
        parts=[] if kiln is None else parts_of(kiln),
        filled=Markup(sample_svg(is_open=False)), hollow=Markup(sample_svg(is_open=True)))


def _hot(form: Form, fired: list[figures.Fired]) -> dict[str, object] | None:
    """Return the first question as the page shows it; None where no firing by a plan has ended."""
    kiln, unit = kiln_id(), settings().unit
    if kiln is None or not fired:
        return None
    options = [(one.title, one.title) for one in fired]
    options += [(name, kind.words(unit)) for name, kind in hot.KINDS.items() if name not in {o[0] for o in options}]
    chosen = form.choice("plan", [name for name, _ in options], fired[0].title)
    usual = rate_to_unit(hot.USUAL_LIMIT_K, unit)
    typed = form.number("over", *_LIMIT, f"°{unit}")
    limit = usual if typed is None else typed
    return {"options": options, "chosen": chosen, "over": f"{limit:g}",
            "answer": hot.answer(database(), kiln, fired, chosen, limit, unit)}


def _haze(form: Form) -> dict[str, object] | None:
    """Return the second question as the page shows it; None where no piece came out with haze."""
    unit, known = settings().unit, {one.glass: one for one in figures.haze_by_glass(database(), kiln_id())}
    if not known:
        return None
    glasses = list(known)
    glass = form.choice("glass", glasses, glasses[0])
    limits = {f"{limit_c:g}": limit_c for limit_c in haze.LIMITS_C}
    above = form.choice("above", limits, f"{haze.LIMITS_C[-1]:g}")
    # What the page of a forecast asks about: its peak [°C] and its minutes above the last limit.
    peak_c, minutes = form.number("peak", 0.0, MAX_TARGET_C, "°C"), form.number("minutes", 0.0, MAX_HOLD_MIN, "min")
    tonight = None
    if peak_c is not None and minutes is not None and limits[above] == haze.LIMITS_C[-1]:
        tonight = minutes, peak_c
    return {"options": [(one, GLASSES.get(one, one)) for one in glasses], "chosen": glass,
            "name": GLASSES.get(glass, glass), "above": above,
            "limits": [(name, f"{to_unit(limit_c, unit):.0f} °{unit}") for name, limit_c in limits.items()],
            "foreseen": form["peak"] if tonight is not None else "", "minutes": form["minutes"],
            "answer": haze.answer(database(), known[glass], limits[above], unit, tonight)}
