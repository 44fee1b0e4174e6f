"""The newest copy of the record with all photographs, as one file to carry away; for whoever knows the passcode."""

from __future__ import annotations

import logging
import re
import sqlite3
import threading
from pathlib import Path

from flask import Blueprint, Response, abort

from daemon.copies.bundle import bundle
from daemon.store.database import FILE_NAME
from daemon.store.photographs import FOLDER
from daemon.store.safety.copies import Copy, check, copies_of
from web.request.context import settings
from web.security import access

LOG = logging.getLogger(__name__)
BLUEPRINT = Blueprint("download", __name__)
_ONE_AT_A_TIME = threading.Lock()


@BLUEPRINT.get("/kiln/copy.zip")
def show() -> Response:
    """Send the newest copy that is in order; one at a time, since a slow line holds a thread of the page."""
    mine = settings()
    if not access.may_change(mine):
        abort(403, "Enter the passcode first: the copy holds everything that is kept.")
    if not _ONE_AT_A_TIME.acquire(blocking=False):
        abort(429, "A copy is being downloaded just now. Try again when that is done.")
    try:
        copy = _newest_in_order(mine.data_dir / FILE_NAME)
        pictures = sorted((mine.data_dir / FOLDER).glob("*.jpg"))
        if copy is None:
            abort(404, "There is no copy yet. One is made every night.")
        answer = Response(bundle(copy.path, pictures), mimetype="application/zip")
    except BaseException:
        _ONE_AT_A_TIME.release()
        raise
    answer.call_on_close(_ONE_AT_A_TIME.release)
    name = re.sub(r"[^a-z0-9]+", "-", mine.kiln.lower()).strip("-") or "kiln"
    day = copy.made_utc.astimezone(mine.zone)
    answer.headers["Content-Disposition"] = f'attachment; filename="lehrling-{name}-{day:%Y-%m-%d}.zip"'
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _newest_in_order(record: Path) -> Copy | None:
    """Return the newest copy that can be read through; None where there is none."""
    for copy in reversed(copies_of(record)):
        try:
            check(copy.path)
        except sqlite3.Error as err:
            LOG.error("The copy %s is damaged: %s.", copy.path.name, err)
            continue
        return copy
    return None

