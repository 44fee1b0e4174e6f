"""A night rehearsed: a simulated kiln beside the real one, shown on this page, its alert sent as a real one is."""

from __future__ import annotations

import logging
import shutil
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, current_app, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.errors import BadInput
from daemon.notify.alert_messages import LOCK_SCREEN_CHARS, shortened
from daemon.service.watchdog import childs_environment
from daemon.settings.config import FILE_NAME as SETTINGS_NAME
from daemon.store import outbox
from daemon.store.database import FILE_NAME, NoDatabase, is_current, open_database
from daemon.store.outbox import Letter
from web.request.context import settings
from web.security import access
from web.settings import Settings

if TYPE_CHECKING:
    from flask import Flask

LOG = logging.getLogger("lehrling.web")
BLUEPRINT = Blueprint("rehearsal", __name__)

FOLDER = "rehearsal"
"""Of the rehearsal, in the data folder; nothing of it is kept with the real record."""
SPEED = 40
"""Times real time. [chosen: it wakes within three minutes, and the alert stands for a minute, to be answered]"""
KILN = "clamshell"
"""A kiln of the bench that falls quickly, as small ones do."""
FAULT = "power-cut@step2:hold+5min"
"""What goes wrong: the power fails for good in the anneal hold, which can still be saved."""
_LOOK_S = 1.0
"""How often it is looked for a message to send [s]. [chosen: a message is some seconds on its way anyhow]"""


@dataclass
class Running:
    """A rehearsal under way."""

    process: subprocess.Popen[bytes]
    relay: threading.Thread
    log: Path

    @property
    def runs(self) -> bool:
        """Return whether it is still under way."""
        return self.process.poll() is None


_RUNNING: dict[Path, Running] = {}
"""By data folder; the page itself may be put together anew meanwhile."""
_STARTING = threading.Lock()


def _running(data_dir: Path) -> Running | None:
    found = _RUNNING.get(data_dir)
    return found if found is not None and found.runs else None


def begin(mine: Settings) -> None:
    """Start a rehearsal, unless one is under way."""
    folder = mine.data_dir / FOLDER
    with _STARTING:
        if _running(mine.data_dir) is not None:
            return
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        like = ["--like", str(mine.config.file)] if mine.config.file is not None else []
        log = mine.data_dir / f"{FOLDER}.log"
        with log.open("wb") as out:
            process = subprocess.Popen(
                [sys.executable, "-m", "daemon.cli", "demo", "--for-page", "--until-done", "--data", str(folder),
                 *like, "--speed", str(SPEED), "--kiln", KILN, "--fault", FAULT],
                stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT, env=childs_environment())
        relay = threading.Thread(target=_relay, args=(mine, process.poll), name="rehearsal", daemon=True)
        _RUNNING[mine.data_dir] = Running(process, relay, log)
        relay.start()


def end(data_dir: Path) -> None:
    """End the rehearsal that is under way."""
    found = _RUNNING.pop(data_dir, None)
    if found is not None and found.runs:
        found.process.terminate()
        found.process.wait(20)


def _relay(mine: Settings, ended: Callable[[], int | None]) -> None:
    """Send what the rehearsal has to tell through the channels of the real kiln, marked as a rehearsal."""
    sent: set[int] = set()
    pause = threading.Event()
    while ended() is None:
        pause.wait(_LOOK_S)
        try:
            _pass_on(mine, sent)
        except (NoDatabase, sqlite3.Error) as err:
            LOG.info("the rehearsal’s messages wait: %s", err)


def _pass_on(mine: Settings, sent: set[int]) -> None:
    """Copy each new message of the rehearsal into the real outbox; a daemon or disk in trouble only delays it."""
    path = mine.data_dir / FOLDER / FILE_NAME
    if not path.exists():
        return
    with closing(open_database(path)) as db:
        if not is_current(db):
            return
        fresh = [message for channel in mine.config.channels for message in outbox.pending(db, channel.name)
                 if message.outbox_id not in sent]
    if not fresh:
        return
    letters = [Letter(message.channel, shortened(f"REHEARSAL {message.title}", LOCK_SCREEN_CHARS),
                      f"A rehearsal: the kiln is simulated, nothing is wrong.\n{message.body}", "test",
                      "wake" if message.rank == "wake" else "look") for message in fresh]
    with closing(open_database(mine.data_dir / FILE_NAME)) as real:
        outbox.post(real, letters, mine.clock.utc())
    sent.update(message.outbox_id for message in fresh)


@BLUEPRINT.get("/rehearse")
def show() -> str:
    """Show what a rehearsal is, or how the present one stands."""
    mine = settings()
    found = _RUNNING.get(mine.data_dir)
    log = mine.data_dir / f"{FOLDER}.log"
    failed = found is not None and not found.runs and found.process.returncode not in (0, 3, -15)
    return render_template(
        "rehearse.html", running=_running(mine.data_dir) is not None, ready=_ready(mine), nested=mine.rehearsal,
        channels=[channel.name for channel in mine.config.channels], may_change=access.may_change(mine),
        failed=log.read_text(encoding="utf-8", errors="replace")[-600:] if failed and log.exists() else "")


@BLUEPRINT.post("/rehearse")
def start() -> AnyResponse:
    """Start a rehearsal, or end the one under way."""
    mine = settings()
    if request.form.get("end"):
        end(mine.data_dir)
    elif not mine.rehearsal:
        begin(mine)
    return redirect(url_for("rehearsal.show"), code=303)


def _ready(mine: Settings) -> bool:
    """Return whether there is something to look at yet."""
    return (mine.data_dir / FOLDER / "run" / "present.json").exists()


@BLUEPRINT.route("/rehearsal/", defaults={"rest": ""}, methods=["GET", "POST"])
@BLUEPRINT.route("/rehearsal/<path:rest>", methods=["GET", "POST"])
def inside(rest: str) -> Response | AnyResponse:
    """Show the rehearsal's own page, to whoever may see and change this one."""
    mine = settings()
    if mine.rehearsal or not _ready(mine):
        return redirect(url_for("rehearsal.show"))
    environ = dict(request.environ)
    environ["SCRIPT_NAME"] = f"{request.environ.get('SCRIPT_NAME', '')}/rehearsal"
    environ["PATH_INFO"] = f"/{rest}"
    return Response.from_app(_page_of(mine).wsgi_app, environ)


def _page_of(mine: Settings) -> Flask:
    """Return the rehearsal's page, put together once for each make of this one."""
    kept: Any = current_app.extensions.get("lehrling-rehearsal")
    if kept is None:
        make: Callable[[Settings], Flask] = current_app.extensions["lehrling-make"]
        folder = mine.data_dir / FOLDER
        try:
            kept = make(replace(
                mine, data_dir=folder, run_dir=folder / "run", kiln="Rehearsal", open_house=True, rehearsal=True,
                passcode_file=None, others=(), metrics=False, studio=False,
                config=replace(mine.config, file=folder / SETTINGS_NAME)))
        except BadInput as err:
            raise NoDatabase(str(folder), err.problem, err.remedy) from None
        current_app.extensions["lehrling-rehearsal"] = kept
    found: Flask = kept
    return found
