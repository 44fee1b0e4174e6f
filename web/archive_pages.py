"""The pages of an archive: the list of its firings, and of each the copy that the page gives to a friend."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from flask import Flask, render_template

from daemon.archive.names import INDEX, firing_folder
from daemon.errors import BadInput
from daemon.firing.durations import duration
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.settings.config import Config
from daemon.store import firings, judgements, pieces
from daemon.store.safety import record_mark
from daemon.wall_clock import machine_zone
from web import words
from web.app import create_app
from web.drawing.colours import DAY
from web.firings.record import peak_c
from web.request.context import database
from web.settings import Settings


@dataclass(frozen=True, slots=True)
class Row:
    """A firing as the list shows it."""

    day: str
    title: str
    folder: str
    pieces: str
    highest: str
    took: str
    mark: str


def pages(data: Path, run_dir: Path, config: Config, numbers: Iterable[int]) -> Iterator[tuple[str, str]]:
    """Yield name and HTML of the list and of each firing's page, one at a time.

    Parameters
    ----------
    data, run_dir
        The folders of the record and of the present state.
    config
        The owner's settings.
    numbers
        The firings; they are gone through once.

    Raises
    ------
    BadInput
        Where a page can't be drawn.
    """
    zone = ZoneInfo(config.time_zone) if config.time_zone else machine_zone()
    settings = Settings(data_dir=data, run_dir=run_dir, kiln=config.kiln_name, unit=config.unit, zone=zone,
                        open_house=True, config=config)
    app = create_app(settings)
    client = app.test_client()
    drawn = []
    for number in numbers:
        answer = client.get(f"/firings/{number}/copy.html")
        if answer.status_code != 200:
            raise BadInput(f"firing {number}", f"its page could not be drawn ({answer.status}).",
                           "Export again, or leave the pages out: --without-pages")
        drawn.append(number)
        yield f"{firing_folder(number)}/page.html", answer.get_data(as_text=True)
    yield INDEX, _index(app, settings, drawn)


def _index(app: Flask, settings: Settings, numbers: Sequence[int]) -> str:
    """Return the list of the firings, the latest first."""
    with app.test_request_context("/"):
        found = [(firing.started_utc, _row(firing, settings)) for number in numbers
                 if (firing := firings.firing(database(), number)) is not None]
        found.sort(key=lambda one: one[0], reverse=True)
        return render_template("archive.html", rows=[row for _, row in found], unit=settings.unit, day=DAY,
                               caution=NO_SAFETY_DEVICE)


def _row(firing: firings.Firing, settings: Settings) -> Row:
    """Return a firing as the list shows it, with the peak that its page has."""
    db = database()
    head = record_mark.head(db, firing.firing_id)
    highest_c = peak_c(firing, judgements.judgement(db, firing.firing_id))
    return Row(
        f"{firing.started_utc.astimezone(settings.zone):%Y-%m-%d}", firing.title, firing_folder(firing.firing_id),
        ", ".join(piece.name for piece in pieces.of_firing(db, firing.firing_id)),
        words.temp(highest_c, settings.unit), duration(firing.ended_s or 0),
        "" if head is None else record_mark.short(head))
