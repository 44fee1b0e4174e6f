"""The first page of a studio's server: all kilns side by side; and the way to the pages of each box."""

from __future__ import annotations

import threading
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import Blueprint, Response, abort, current_app, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from daemon.studio.record import Seen
from daemon.studio.settings import Studio
from web.app import FRONT, bare_app
from web.now.page_values import Present
from web.request import assets
from web.request.context import settings
from web.security import access
from web.settings import Settings
from web.studio import box_page

if TYPE_CHECKING:
    from flask import Flask

BLUEPRINT = Blueprint("now", __name__)  # as on a box, so that what leads to its first page leads here
_MAKING = threading.Lock()


@dataclass(frozen=True)
class Kiln:
    """One kiln as the first page shows it."""

    name: str
    address: str
    kiln: str
    load: str
    """What it fires; empty where it fires nothing."""
    now: Present
    notice: str
    """What is wrong with the collecting; empty where nothing is."""


def create_studio(studio: Studio, house: Settings) -> Flask:
    """Return the page of a studio's server as a WSGI application.

    Parameters
    ----------
    studio
        The settings of the server.
    house
        Where the server keeps its passcode, and how whoever looks reads.
    """
    from web import home_screen

    app = bare_app(house, front=True)
    app.extensions["lehrling-studio"] = studio
    app.extensions["lehrling-boxes"] = {}
    for module in (access, assets, home_screen):
        app.register_blueprint(module.BLUEPRINT)
    app.register_blueprint(BLUEPRINT)
    return app


@BLUEPRINT.get("/")
def show() -> str:
    """Show all kilns."""
    house = settings()
    kilns = [_kiln(found, house) for found in box_page.look(_studio(), house)]
    names = Counter(one.kiln for one in kilns)
    return render_template("kilns.html", kilns=kilns, alike={name for name, count in names.items() if count > 1})


@BLUEPRINT.route("/kiln/<name>/", defaults={"rest": ""}, methods=["GET", "POST"])
@BLUEPRINT.route("/kiln/<name>/<path:rest>", methods=["GET", "POST"])
def inside(name: str, rest: str) -> Response | AnyResponse:
    """Show the pages of a box."""
    if all(box.name != name for box in _studio().boxes):
        abort(404, "No box of that name is collected here. The first page has them all.")
    environ = dict(request.environ)
    root = request.environ.get("SCRIPT_NAME", "")
    house: Settings = current_app.extensions["lehrling"]
    found = next(one for one in box_page.look(_studio(), house) if one.name == name)
    environ |= {"SCRIPT_NAME": f"{root}/kiln/{name}", "PATH_INFO": f"/{rest}", FRONT: f"{root}/",
                box_page.SEEN: found}
    return Response.from_app(_pages_of(name, found, house).wsgi_app, environ)


def _pages_of(name: str, found: Seen, house: Settings) -> Flask:
    """Return the pages of a box, put together once, and again where its kiln is called by another name."""
    made: dict[str, tuple[str, Flask]] = current_app.extensions["lehrling-boxes"]
    with _MAKING:
        if made.get(name, ("", None))[0] != found.kiln:
            made[name] = found.kiln, box_page.page_of(_studio(), found, house)
        return made[name][1]


def _kiln(found: Seen, house: Settings) -> Kiln:
    said = found.state
    load = said.text("firing_title") if said is not None and said.started_utc is not None else ""
    notice = box_page.notice(found, house)
    return Kiln(found.name, found.address, found.kiln, load, box_page.shown(found, house),
                notice.text if notice.warns else "")


def _studio() -> Studio:
    found: Studio = current_app.extensions["lehrling-studio"]
    return found
