"""The pages of one box over the studio's database: the same as the box's own, and nothing can be changed."""

from __future__ import annotations

import logging
from dataclasses import replace
from typing import TYPE_CHECKING

from flask import request
from werkzeug.exceptions import ServiceUnavailable

from daemon.errors import BadInput
from daemon.settings.config import Config
from daemon.studio.record import Seen, open_record, seen
from daemon.studio.settings import Studio
from web.app import create_app
from web.now.page_values import Present, present
from web.settings import Notice, Settings
from web.times import near_time_words

if TYPE_CHECKING:
    import sqlite_utils
    from flask import Flask

    from daemon.service.state_reader import DaemonState


LOG = logging.getLogger("lehrling.studio")
_AWAY = ("The studio’s database does not answer, or its tables are of another version. The log of this page says "
         "which. Each kiln is watched by its own box all the same.")
SEEN = "lehrling.seen"
"""The key of a request's environment that holds what is known of its box."""
_LATELY_S = 120.0
"""A box that was heard since is not said to be away [s]. [chosen: two minutes, some lost answers]"""


class CollectedBox:
    """What was collected from one box, as ``web.settings.Collected`` asks."""

    def __init__(self, studio: Studio, name: str, house: Settings) -> None:
        self._studio, self._name, self._house = studio, name, house
        self.address = next(box.address for box in studio.boxes if box.name == name)

    def record(self) -> sqlite_utils.Database:
        """Return the record, opened for reading."""
        return open_record(self._studio, self._name)

    def state(self) -> DaemonState | None:
        """Return what the box's daemon last said."""
        return self._seen().state

    def notice(self) -> Notice:
        """Return that this was collected, and what is wrong with the collecting."""
        return notice(self._seen(), self._house)

    def _seen(self) -> Seen:
        """Return what the first page has found of the box for this request."""
        found: Seen = request.environ[SEEN]
        return found


def look(studio: Studio, house: Settings) -> list[Seen]:
    """Return what is known of each box.

    Raises
    ------
    ServiceUnavailable
        Where the database does not answer, or its tables are of another version.
    """
    try:
        return seen(studio, house.clock.utc())
    except BadInput as err:
        LOG.warning("nothing can be shown: %s", err.text)
        raise ServiceUnavailable(_AWAY) from None


def notice(found: Seen, house: Settings) -> Notice:
    """Return when a box was heard, and what is wrong with the collecting."""
    if found.heard_utc is None:
        return Notice(f"Nothing was collected from this box yet. {found.trouble}".strip(), warns=True)
    now_utc = house.clock.utc()
    if (now_utc - found.heard_utc).total_seconds() < _LATELY_S and not found.trouble:
        return Notice("Collected from the box; nothing can be changed here.", warns=False)
    when = near_time_words(found.heard_utc.astimezone(house.zone), 0.0, (now_utc - found.heard_utc).total_seconds())
    trouble = f" {found.trouble}" if found.trouble else ""
    return Notice(f"Last collected {when}.{trouble} What is shown may be old: look at the kiln.", warns=True)


def shown(found: Seen, house: Settings) -> Present:
    """Return what the first page shows of a box."""
    said = found.state
    began_utc = said.started_utc if said is not None else None
    starts = began_utc.astimezone(house.zone) if began_utc is not None else None
    return present(said, house.unit, house.zone, starts, collected=True)


def page_of(studio: Studio, found: Seen, house: Settings) -> Flask:
    """Return the pages of a box."""
    return create_app(replace(
        house, kiln=found.kiln, collected=CollectedBox(studio, found.name, house), others=(), metrics=False,
        studio=False, config=replace(Config(), kiln_name=found.kiln, unit=house.unit)))
