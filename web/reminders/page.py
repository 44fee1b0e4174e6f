"""The reminders' address: an iCalendar for whoever knows it."""

from __future__ import annotations

from flask import Blueprint, Response

from web.reminders import collected, written
from web.request.context import daemon_state, database, kiln_id, settings
from web.security import calendar_address, passcode

BLUEPRINT = Blueprint("reminders", __name__)


@BLUEPRINT.get("/calendar/<token>.ics")
def show(token: str) -> Response:
    """Give the reminders; 404 in the same words and time for every wrong address."""
    mine, key = settings(), passcode.page_key(settings().data_dir)
    if not calendar_address.is_token(token, key, passcode.fingerprint(mine.passcode_path)):
        return Response("There is no calendar at this address. The kiln’s page has the one that holds.\n", 404,
                        mimetype="text/plain")
    db, kiln, now_utc = database(), kiln_id(), mine.clock.utc()
    found = list(collected.of_drying(db, now_utc))
    found += collected.of_cooling(mine.kiln, daemon_state(), mine.zone, mine.unit)
    if kiln is not None:
        found += collected.of_thermocouple(db, kiln, mine.kiln, mine.zone)
        found += collected.of_elements(db, kiln, mine.kiln)
    text = written.calendar(f"{mine.kiln} (Lehrling)", calendar_address.house_mark(key), found)
    return Response(text, content_type=written.CONTENT_TYPE)
