"""Writing a plan: as on paper, read back and drawn while it is typed, its cooling filled in by the thickness."""

from __future__ import annotations

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.firing.durations import duration
from daemon.firing.plan.plan import write_plan
from daemon.store import plans
from web.plans.as_typed import paper_of, with_paper
from web.plans.check import GLASSES_OR_NONE, check, cooling_lines, drawn_plan, read_load, total_s
from web.plans.short_notation import Reading, read, write_paper
from web.request.context import database, settings
from web.request.etag_json import tagged_json
from web.request.form import MAX_LINE, Form, whole

BLUEPRINT = Blueprint("plan_writing", __name__)

FIRSTS = {"rate": "degrees per hour", "minutes": "minutes to the target"}
"""What the first figure of a line is."""
UNITS = {"": "as the paper says", "C": "°C", "F": "°F"}


@BLUEPRINT.get("/plans/new")
def new() -> str:
    """Show the form, with the lines of an earlier plan where one is named, for a new version or for a copy."""
    form = Form({"unit": "", "first": "rate"})
    for name in ("like", "copy"):
        number = whole(request.args.get(name, ""))
        found = plans.plan(database(), number) if number is not None else None
        if found is None:
            continue
        plan = found.parsed()
        form = Form({"title": plan.title if name == "like" else f"Copy of {plan.title}"[:MAX_LINE], "unit": plan.unit,
                     "first": "rate", "steps": "\n".join(write_paper(plan))})
        paper = paper_of(found.toml)
        if paper and read(paper, plan.unit, title=plan.title).plan == plan:
            form.typed["steps"] = paper
    return _form(form)


def read_form(form: Form) -> Reading:
    """Return how the plan in a form is read; what keeps it from being read at all is noted in ``form.wrong``."""
    unit = form.choice("unit", UNITS, "")
    first = form.choice("first", FIRSTS, "rate")
    steps = form.text("steps", asked="Write the steps, one a line: 300 1225 30")
    found = read(steps, unit, first, owner_unit=settings().unit, title=form.line("title") or "A plan")
    wrong = [f"line {line.number}" for line in found.lines if line.kind == "wrong"]
    if steps and wrong:
        form.wrong.setdefault("steps", f"Not read yet: {', '.join(wrong)}. What is wrong is said with each.")
    return found


def _shown(found: Reading, form: Form) -> dict[str, object]:
    """Return what the page shows of a reading: its lines in words, and the plan drawn and checked in its own unit."""
    load, plan = read_load(form, form["title"]), found.plan
    return {
        "reading": found if form["steps"].strip() else None, "load": load, "glasses": GLASSES_OR_NONE,
        "load_wrong": form.wrong.get("thickness", ""),
        "drawn": drawn_plan(plan, load, plan.unit) if plan else None,
        "doubts": check(plan, load, plan.unit) if plan else None, "total": duration(total_s(plan)) if plan else "",
    }


def _form(form: Form, why: tuple[str, ...] = ()) -> str:
    """Return the form of a plan with its reading, its drawing and what is doubtful about it."""
    trial = Form(form.typed)
    return render_template("plan_new.html", form=form, firsts=FIRSTS, units=UNITS, why=why,
                           **_shown(read_form(trial), trial))


@BLUEPRINT.post("/plans/drawing.json")
def drawing() -> Response:
    """Return how a plan that is being typed is read, drawn and checked."""
    form = Form(request.form)
    shown = _shown(read_form(form), form)
    return tagged_json({
        "wrong": form.wrong.get("steps", "") if form["steps"].strip() else "",
        "read": render_template("plan_read.html", **shown),
        "html": render_template("plan_drawn.html", **shown) if shown["drawn"] else "",
    })


@BLUEPRINT.post("/plans/new")
def add() -> AnyResponse | str | tuple[str, int]:
    """Keep a plan, as a new version where its title is known; or read it, or fill in the cooling its load asks."""
    form = Form(request.form)
    if "read" in request.form:
        read_form(form)
        return _form(form)
    if "fill" in request.form:
        return _filled(form)
    found = read_form(form)
    title = form.line("title") or found.heading[:MAX_LINE]
    if not title:
        form.wrong.setdefault("title", "Give the plan a name.")
    if form.wrong or found.plan is None:
        return _form(form), 400
    form.typed["title"] = title
    plan = read_form(form).plan or found.plan
    plan_id = plans.add_plan(database(), with_paper(write_plan(plan), form.text("steps")), settings().clock.utc(),
                             source=title)
    return redirect(url_for("plans.show", plan_id=plan_id), code=303)


def _filled(form: Form) -> str | tuple[str, int]:
    """Return the form with the steps replaced by those that this load's glass asks after the top."""
    plan = read_form(form).plan
    load = read_load(form, form["title"])
    if load.is_empty:
        form.wrong["fill"] = "There is no glass in the kiln, so no cooling is asked. Choose the glass first."
    if form.wrong or plan is None:
        return _form(form), 400
    lines, why = cooling_lines(plan, load)
    form.typed["steps"] = "\n".join(lines)
    form.typed["unit"] = plan.unit
    form.typed["first"] = "rate"
    return _form(form, why)
