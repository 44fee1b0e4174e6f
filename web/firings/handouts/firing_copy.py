"""One firing as one file for a teacher or a friend: everything in it, nothing from outside, no script."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass, replace

from flask import Blueprint, Response, render_template
from markupsafe import Markup

from daemon.firing.durations import duration
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.store import judgements, outcomes, photographs, pieces
from daemon.store.firings import Firing
from daemon.store.photographs import FOLDER
from daemon.store.safety import record_mark
from web import words
from web.drawing.colours import DAY
from web.drawing.trace_svg import NARROW, svg
from web.firings.drawings import sheet_of
from web.firings.handouts.exports import file_name
from web.firings.log import SAID, Day
from web.firings.moments import moment_words
from web.firings.page import log_of
from web.firings.record import Record, peak_c, read_whole
from web.firings.verdict import verdict_of
from web.request.context import database, settings
from web.request.load_form import GLASSES
from web.request.lookup import find
from web.times import date_words, time_words

BLUEPRINT = Blueprint("firing_copy", __name__)

TRACE = (1080, 440)
"""Width and height of the drawing [px]. [chosen: a page's width]"""
MOST_WHOLE_BYTES = 6 * 1024 * 1024
"""Photographs up to this sum are put in whole, further ones small [bytes]. [chosen: with base 64 the file stays below
what mail takes, some 10 MB]"""


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph within the file."""

    source: str
    """The whole picture as a ``data:`` address."""
    caption: str
    width: int
    height: int


@BLUEPRINT.get("/firings/<int:firing_id>/copy.html")
def show(firing_id: int) -> Response:
    """Return the copy as a file to keep or send."""
    firing, db, unit = find(firing_id), database(), settings().unit
    record = read_whole(firing)
    judged = judgements.judgement(db, firing_id)
    highest_c = peak_c(firing, judged)
    mark = record_mark.head(db, firing_id)
    body = render_template(
        "firing_copy.html", firing=firing, running=record.running, day=DAY, unit=unit, glasses=GLASSES,
        date=f"{date_words(record.starts)} {record.starts.year}", clock=time_words(record.starts),
        duration=duration(record.last_s), peak=words.temp(highest_c, unit),
        plan=record.plan, seen=None if record.running else verdict_of(record, judged, highest_c),
        drawing=Markup(svg(record.picture, TRACE, name="copy", ground=False)),
        narrow=Markup(svg(replace(record.picture, cells=()), NARROW, name="copy-narrow", ground=False)),
        rows=sheet_of(record).rows,
        clock_of=lambda t_s: "" if t_s is None else words.clock(record.starts, t_s),
        pieces=pieces.of_firing(db, firing_id), outcomes=outcomes.of_firing(db, firing_id),
        came=outcomes.of_load(db, firing_id), days=_log(record), pictures=_pictures(firing),
        mark=None if mark is None else record_mark.short(mark), caution=NO_SAFETY_DEVICE)
    response = Response(body, mimetype="text/html")
    response.headers["Content-Disposition"] = f'attachment; filename="{file_name(firing, "html")}"'
    return response


def _log(record: Record) -> tuple[Day, ...]:
    """Return the log by days, as somebody else reads it: "Vented." where the owner reads "You vented."."""
    yours = set(SAID.values())
    return tuple(replace(day, entries=tuple(
        replace(entry, text=words.capital(entry.text.removeprefix("You "))) if entry.text in yours else entry
        for entry in day.entries)) for day in log_of(record))


def _pictures(firing: Firing) -> list[Picture]:
    """Return the firing's photographs within the file, the first ones whole; one whose file is lost is left out."""
    folder, room, kept = settings().data_dir / FOLDER, MOST_WHOLE_BYTES, []
    for photo in photographs.photographs(database(), firing_id=firing.firing_id):
        whole = folder / f"{photo.mark}-whole.jpg"
        try:
            path = whole if whole.stat().st_size <= room else folder / f"{photo.mark}-small.jpg"
            body = path.read_bytes()
        except OSError:
            continue
        room -= len(body) if path is whole else 0
        when = f", {moment_words(firing, photo.wall_utc)}" if photo.moment == "during" else ""
        caption = f"{words.capital(photo.moment)} the firing{when}{': ' if photo.caption else ''}{photo.caption}"
        kept.append(Picture(f"data:image/jpeg;base64,{b64encode(body).decode()}", caption, photo.width, photo.height))
    return kept
