"""Plans: schedules as written on paper, every version kept."""

from __future__ import annotations

from flask import Blueprint, abort, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from daemon.errors import BadInput
from daemon.firing.plan import Plan, write_plan
from daemon.firing.schedule import planned_parts
from daemon.store import plans
from web import words
from web.course import corner_points, free_spans, legs, rows
from web.drawing import NARROW, WIDE, svg
from web.form import Form
from web.house import database, settings
from web.paper import read_paper, write_paper
from web.picture import HAZE_C, Picture

BLUEPRINT = Blueprint("plans", __name__)


@BLUEPRINT.get("/plans")
def listing() -> str:
    """Show the latest version of every plan."""
    found = [
        {"id": stored.plan_id, "title": stored.title, "version": stored.version,
         "hours": f"{max(1, round(_total_s(stored.parsed()) / 3600))} h", "lines": write_paper(stored.parsed()),
         "unit": stored.parsed().unit}
        for stored in plans.plans(database())
    ]
    return render_template("plans.html", plans=found)


@BLUEPRINT.get("/plans/<int:plan_id>")
def show(plan_id: int) -> str:
    """Show one version of a plan, drawn."""
    stored = plans.plan(database(), plan_id) if plan_id < 2**53 else None
    if stored is None:
        abort(404, f"There is no plan number {plan_id} here. The list of plans has them all.")
    plan, unit = stored.parsed(), settings().unit
    course = legs(planned_parts(plan), (), 0.0)
    picture = Picture(plan=corner_points(course), free=free_spans(course), haze_c=HAZE_C, unit=unit)
    return render_template(
        "plan.html", stored=stored, lines=write_paper(plan), unit=plan.unit, rows=rows(course, 0.0, unit),
        total=words.duration(_total_s(plan)),
        wide=Markup(svg(picture, WIDE, name="wide", ground=False)),
        narrow=Markup(svg(picture, NARROW, name="narrow", ground=False)),
    )


@BLUEPRINT.get("/plans/new")
def new() -> str:
    """Show the form, with the lines of an earlier plan where one is named."""
    form = Form({"unit": settings().unit})
    typed = request.args.get("like", "")
    like = plans.plan(database(), int(typed)) if typed.isascii() and typed.isdigit() and len(typed) < 12 else None
    if like is not None:
        plan = like.parsed()
        form = Form({"title": plan.title, "unit": plan.unit, "steps": "\n".join(write_paper(plan))})
    return render_template("plan_new.html", form=form)


@BLUEPRINT.post("/plans/new")
def add() -> Response | tuple[str, int]:
    """Keep a plan, as a new version where its title is known."""
    form = Form(request.form)
    title = form.line("title", asked="Give the plan a name.")
    unit = form.choice("unit", ("C", "F"), settings().unit)
    steps = form.text("steps", asked="Write the steps, one a line: 220 / 670 / 0:30")
    if not form.wrong:
        try:
            plan = read_paper(title, unit, steps)
        except BadInput as error:
            form.wrong["steps"] = error.problem
    if form.wrong:
        return render_template("plan_new.html", form=form), 400
    plan_id = plans.add_plan(database(), write_plan(plan), settings().clock.utc(), source=title)
    return redirect(url_for("plans.show", plan_id=plan_id), code=303)


def _total_s(plan: Plan) -> float:
    return sum(part.duration_s for part in planned_parts(plan))
