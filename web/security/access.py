"""Who may ask: called by a name of ours, from a page of ours, knowing the passcode; nothing from outside."""

from __future__ import annotations

from ipaddress import ip_address
from urllib.parse import urlsplit

from flask import Blueprint, Flask, Response, abort, current_app, redirect, render_template, request, session
from flask import url_for as _url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.firing.durations import duration
from web.security import known_devices, passcode, wrong_tries
from web.security.known_devices import COOKIE, KEPT_S, KnownDevices
from web.security.rate_limit import (
    CHANGES_FROM_ONE,
    GUESSES_FROM_ALL,
    GUESSES_FROM_ONE,
    LONG_FROM_ALL,
    LONG_FROM_ONE,
    LONG_S,
    RateLimit,
)
from web.security.sessions import FILE_NAME, Sessions, device_words
from web.security.wrong_tries import WrongTries
from web.settings import Settings, own_names

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
PUBLIC = frozenset({"access.enter", "access.choose", "static", "assets.plotly_script", "home_screen.manifest",
                    "home_screen.icon", "metrics.show",
                    "reminders.show", "collect.overview", "collect.chain", "collect.beside", "collect.studio"})
"""What anybody at home may fetch: the way in, files that say nothing of this house, figures for a monitoring program,
which answer only where the owner turned them on, reminders, whose address is a secret of its own, and what the
studio's server collects, for which it shows a token."""

_PLOTLYS_STYLE = "'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='"
"""The one fixed style that plotly's script puts into a page while it starts, by its hash; no other passes."""
POLICY = "; ".join((
    "default-src 'none'", "script-src 'self'", f"style-src 'self' {_PLOTLYS_STYLE}", "img-src 'self' data: blob:",
    "connect-src 'self'", "manifest-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'",
))

STRANGE_NAME = (
    "This page is called by a name it does not know. Use the machine’s own name or its address, "
    "or add the name to allowed_hosts in lehrling.toml.\n"
)

BLUEPRINT = Blueprint("access", __name__)


def guard(app: Flask, settings: Settings) -> None:
    """Put every request through the checks of this file."""
    beside = settings.passcode_path.with_name
    app.extensions["lehrling-guesses"] = (
        RateLimit(GUESSES_FROM_ONE, GUESSES_FROM_ALL), RateLimit(LONG_FROM_ONE, LONG_FROM_ALL, LONG_S))
    app.extensions["lehrling-devices"] = KnownDevices(beside(known_devices.FILE_NAME), settings.passcode_path)
    app.extensions["lehrling-wrong-tries"] = WrongTries(beside(wrong_tries.FILE_NAME))
    app.extensions["lehrling-sessions"] = Sessions(beside(FILE_NAME), settings.clock)
    changes = RateLimit(CHANGES_FROM_ONE)
    names = frozenset((*own_names(), *(name.lower() for name in settings.allowed_hosts)))

    @app.before_request
    def _check() -> AnyResponse | None:
        if not host_is_ours(request.host, names):
            return Response(STRANGE_NAME, 400, mimetype="text/plain")
        if request.method not in SAFE and not _from_our_page():
            abort(403, "This was sent from another page. Open Lehrling itself and do it there.")
        if request.method not in SAFE and not settings.open_house \
                and changes.wait_s(request.remote_addr or "", settings.clock.now_s()) > 0:
            abort(429, "That is more than a hand can send in a minute. Wait one, then go on.")
        if settings.collected is not None and request.method not in SAFE and request.endpoint != "preferences.keep":
            abort(403, f"This page only shows what was collected. Do it on the kiln’s own page: "
                       f"{settings.collected.address}")
        return _way_in(settings)

    @app.after_request
    def _head(response: Response) -> Response:
        head = response.headers
        head.setdefault("Content-Security-Policy", POLICY)
        head.setdefault("X-Content-Type-Options", "nosniff")
        head.setdefault("X-Frame-Options", "DENY")
        head.setdefault("Referrer-Policy", "same-origin")
        head.setdefault("Cross-Origin-Opener-Policy", "same-origin")
        head.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        head.setdefault("Cache-Control", "no-cache, private")
        return response


def host_is_ours(host: str, names: frozenset[str]) -> bool:
    """Return whether ``host`` is a name of ours, or a bare address of this machine or the home network.

    A page that rebinds its own name to our address still sends its own name, so only names need listing.
    """
    try:
        name = urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return False
    if name in names:
        return True
    try:
        address = ip_address(name)
    except ValueError:
        return False
    return address.is_loopback or (address.is_private and not address.is_unspecified)


def _from_our_page() -> bool:
    """Return whether the browser says that a page of ours sent this; saying nothing is not enough."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None and site != "same-origin":
        return False
    origin = request.headers.get("Origin")
    if origin is None:
        return site == "same-origin"
    return origin == f"{request.scheme}://{request.host}"


def _way_in(settings: Settings) -> AnyResponse | None:
    """Return where to send who asks, to enter or choose a passcode; None where the request may pass."""
    if settings.collected is not None:  # the server's first page has asked already
        return None
    if settings.open_house or request.endpoint in PUBLIC or knows_passcode(settings):
        return None
    if request.method in SAFE and settings.open_reading and passcode.kept_hash(settings.passcode_path):
        return None
    if request.path.endswith(".json"):
        abort(401, "Enter the passcode first.")
    if passcode.kept_hash(settings.passcode_path) is None:
        return redirect(_url_for("access.choose"))
    back = request.full_path.rstrip("?") if request.method in SAFE else "/"
    return redirect(_url_for("access.enter", back=back))


def knows_passcode(settings: Settings) -> bool:
    """Return whether whoever asks has entered the passcode that holds today, in a session nobody has ended."""
    if passcode.kept_hash(settings.passcode_path) is None:
        return False
    sessions: Sessions = current_app.extensions["lehrling-sessions"]
    return (session.get("knows") == passcode.fingerprint(settings.passcode_path)
            and sessions.alive(session.get("key")))


def may_change(settings: Settings) -> bool:
    """Return whether whoever asks may change anything; nobody may on a page of the studio's server."""
    if settings.collected is not None:
        return False
    return settings.open_house or knows_passcode(settings)


def _settings() -> Settings:
    found = current_app.extensions["lehrling"]
    assert isinstance(found, Settings)
    return found


def _inside(path: str) -> str:
    """Return ``path`` where it is one of this page, else the front."""
    plain = path.isprintable() and not any(letter.isspace() or letter == "\\" for letter in path)
    return path if plain and path.startswith("/") and not path.startswith("//") else "/"


@BLUEPRINT.route("/enter", methods=["GET", "POST"])
def enter() -> AnyResponse | str | tuple[str, int]:
    """Ask for the passcode, and let in whoever knows it."""
    settings = _settings()
    back = _inside(request.values.get("back", "/"))
    if may_change(settings):
        return redirect(back)
    if passcode.kept_hash(settings.passcode_path) is None:
        return redirect(_url_for("access.choose"))
    if request.method == "GET":
        return render_template("enter.html", back=back, wrong="")
    address, mark = request.remote_addr or "", request.cookies.get(COOKIE, "")
    known = _devices().knows(mark)
    who = f"browser {mark}" if known else address
    guesses: tuple[RateLimit, ...] = current_app.extensions["lehrling-guesses"]
    waits_s = (limit.wait_s(who, settings.clock.now_s(), known=known) for limit in guesses)
    wait_s = next((wait_s for wait_s in waits_s if wait_s > 0), 0.0)
    if wait_s > 0:
        wrong = f"Too many tries. Wait {duration(wait_s)} and enter it again."
        return render_template("enter.html", back=back, wrong=wrong), 429
    if not passcode.fits(settings.passcode_path, request.form.get("passcode", "")):
        tries().count(address, settings.clock.utc())
        return render_template("enter.html", back=back, wrong="That is not the passcode."), 403
    for limit in guesses:
        limit.forget(who)
    tries().entered(address)
    return _let_in(settings, redirect(back))


@BLUEPRINT.route("/passcode", methods=["GET", "POST"])
def choose() -> AnyResponse | str | tuple[str, int]:
    """Let the first one at the machine itself choose the passcode."""
    settings = _settings()
    if passcode.kept_hash(settings.passcode_path) is not None or settings.open_house:
        return redirect("/")
    near = request.remote_addr in {"127.0.0.1", "::1"}
    if request.method == "GET" or not near:
        return render_template("choose.html", near=near, wrong=""), 200 if request.method == "GET" else 403
    wanted = request.form.get("passcode", "")
    wrong = passcode.check_words(wanted)
    if wrong is None and wanted != request.form.get("again", ""):
        wrong = "The two are not the same. Enter them again."
    if wrong:
        return render_template("choose.html", near=near, wrong=wrong), 400
    passcode.keep(settings.passcode_path, wanted)
    return _let_in(settings, redirect("/"))


@BLUEPRINT.post("/leave")
def leave() -> AnyResponse:
    """End this browser's session."""
    sessions: Sessions = current_app.extensions["lehrling-sessions"]
    sessions.end(str(session.get("key")))
    session.clear()
    return redirect("/")


def tries() -> WrongTries:
    """Return the wrong passcodes that nobody has looked at yet."""
    found: WrongTries = current_app.extensions["lehrling-wrong-tries"]
    return found


def _devices() -> KnownDevices:
    found: KnownDevices = current_app.extensions["lehrling-devices"]
    return found


def _let_in(settings: Settings, answer: AnyResponse) -> AnyResponse:
    """Begin a session for this browser and return ``answer``, which tells it its mark where it has none."""
    session.clear()
    session.permanent = True
    session["knows"] = passcode.fingerprint(settings.passcode_path)
    sessions: Sessions = current_app.extensions["lehrling-sessions"]
    session["key"] = sessions.begin(device_words(request.headers.get("User-Agent", "")), request.remote_addr or "")
    if not _devices().knows(request.cookies.get(COOKIE, "")):
        answer.set_cookie(COOKIE, _devices().remember(), max_age=KEPT_S, secure=settings.behind_tls, httponly=True,
                          samesite="Strict")
    return answer
