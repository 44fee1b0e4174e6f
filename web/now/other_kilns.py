"""Other kilns of the studio, each with its own watch, beside the one that this page is about."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flask import Blueprint, abort, redirect, render_template, url_for
from werkzeug.wrappers import Response

from daemon.firing.events import LONGEST_QUIET_S
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.socket_call import call
from daemon.service.state_reader import DaemonState, read_daemon_state
from web.now.page_values import Present, present
from web.request.ask_daemon import alert_no
from web.request.context import settings
from web.settings import Settings

BLUEPRINT = Blueprint("other_kilns", __name__)

Answer = Response | tuple[str, int]


@dataclass(frozen=True)
class OtherKiln:
    """One other kiln as it is shown."""

    number: int
    """Its place among the folders of ``others``, from 1."""
    name: str
    load: str
    """What it fires; empty where it fires nothing."""
    now: Present
    said: DaemonState | None


def other_kilns() -> list[OtherKiln]:
    """Return every other kiln of the settings, in their order."""
    kept = settings()
    return [_kiln(number, folder, kept) for number, folder in enumerate(kept.others, start=1)]


def _kiln(number: int, folder: Path, kept: Settings) -> OtherKiln:
    """Return a kiln by what its daemon last wrote into ``folder``."""
    said = read_daemon_state(folder, kept.clock.utc())
    began_utc = said.started_utc if said is not None else None
    starts = began_utc.astimezone(kept.zone) if began_utc is not None else None
    name = said.text("kiln") if said is not None else ""
    load = said.text("firing_title") if said is not None and starts is not None else ""
    return OtherKiln(number, name or folder.name, load, present(said, kept.unit, kept.zone, starts), said)


@BLUEPRINT.post("/others/<int:number>/acknowledge")
def acknowledge(number: int) -> Answer:
    """Say that an alert of another kiln, or all that stand there, were heard."""
    return _tell(number, "acknowledge", {"firing_id": None, "alert_no": alert_no()})


@BLUEPRINT.post("/others/<int:number>/quiet")
def quiet(number: int) -> Answer:
    """Ask for half an hour of quiet about an alert of another kiln, or about all that stand there."""
    return _tell(number, "quiet", {"firing_id": None, "alert_no": alert_no(), "for_s": LONGEST_QUIET_S})


def _tell(number: int, kind: str, payload: dict[str, object]) -> Answer:
    """Ask another kiln's daemon by its socket, and lead back to Now."""
    folders = settings().others
    if not 1 <= number <= len(folders):
        abort(404)
    outcome = call(folders[number - 1] / SOCKET_NAME, kind, payload)
    if outcome in {"done", "waiting"}:
        return redirect(url_for("now.show"), code=303)
    words = outcome or "The watch of that kiln does not answer. Go and look at the kiln, and whether its daemon runs."
    return render_template("message.html", headline="Not done", words=words), 409
