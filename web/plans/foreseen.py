"""What this kiln will do with a plan, kept or only typed: its curve, what the glass goes through, and what if."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from flask import Blueprint, abort, render_template, request
from markupsafe import Markup

from daemon.firing.plan.plan import Plan, parse_plan, write_plan
from daemon.firing.plan.schedule import planned_parts
from daemon.store.database import FILE_NAME
from web import words
from web.drawing.overlay_layers import LETTERS, Layer
from web.drawing.overlay_svg import overlay_svg, sample_svg
from web.drawing.trace_model import Picture
from web.drawing.trace_svg import NARROW, WIDE, svg
from web.firings.plan_and_run import corner_points, free_spans, legs
from web.plans.asked import arguments, done_options
from web.plans.check import GLASSES_OR_NONE, Load, read_load
from web.plans.foresee_process import foreseen_today
from web.plans.short_notation import write_paper
from web.plans.writing import read_form
from web.preferences import twelve
from web.request.context import kiln_id, settings
from web.request.form import Form
from web.request.lookup import find_plan
from web.security import access
from web.times import time_words

BLUEPRINT = Blueprint("foreseen", __name__)
_TYPED = ("title", "unit", "first", "steps")
"""The fields of a plan that is not kept."""


@dataclass(frozen=True)
class Fired:
    """A plan that is to be foreseen."""

    plan: Plan
    plan_id: int | None
    """Its number; None where it is not kept."""


@BLUEPRINT.get("/plans/<int:plan_id>/foreseen")
def show(plan_id: int) -> str | tuple[str, int]:
    """Show what the kiln will do with a plan, from a time of day on where one is given."""
    stored = find_plan(plan_id)
    return _page(Fired(stored.parsed(), plan_id), Form(request.args))


@BLUEPRINT.get("/plans/foreseen")
def typed() -> str | tuple[str, int]:
    """Show what the kiln will do with a plan that is only typed; nothing is kept."""
    form = Form(request.args)
    found = read_form(form)
    if form.wrong or found.plan is None:
        abort(400, "This plan can’t be read yet. Go back: what is wrong is said with each line.")
    return _page(Fired(found.plan, None), form)


def _page(fired: Fired, form: Form) -> str | tuple[str, int]:
    kiln, load = kiln_id(), read_load(form, fired.plan.title)
    done = done_options(is_empty=load.is_empty)
    unit = settings().unit
    asked = arguments(form, unit, done)
    said = {} if kiln is None else foreseen_today([*_place(kiln, fired), *_load(load), *_energy(), *asked])
    if said is None:
        return render_template("message.html", headline="Not reckoned just now",
                               words="Another forecast is being made, or it took too long. Wait a minute and try it "
                               "once more."), 503
    if not said:
        return render_template("message.html", headline="This kiln has not fired by a plan yet",
                               words="Lehrling learns your kiln from its firings. Fire once by a plan, and look here "
                               "again. Until then, the plan’s own page shows it by its own times.",
                               plan_id=fired.plan_id)
    form.wrong |= {field: words.bound(words.capital(why)) for field, why in said["refused"].items()}
    first = None if said["starts"] is None else datetime.fromisoformat(said["starts"]).astimezone(settings().zone)
    return render_template(
        "foreseen.html", fired=fired, said=said, starts=first, form=form, load=load, done=done,
        glasses=GLASSES_OR_NONE, unit=unit,
        kept={name: form[name] for name in _TYPED} if fired.plan_id is None else {},
        sentences=[words.bound(line) for line in said["sentences"]],
        latest=[words.bound(line) for line in said["latest"]], has_asked=bool(asked),
        followable=[words.bound(line) for line in said["followable"]], new_plan=_new_plan(said["new_plan"]),
        may_change=access.may_change(settings()), haze=words.bound(said["haze"]),
        wide=_drawn(fired.plan, said, load, first, WIDE, "wide"),
        narrow=_drawn(fired.plan, said, load, first, NARROW, "narrow"), beside=_beside(said, unit, first))


def _place(kiln: int, fired: Fired) -> list[str]:
    # Without a name it is the computer's own, in the process as well.
    zone = getattr(settings().zone, "key", None) or settings().config.time_zone
    which = ["--toml", write_plan(fired.plan)] if fired.plan_id is None else ["--plan", str(fired.plan_id)]
    return [str(settings().data_dir / FILE_NAME), str(kiln), *which, *(["--zone", zone] if zone is not None else [])]


def _load(load: Load) -> list[str]:
    return [*(["--empty"] if load.is_empty else ["--glass", load.glass_name]), "--thickness-mm", str(load.counted_mm),
            "--faces", str(load.faces), "--reads", settings().unit,
            *(["--twelve"] if twelve() else [])]


def _energy() -> list[str]:
    told = settings().config.energy
    return [*([] if told.power_kw is None else ["--power-kw", str(told.power_kw)]),
            *([] if told.price_per_kwh is None else ["--price", str(told.price_per_kwh)]),
            f"--currency={told.currency}"]


def _new_plan(toml: str) -> dict[str, str]:
    """Return the plan that the kiln can follow as fields of the page where plans are written; empty without one."""
    if not toml:
        return {}
    plan = parse_plan(toml, "the new plan")
    return {"title": plan.title, "unit": plan.unit, "first": "rate", "steps": "\n".join(write_paper(plan))}


def _beside(said: Mapping[str, Any], unit: str, starts: datetime | None) -> dict[str, object]:
    """Return the forecasts beside each other as the page shows them; empty where only one is asked for."""
    names = said["names"]
    if len(names) < 2:
        return {}
    layers = [Layer(name, [(t_s, temp_c, temp_c, temp_c) for t_s, temp_c in curve])
              for name, curve in zip(names, said["curves"], strict=True)]
    zero = f"start {time_words(starts)}" if starts is not None else "start"
    same = " ".join(filter(None, [said["not_changed"], *said["missing"]]))
    summary = f"The foreseen curves beside each other: {', '.join(names)}"
    wide, narrow = (Markup(overlay_svg(layers, unit, zero, size, f"if-{name}", summary=summary))
                    for size, name in ((WIDE, "wide"), (NARROW, "narrow")))
    return {"heads": [{"letter": LETTERS[n], "name": words.bound(name), "sample": Markup(sample_svg(n)),
                       "brief": words.bound(said["briefs"][n])} for n, name in enumerate(names)],
            "rows": said["what_if"], "same": words.bound(same),
            "changes": [words.bound(line) for line in said["changes"]], "wide": wide, "narrow": narrow}


def _drawn(plan: Plan, said: Mapping[str, Any], load: Load, starts: datetime | None, size: tuple[int, int],
           name: str) -> Markup:
    """Return the kiln's curve as a line over the plan as a band."""
    course = legs(planned_parts(plan), (), float(said["starts_s"]))
    picture = Picture(
        columns=[(t_s, temp_c, temp_c, temp_c) for t_s, temp_c in said["curves"][0]], plan=corner_points(course),
        free=free_spans(course), anneal_c=load.anneal_c, starts=starts, unit=settings().unit)
    return Markup(svg(picture, size, name=name, ground=False))
