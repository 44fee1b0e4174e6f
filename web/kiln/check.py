"""The box, looked over: the doctor's last result, and a button to look again. The daemon is asked about the probe."""

from __future__ import annotations

import threading

from flask import Blueprint, redirect, render_template, url_for
from werkzeug.wrappers import Response

from daemon.doctor.computer import Computer
from daemon.doctor.examine import Result, examine, keep, kept
from daemon.doctor.finding import Finding, State
from daemon.doctor.places import Places
from daemon.settings.config import FILE_NAME
from web import words
from web.request.context import settings
from web.security import access
from web.times import date_words, time_words

BLUEPRINT = Blueprint("check", __name__)
_ONE_AT_A_TIME = threading.Lock()
_FIRST = (State.MEND, State.NOTE, State.GOOD)
"""What is to be mended stands first."""
_SAID = {State.MEND: "mend", State.NOTE: "note", State.GOOD: "good"}


@BLUEPRINT.get("/kiln/check")
def show() -> str:
    """Show the last result."""
    mine = settings()
    result = kept(mine.data_dir)
    return render_template("check.html", may_change=access.may_change(mine), when=_when(result),
                           headline=_headline(result), rows=[] if result is None else _rows(result.findings))


@BLUEPRINT.post("/kiln/check")
def look() -> Response:
    """Look over the box, which takes some seconds, and show what was found; a second press meanwhile does nothing."""
    mine = settings()
    places = Places(mine.data_dir, mine.run_dir, mine.config.file or mine.data_dir / FILE_NAME)
    if _ONE_AT_A_TIME.acquire(blocking=False):
        try:
            keep(examine(places, mine.clock, Computer(), may_open_probe=False), mine.data_dir)
        finally:
            _ONE_AT_A_TIME.release()
    return redirect(url_for("check.show"), code=303)


def _when(result: Result | None) -> str:
    """Return when the box was looked over, in words; empty where it was not yet."""
    if result is None:
        return ""
    there = result.checked_utc.astimezone(settings().zone)
    return f"{date_words(there)}, {time_words(there)}"


def _headline(result: Result | None) -> str:
    if result is None:
        return "The box has not been looked over yet"
    count = sum(finding.state is State.MEND for finding in result.findings)
    if not count:
        return "Nothing is to be mended"
    return f"{count} thing{'' if count == 1 else 's'} to mend"


def _rows(findings: list[Finding]) -> list[dict[str, str]]:
    """Return the findings for the page, those that ask for an act first."""
    ordered = sorted(findings, key=lambda finding: _FIRST.index(finding.state))
    return [{"state": _SAID[finding.state], "part": words.capital(finding.part), "said": words.bound(finding.said),
             "do": words.bound(finding.do)} for finding in ordered]
