"""Puts the page together as a WSGI application."""

from __future__ import annotations

import logging
import re
import sqlite3
from functools import partial
from hashlib import sha256
from pathlib import Path
from urllib.parse import quote

from flask import Flask, current_app, render_template, request
from werkzeug.exceptions import HTTPException, InternalServerError
from werkzeug.wrappers import Response

from daemon.firing.events import LONGEST_QUIET_S
from daemon.installed import started, typed
from daemon.store.database import NoDatabase
from web import collect, documents, help_page, home_screen, metrics, preferences_page, words
from web.compare import page as compare_page
from web.finding import everything
from web.finding import page as questions_page
from web.firings import come_out, curve, deleted, meter, outcome, readings_table, rejudge
from web.firings import listing as firings_list
from web.firings import page as firing_page
from web.firings.handouts import card, exports, firing_copy
from web.kiln import changed_parts as kiln_parts
from web.kiln import check, download, notifications, rehearsal, settings_form, sounder
from web.kiln import page as kiln_page
from web.now import during, maker_actions, other_kilns, start_firing
from web.now import page as now_page
from web.other_logs import page as other_logs
from web.pieces import listing as pieces_list
from web.pieces import page as piece_page
from web.pieces import photographs
from web.pieces.picture_limits import MOST_BYTES
from web.plans import foreseen as plan_foreseen
from web.plans import page as plans_page
from web.plans import writing as plan_writing
from web.preferences import use
from web.preferences_page import wrong_tries
from web.reminders import page as reminders
from web.request import assets
from web.request.context import close_database, preferences
from web.request.thickness import thickness_figure, thickness_short, thickness_words
from web.security import access, passcode
from web.security.session_cookie import SessionCookie
from web.security.sessions import LASTS
from web.settings import MAX_BODY_BYTES, Settings

LOG = logging.getLogger("lehrling.web")

UNDER = {
    "firings.listing": (
        "firing", "rejudge", "compare", "outcome", "readings_table", "deleted", "come_out", "meter", "find",
        "questions", "other_logs"),
    "pieces.listing": ("piece",), "now.show": ("during",),
    "plans.listing": ("plan_writing", "foreseen"),
    "kiln.show": ("notifications", "settings_form", "sounder", "rehearsal", "changed_parts"),
}
"""Which page of the head stands for the pages that have no place of their own there."""


def create_app(settings: Settings) -> Flask:
    """Return the page as a WSGI application.

    Parameters
    ----------
    settings
        Where the data is and who may see it.

    Raises
    ------
    BadInput
        Where the key that signs sessions can't be kept in the data folder.
    """
    app = bare_app(settings)
    app.extensions["lehrling-make"] = create_app
    if settings.collected is not None:
        app.before_request(_at_the_kiln)
    for module in (
        access, assets, home_screen, now_page, start_firing, firings_list, firing_page, curve, rejudge, card,
        compare_page, maker_actions, deleted, exports, other_kilns, outcome, photographs, piece_page, pieces_list,
        plans_page, plan_writing, plan_foreseen, kiln_page, check, notifications, settings_form, sounder, rehearsal,
        preferences_page, readings_table, documents, come_out, during, firing_copy, meter, kiln_parts, download,
        help_page, everything, questions_page, metrics, reminders, collect, other_logs,
    ):
        app.register_blueprint(module.BLUEPRINT)
    return app


def bare_app(settings: Settings, *, front: bool = False) -> Flask:
    """Return an application with all that every page needs, and no page; ``front`` of one with a single page."""
    app = Flask(__name__)
    app.config.update(
        SECRET_KEY=passcode.page_key(settings.data_dir), MAX_CONTENT_LENGTH=MAX_BODY_BYTES,
        MAX_FORM_MEMORY_SIZE=MAX_BODY_BYTES, SESSION_COOKIE_SAMESITE="Strict",
        SESSION_COOKIE_NAME="lehrling-rehearsal" if settings.rehearsal else _cookie_name(settings.data_dir),
        SESSION_COOKIE_HTTPONLY=True, SESSION_COOKIE_SECURE=settings.behind_tls,
        PERMANENT_SESSION_LIFETIME=LASTS,
    )
    app.session_interface = SessionCookie()
    app.extensions["lehrling"] = settings
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    access.guard(app, settings)
    app.jinja_env.globals["most_bytes"] = MOST_BYTES
    app.jinja_env.globals["quiet_min"] = round(LONGEST_QUIET_S / 60)
    app.add_template_filter(words.capital, "capital")
    app.add_template_filter(words.bound, "bound")
    app.add_template_filter(documents.here, "here")
    app.jinja_env.globals["typed"] = partial(typed, folder=settings.data_dir)
    app.jinja_env.globals["started"] = partial(started, folder=settings.data_dir)
    read_in = settings.config.thickness_unit
    app.jinja_env.globals["thickness_unit"] = read_in
    app.add_template_filter(partial(thickness_words, unit=read_in), "thick")
    app.add_template_filter(partial(thickness_figure, unit=read_in), "thick_figure")
    app.add_template_filter(partial(thickness_short, unit=read_in), "thick_short")
    app.teardown_appcontext(close_database)
    app.register_error_handler(HTTPException, _refused)
    app.register_error_handler(NoDatabase, _not_started)
    app.register_error_handler(sqlite3.Error, _store_trouble)
    app.register_error_handler(Exception, _slip)
    _globals(app, settings, front=front)
    return app


def _cookie_name(data: Path) -> str:
    """Return what the session's cookie is called; browsers tell two pages of one computer not apart by their port."""
    return data.name if re.fullmatch(r"lehrling-[a-z0-9-]+", data.name) else "lehrling"


FRONT = "lehrling.front"
"""The key of a request's environment that holds the address of the page that shows all kilns."""
ONLY_AT_THE_KILN = frozenset({
    "rejudge", "notifications", "rehearsal", "download", "metrics", "reminders", "collect", "find", "photographs",
    "foreseen"})
"""Blueprints without a form that a page of the studio's server does not have."""


def _at_the_kiln() -> tuple[str, int] | None:
    """Say where a page is that the studio's server does not have, such as one with a form that changes something."""
    mine = current_app.extensions["lehrling"].collected
    adapter = current_app.create_url_adapter(request)
    takes_forms = adapter is not None and "POST" in adapter.allowed_methods() and request.method in access.SAFE
    asks_for_words = bool(request.args.get("q"))  # their index is the box's own
    if mine is None or not (takes_forms or asks_for_words or request.blueprint in ONLY_AT_THE_KILN) \
            or request.blueprint == "preferences":
        return None
    return _message("This is at the kiln itself", "The studio’s server only shows what it has collected. "
                    f"The kiln’s own page has this: {mine.address}{_asked_for()}"), 404


def _asked_for() -> str:
    """Return the path that was asked for, with its query, as it is typed behind a box's address."""
    query = request.query_string.decode("ascii", "replace")
    return f"{quote(request.path)}{'?' if query else ''}{query}"


def _globals(app: Flask, settings: Settings, *, front: bool) -> None:
    home = Path(__file__).parent / "static"
    marks = {path.name: sha256(path.read_bytes()).hexdigest()[:12] for path in home.iterdir() if path.is_file()}

    is_studio = front or settings.collected is not None
    set_passcode = f"{'studio ' if is_studio else ''}web --set-passcode"

    @app.context_processor
    def _common() -> dict[str, object]:
        return {
            "kiln": settings.kiln, "open_house": settings.open_house and not settings.rehearsal,
            "rehearsal": settings.rehearsal, "marks": marks,
            "set_passcode": typed(set_passcode, settings.data_dir),
            "plotly": assets.script_address, "light": preferences().light, "under": UNDER,
            "wrong_tries": wrong_tries, "noted": during.noted, "asked_now": come_out.asked_now,
            "signed_in": not settings.open_house and settings.collected is None and access.knows_passcode(settings),
            "collected": settings.collected, "all_kilns": request.environ.get(FRONT, "/"), "front": front,
        }

    @app.before_request
    def _use_preferences() -> None:
        use(preferences())

    @app.after_request
    def _keep(response: Response) -> Response:
        if request.endpoint == "static" and response.status_code in {200, 304}:
            # The address carries a mark of the content, so a browser need not ask again.
            name = request.path.rsplit("/", 1)[-1]
            known = request.args.get("v") == marks.get(name)
            response.headers["Cache-Control"] = assets.FOREVER if known else "no-cache"
            if name in marks:
                assets.pack(response, home / name, marks[name])
        return response


def _refused(error: HTTPException) -> tuple[str, int]:
    code = error.code or 500
    if isinstance(error, InternalServerError):
        return _slip(error)
    headline, said = words.refused(code)
    if error.description and error.description != type(error).description:
        said = error.description
    return _message(headline, said), code


def _not_started(error: NoDatabase) -> tuple[str, int]:
    if current_app.extensions["lehrling"].collected is not None:
        LOG.warning("nothing can be shown of what was collected: %s", error.text)
        return _message("Nothing can be shown", f"{words.capital(error.problem)} {error.remedy}"), 503
    return render_template("not_started.html"), 503


def _store_trouble(error: sqlite3.Error) -> tuple[str, int]:
    LOG.warning("the store could not be used for %s: %s", request.path, error)
    return _message("The store can’t be used just now",
                    "Nothing was changed. Wait a moment and load the page again. Alerts go on without it; "
                    "if this stays, look whether the disk is full or read-only."), 503


def _slip(error: Exception) -> tuple[str, int]:
    LOG.error("a slip in the page at %s", request.path, exc_info=error)
    return _message("The page slipped",
                    "This is a mistake in Lehrling’s page; it is written in its log. "
                    "The watch itself is another program and goes on."), 500


def _message(headline: str, said: str) -> str:
    return render_template("message.html", headline=headline, words=said)
