"""What this kiln will do with a plan: its curve over the plan's own, and when each part ends."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import Any

from flask import Blueprint, render_template, request
from markupsafe import Markup

from daemon.firing.plan.schedule import planned_parts
from daemon.glass.materials import FAMILIES
from daemon.store.database import FILE_NAME
from daemon.store.plans import StoredPlan
from web import words
from web.drawing.trace_model import Picture
from web.drawing.trace_svg import NARROW, WIDE, svg
from web.firings.plan_and_run import corner_points, free_spans, legs
from web.plans.check import Load, read_load
from web.plans.foresee_process import foreseen_today
from web.request.context import kiln_id, settings
from web.request.form import Form
from web.request.lookup import find_plan

BLUEPRINT = Blueprint("foreseen", __name__)


@BLUEPRINT.get("/plans/<int:plan_id>/foreseen")
def show(plan_id: int) -> str | tuple[str, int]:
    """Show what the kiln will do with a plan, from a time of day on where one is given."""
    stored, form = find_plan(plan_id), Form(request.args)
    starts = _starts(form)
    kiln, load = kiln_id(), read_load(form)
    said = {} if kiln is None else foreseen_today(_arguments(kiln, stored, load, starts))
    if said is None:
        return render_template("message.html", headline="Not reckoned just now",
                               words="Another forecast is being made, or it took too long. Wait a minute and try it "
                               "once more."), 503
    if not said:
        return render_template("message.html", headline="This kiln has not fired by a plan yet",
                               words="Lehrling learns your kiln from its firings. Fire once by a plan, and look here "
                               "again.")
    return render_template("foreseen.html", stored=stored, said=said, starts=starts, form=form,
                           sentences=[words.bound(line) for line in said["sentences"]],
                           wide=_drawn(stored, said, load, starts, WIDE, "wide"),
                           narrow=_drawn(stored, said, load, starts, NARROW, "narrow"))


def _arguments(kiln: int, stored: StoredPlan, load: Load, starts: datetime | None) -> list[str]:
    zone = settings().config.time_zone  # None is the computer's own, in the process as well
    return [str(settings().data_dir / FILE_NAME), str(kiln), str(stored.plan_id),
            *(["--glass", load.glass_name] if load.glass_name in FAMILIES else []),
            *(["--starts", starts.isoformat()] if starts is not None else []),
            *(["--zone", zone] if zone is not None else [])]


def _starts(form: Form) -> datetime | None:
    """Return the next time the clock shows what was typed; None where nothing was, or it can't be read."""
    typed = form["start"].strip()
    if not typed:
        return None
    try:
        at = time.fromisoformat(f"{typed:0>5}")
    except ValueError:
        form.wrong["start"] = f"“{typed[:20]}” is no time of day. Write it as 21:30."
        return None
    now = settings().clock.utc().astimezone(settings().zone)
    starts = now.replace(hour=at.hour, minute=at.minute, second=0, microsecond=0)
    return starts if starts > now else starts + timedelta(days=1)


def _drawn(stored: StoredPlan, said: Mapping[str, Any], load: Load, starts: datetime | None, size: tuple[int, int],
           name: str) -> Markup:
    """Return the kiln's curve as a line over the plan as a band."""
    plan = stored.parsed()
    course = legs(planned_parts(plan), (), float(said["starts_s"]))
    picture = Picture(
        columns=[(t_s, temp_c, temp_c, temp_c) for t_s, temp_c in said["curve"]], plan=corner_points(course),
        free=free_spans(course), anneal_c=(load.glass.band_low_c, load.glass.band_high_c), starts=starts,
        unit=plan.unit)
    return Markup(svg(picture, size, name=name, ground=False))
