"""Plans: schedules as written on paper, drawn, checked against a load, every version kept."""

from __future__ import annotations

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.errors import BadInput
from daemon.firing.durations import duration
from daemon.firing.plan.plan import Plan, write_plan
from daemon.store import plans
from web.firings.plan_and_run import rows
from web.plans.check import Load, check, cooling_lines, drawn_plan, read_load, total_s
from web.plans.short_notation import read_paper, write_paper
from web.request.context import database, settings
from web.request.etag_json import tagged_json
from web.request.form import Form
from web.request.load_form import GLASSES
from web.request.lookup import find_plan
from web.security import access
from web.times import date_words

BLUEPRINT = Blueprint("plans", __name__)

FIRSTS = {"rate": "degrees per hour", "minutes": "minutes to the target"}
"""What the first figure of a line is."""


@BLUEPRINT.get("/plans")
def listing() -> str:
    """Show the latest version of every plan."""
    found = [
        {"id": stored.plan_id, "title": stored.title, "version": stored.version,
         "hours": f"{max(1, round(total_s(stored.parsed()) / 3600))} h", "lines": write_paper(stored.parsed()),
         "unit": stored.parsed().unit}
        for stored in plans.plans(database())
    ]
    return render_template("plans.html", plans=found)


@BLUEPRINT.get("/plans/<int:plan_id>")
def show(plan_id: int) -> str:
    """Show one version of a plan, drawn, and what is doubtful in it for a load."""
    stored, form = find_plan(plan_id), Form(request.args)
    plan = stored.parsed()
    unit = plan.unit  # one unit a screen, and a plan's is the one it is written in
    load = read_load(form)
    drawn = drawn_plan(plan, load.glass, unit)
    fired = plans.fired(database(), stored.title)
    zone = settings().zone
    return render_template(
        "plan.html", stored=stored, lines=write_paper(plan), unit=unit, drawn=drawn, form=form,
        rows=rows(drawn.course, 0.0, unit), total=duration(total_s(plan)), load=load, glasses=GLASSES,
        doubts=check(plan, load, unit), may_change=access.may_change(settings()),
        versions=[{"plan": other, "date": date_words(other.created_utc.astimezone(zone)),
                   "year": other.created_utc.astimezone(zone).year, "fired": fired.get(other.plan_id, 0)}
                  for other in plans.versions(database(), stored.title)],
    )


@BLUEPRINT.get("/plans/new")
def new() -> str:
    """Show the form, with the lines of an earlier plan where one is named."""
    form = Form({"unit": settings().unit, "first": "rate"})
    typed = request.args.get("like", "")
    like = plans.plan(database(), int(typed)) if typed.isascii() and typed.isdigit() and len(typed) < 12 else None
    if like is not None:
        plan = like.parsed()
        form = Form({"title": plan.title, "unit": plan.unit, "first": "rate", "steps": "\n".join(write_paper(plan))})
    return _form(form)


def _form(form: Form, why: tuple[str, ...] = ()) -> str:
    """Return the form of a new plan with its drawing, its length and what is doubtful about it."""
    load = read_load(Form(form.typed))
    plan = _read(Form(form.typed))
    unit = plan.unit if plan else settings().unit
    return render_template(
        "plan_new.html", form=form, firsts=FIRSTS, glasses=GLASSES, load=load, why=why,
        drawn=drawn_plan(plan, load.glass, unit) if plan else None, doubts=check(plan, load, unit) if plan else None,
        total=duration(total_s(plan)) if plan else "",
    )


def _read(form: Form) -> Plan | None:
    """Return the plan as typed; what can't be read is noted in ``form.wrong``."""
    unit = form.choice("unit", ("C", "F"), settings().unit)
    first = form.choice("first", FIRSTS, "rate")
    steps = form.text("steps", asked="Write the steps, one a line: 220 / 670 / 0:30")
    if form.wrong:
        return None
    try:
        return read_paper(form.line("title") or "A plan", unit, steps, first)
    except BadInput as error:
        form.wrong["steps"] = error.problem
    return None


@BLUEPRINT.post("/plans/drawing.json")
def drawing() -> Response:
    """Return a plan that is being typed, drawn and checked."""
    form = Form(request.form)
    plan, load = _read(form), read_load(Form(request.form))
    if plan is None:
        return tagged_json({"wrong": form.wrong.get("steps", "") if form["steps"].strip() else "", "html": ""})
    return tagged_json({"wrong": "", "html": render_template(
        "plan_drawn.html", drawn=drawn_plan(plan, load.glass, plan.unit), load=load,
        doubts=check(plan, load, plan.unit),
        total=duration(total_s(plan)), glasses=GLASSES)})


@BLUEPRINT.post("/plans/new")
def add() -> AnyResponse | str | tuple[str, int]:
    """Keep a plan, as a new version where its title is known; or fill in the cooling that the load asks."""
    form = Form(request.form)
    if "fill" in request.form:
        return _filled(form)
    title = form.line("title", asked="Give the plan a name.")
    plan = _read(form)
    if form.wrong or plan is None:
        return _form(form), 400
    plan_id = plans.add_plan(database(), write_plan(plan), settings().clock.utc(), source=title)
    return redirect(url_for("plans.show", plan_id=plan_id), code=303)


def _filled(form: Form) -> str | tuple[str, int]:
    """Return the form with the steps replaced by those that this load's glass asks after the top."""
    plan = _read(form)
    load: Load = read_load(form)
    if form.wrong or plan is None:
        return _form(form), 400
    lines, why = cooling_lines(plan, load)
    form.typed["steps"] = "\n".join(lines)
    form.typed["first"] = "rate"
    return _form(form, why)
