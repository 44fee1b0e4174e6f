"""What the studio's server collects from this box: its firings in the order of their chains, and the present state.

Off unless the owner turns it on. Whoever asks must show the token. Nothing can be changed here.
"""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from flask import Blueprint, Response, abort, request

from daemon.studio import given
from web.request.context import daemon_state, database, settings
from web.request.lookup import MAX_ID
from web.security import passcode, studio_token

BLUEPRINT = Blueprint("collect", __name__, url_prefix="/collect")

_OFF = ("Nothing is given to a studio’s server here. The owner turns it on: lehrling settings set page.studio true "
        "(docs/studio.md).\n")
_REFUSED = "The token is not the one that holds here. On this box, lehrling studio token prints it.\n"


@BLUEPRINT.before_request
def _check() -> Response | None:
    mine = settings()
    if not mine.studio:
        return Response(_OFF, 404, mimetype="text/plain")
    shown = request.headers.get("Authorization", "")
    if not studio_token.is_shown(shown, passcode.page_key(mine.data_dir), passcode.fingerprint(mine.passcode_path)):
        return Response(_REFUSED, 401, {"WWW-Authenticate": "Bearer"}, mimetype="text/plain")
    return None


@BLUEPRINT.get("/overview.json")
def overview() -> Response:
    """Give the present state, and the last link of each firing unless the server has just these (``known``)."""
    with given.one_moment(database()):
        firings = given.overview(database())
    mark = given.digest(firings)
    return _answer({
        "format": given.FORMAT, "version": given.VERSION, "lehrling": version("lehrling"), "kiln": settings().kiln,
        **_state(), "mark": mark,
        "firings": None if request.args.get("known") == mark else firings})


@BLUEPRINT.get("/chain/<int:firing_id>.json")
def chain(firing_id: int) -> Response:
    """Give what was kept of a firing after the link numbered ``after``."""
    try:
        after = int(request.args.get("after", "-1"))
    except ValueError:
        after = MAX_ID
    if firing_id >= MAX_ID or not -1 <= after < MAX_ID:
        abort(400, "That names no link.")
    with given.one_moment(database()):
        return _answer(given.chain_after(database(), firing_id, after))


@BLUEPRINT.get("/beside.json")
def beside() -> Response:
    """Give what is kept outside the chain of some firings (``of``, as ``12-KNOWN``), where it is not as known."""
    asked = [one.partition("-")[::2] for one in request.args.get("of", "").split(",") if one]
    if len(asked) > given.MOST_ASKED or not all(number.isascii() and number.isdigit() and len(number) < 15
                                                for number, _ in asked):
        abort(400, f"Ask for at most {given.MOST_ASKED} firings, by their numbers.")
    found: list[dict[str, Any]] = []
    with given.one_moment(database()):
        for number, known in asked:
            content = given.beside(database(), int(number))
            if content is not None and (mark := given.digest(content)) != known:
                found.append({"firing": int(number), "mark": mark, "content": content})
    return _answer({"beside": found})


@BLUEPRINT.get("/studio.json")
def studio() -> Response:
    """Give kilns, probes, plans and pieces, unless the server has just these (``known``)."""
    with given.one_moment(database()):
        content = given.studio(database())
    mark = given.digest(content)
    return _answer({"mark": mark, "content": None if request.args.get("known") == mark else content})


def _state() -> dict[str, Any]:
    """Return what the daemon last said, and how old that is by this box's clock; nulls where it says nothing."""
    said = daemon_state()
    return {"state": None if said is None else said.said, "state_age_s": None if said is None else said.age_s}


def _answer(body: dict[str, Any]) -> Response:
    response = Response(given.as_json(body), mimetype="application/json")
    response.headers["Cache-Control"] = "no-store"
    return response
