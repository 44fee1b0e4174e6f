"""Plans: the list, and one plan with its drawing, its versions and what is doubtful about it."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.firing.durations import duration
from daemon.store import firing_list, plans
from daemon.store.plans import StoredPlan
from web.plans.as_typed import paper_of
from web.plans.check import GLASSES_OR_NONE, check, drawn_plan, read_load, total_s
from web.plans.plan_words import plan_words
from web.plans.short_notation import write_paper
from web.plans.small_drawing import small_drawing
from web.request.context import database, settings
from web.request.form import Form
from web.request.load_form import again
from web.request.lookup import find_plan
from web.security import access
from web.times import date_words

BLUEPRINT = Blueprint("plans", __name__)


@BLUEPRINT.get("/plans")
def listing() -> str:
    """Show the latest version of every plan in use, or of the retired ones where they are asked for."""
    retired = request.args.get("retired") == "yes"
    return render_template(
        "plans.html", plans=[_listed(stored) for stored in plans.plans(database(), retired=retired)], retired=retired,
        others=len(plans.plans(database(), retired=not retired)), may_change=access.may_change(settings()))


def _listed(stored: StoredPlan) -> dict[str, object]:
    """Return what the list shows of a plan, in the plan's own unit."""
    plan = stored.parsed()
    return {"id": stored.plan_id, "title": stored.title, "version": stored.version, "unit": plan.unit,
            "hours": f"{max(1, round(total_s(plan) / 3600))} h", "lines": write_paper(plan),
            "drawing": small_drawing(plan)}


@BLUEPRINT.get("/plans/<int:plan_id>")
def show(plan_id: int) -> str:
    """Show one version of a plan, drawn, and what is doubtful in it for a load."""
    return _page(plan_id, Form(request.args))


def _page(plan_id: int, form: Form) -> str:
    """Return the page of a plan, said in the unit it is written in."""
    stored = find_plan(plan_id)
    plan, load = stored.parsed(), read_load(form, stored.title)
    fired = plans.fired(database(), stored.title)
    zone = settings().zone
    last = firing_list.matching(database(), limit=1, plan=stored.title)
    return render_template(
        "plan.html", stored=stored, lines=(paper_of(stored.toml) or "\n".join(write_paper(plan))).splitlines(),
        words=plan_words(plan, plan.unit), unit=plan.unit, drawn=drawn_plan(plan, load, plan.unit), form=form,
        total=duration(total_s(plan)), load=load, glasses=GLASSES_OR_NONE, doubts=check(plan, load, plan.unit),
        may_change=access.may_change(settings()), again=again(last[0].firing, plan_id=plan_id) if last else None,
        versions=[{"plan": other, "date": date_words(other.created_utc.astimezone(zone)),
                   "year": other.created_utc.astimezone(zone).year, "fired": fired.get(other.plan_id, 0)}
                  for other in plans.versions(database(), stored.title)],
    )


@BLUEPRINT.post("/plans/<int:plan_id>/rename")
def rename(plan_id: int) -> AnyResponse | tuple[str, int]:
    """Call a plan by another name; its versions and firings go with it."""
    stored, form = find_plan(plan_id), Form(request.form)
    wanted = form.line("title", asked="Give the plan a name.")
    if not form.wrong and not plans.rename(database(), stored.title, wanted):
        form.wrong["title"] = f"There is another plan called “{wanted}”. Choose another name."
    if form.wrong:
        return _page(plan_id, form), 400
    return redirect(url_for("plans.show", plan_id=plan_id), code=303)


@BLUEPRINT.post("/plans/<int:plan_id>/retire")
def retire(plan_id: int) -> AnyResponse:
    """Retire a plan: kept, with its firings, but offered no more."""
    plans.retire(database(), find_plan(plan_id).title, settings().clock.utc())
    return redirect(url_for("plans.show", plan_id=plan_id), code=303)


@BLUEPRINT.post("/plans/<int:plan_id>/use-again")
def use_again(plan_id: int) -> AnyResponse:
    """Take a retired plan into use again."""
    plans.retire(database(), find_plan(plan_id).title, None)
    return redirect(url_for("plans.show", plan_id=plan_id), code=303)
