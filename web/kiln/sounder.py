"""The sounder and lamp at the kiln: their pins set among the ways to the owner, tried, and asked about."""

from __future__ import annotations

import re

from flask import Blueprint, abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.notify import reached
from daemon.service import sounder_word
from daemon.service.try_sounder import try_sounder
from hw.sounder import read_gpio_settings
from web import words
from web.kiln import notifications, settings_form
from web.request.context import database, settings
from web.request.form import Form

BLUEPRINT = Blueprint("sounder", __name__)


@BLUEPRINT.post("/reach/sounder")
def keep() -> Response | tuple[str, int]:
    """Keep which pins switch what; two empty ones take the sounder out."""
    form = Form(request.form)
    pins = {name: _named(form.line(name)) for name in ("pin", "lamp_pin")}
    is_there = any(pins.values())
    if is_there:
        form.wrong |= _wrong(pins)
    if form.wrong:
        return notifications.page(form), 400
    if not is_there and not settings().config.sounder:
        return redirect(url_for("notifications.show", kept="none", _anchor="sounder"), code=303)
    active_low = "true" if is_there and form["active_low"] == "yes" else None
    changes = {**{f"sounder.{name}": pin or None for name, pin in pins.items()}, "sounder.active_low": active_low}
    run_dir = settings().run_dir
    before = sounder_word.before_change(run_dir)
    try:
        heard = settings_form.ask(changes)
    except BadInput as err:
        form.wrong["pin"] = words.bound(err.text)
        return notifications.page(form), 409
    kept = "gone" if not is_there else "untried" if not heard else _KEPT[
        sounder_word.after_change(run_dir, before).found]
    return redirect(url_for("notifications.show", kept=kept, _anchor="sounder"), code=303)


_KEPT = {"opened": "yes", "not opened": "unopened", "not tried": "unknown"}
"""What is said of a change that the daemon took, by what became of the sounder."""


def _named(typed: str) -> str:
    """Return a pin as the board names it, D17 for 17 or GPIO 17; anything else as it was typed."""
    found = re.fullmatch(r"(?:GPIO ?|D)?(\d{1,2})", typed, re.IGNORECASE)
    return f"D{int(found[1])}" if found else typed


def _wrong(pins: dict[str, str]) -> dict[str, str]:
    """Return what is wrong with each pin, as the settings file would be refused."""
    asked = Fields(pins, "")
    read_gpio_settings(asked)
    return {problem.where: words.quoted(f"{problem.what} {problem.remedy}") for problem in asked.problems}


@BLUEPRINT.post("/reach/sounder/trial")
def sound() -> Response | tuple[str, int]:
    """Let it sound once."""
    try:
        try_sounder(settings().run_dir)
    except BadInput as err:
        return render_template("message.html", headline="It does not sound", words=words.bound(err.text)), 409
    return redirect(url_for("notifications.show", sounded="yes", _anchor="sounder"), code=303)


@BLUEPRINT.post("/reach/sounder/answer")
def answer() -> Response:
    """Keep whether the owner heard it."""
    said = request.form.get("reached", "")
    if said not in ("yes", "no"):
        abort(400, "Say yes or no. Go back and use the buttons.")
    reached.answer(database(), reached.SOUNDER, reached=said == "yes", now_utc=settings().clock.utc())
    unheard = "yes" if said == "no" else None
    return redirect(url_for("notifications.show", unheard=unheard, _anchor="sounder"), code=303)
