"""How one reads this page, and who was let in: light, unit, clock, sessions."""

from __future__ import annotations

from flask import Blueprint, current_app, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from daemon.installed import typed
from web.preferences import COOKIE, LIGHTS, UNITS, Preferences, write_preferences
from web.request.context import preferences, settings
from web.request.form import Form
from web.security import access
from web.security.sessions import Sessions
from web.times import date_words, time_words

BLUEPRINT = Blueprint("preferences", __name__)

LIGHT_WORDS = {"": "as the device has it", "day": "always by day", "night": "always by night"}
_YEAR_S = 365 * 86400
"""How long the cookie is kept [s]. [derived: 365 days]"""


@BLUEPRINT.get("/reading")
def show() -> str:
    """Show both."""
    mine, zone = preferences(), settings().zone
    kept = _sessions().all() if access.knows_passcode(settings()) and not settings().open_house else []
    return render_template(
        "preferences.html", mine=mine, lights=LIGHT_WORDS, may_change=access.may_change(settings()),
        open_reading=settings().open_reading, metrics=settings().metrics,
        sessions=[{"key": one.key, "device": one.device, "address": one.address,
                   "here": one.key == session.get("key"),
                   "seen": f"{date_words(one.seen_utc.astimezone(zone))} {time_words(one.seen_utc.astimezone(zone))}",
                   "since": date_words(one.since_utc.astimezone(zone))} for one in kept])


@BLUEPRINT.post("/reading")
def keep() -> Response | tuple[str, int]:
    """Keep how this browser reads, in the browser itself."""
    form = Form(request.form)
    mine = Preferences(form.choice("unit", UNITS, "C"), form.choice("hours", ("24", "12"), "24") == "12",
                 form.choice("light", LIGHTS, ""))
    if form.wrong:
        return render_template("message.html", headline="That can’t be read",
                               words="Choose light, unit and clock from the lists."), 400
    answer = redirect(url_for("preferences.show"), code=303)
    answer.set_cookie(COOKIE, write_preferences(mine), max_age=_YEAR_S, httponly=True, samesite="Strict")
    return answer


@BLUEPRINT.post("/reading/sessions")
def end_session() -> Response:
    """End one session, or all but this one."""
    wanted = request.form.get("key", "")
    if wanted:
        _sessions().end(wanted)
    else:
        _sessions().end_all_but(str(session.get("key")))
    return redirect(url_for("preferences.show"), code=303)


@BLUEPRINT.post("/reading/tries")
def seen_tries() -> Response:
    """Forget the wrong passcodes; whoever knows the right one has seen them."""
    access.tries().seen()
    return redirect(url_for("now.show"), code=303)


def wrong_tries() -> list[str]:
    """Return the wrong passcodes as sentences; none for somebody who does not know the right one."""
    if settings().open_house or not access.knows_passcode(settings()):
        return []
    zone, found = settings().zone, []
    for one in access.tries().all():
        last = one.last_utc.astimezone(zone)
        times = "once" if one.count == 1 else f"{one.count} times"
        line = (f"A wrong passcode was entered {times} from {one.address or 'an unknown address'}, last on "
                f"{date_words(last)} at {time_words(last)}.")
        if one.then_entered:
            line += (" Then the right one came from there. If that was not you, set a new one on the machine itself: "
                     f"{typed('web --set-passcode', settings().data_dir)}")
        found.append(line)
    return found


def _sessions() -> Sessions:
    found = current_app.extensions["lehrling-sessions"]
    assert isinstance(found, Sessions)
    return found
