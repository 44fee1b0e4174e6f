"""Publishes the kiln's state and each step of its alerts, in a thread that no message and no watch waits for."""

from __future__ import annotations

import json
import logging
import sqlite3
import threading
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import sqlite_utils

from daemon.clock import Clock
from daemon.delivery.mqtt_line import Line, Refused
from daemon.delivery.publishing import trouble_file
from daemon.delivery.publishing.connection import open_line, properties
from daemon.delivery.publishing.discovery import EXPIRES_S, announcements
from daemon.delivery.publishing.mark import FILE_NAME as MARK
from daemon.delivery.publishing.mark import of_this_computer, read_mark, this_computer, write_mark
from daemon.delivery.publishing.state_message import (
    Message,
    event_message,
    is_news,
    is_same_situation,
    state_message,
)
from daemon.delivery.publishing.topics import OFFLINE, ONLINE, Topics
from daemon.delivery.stored_outbox import open_outbox
from daemon.errors import BadInput
from daemon.service.state_reader import read_daemon_state
from daemon.settings.mqtt import Mqtt
from daemon.store.alerts import newest_transition, steps_after
from daemon.store.database import FILE_NAME, NoDatabase
from daemon.store.stamps import stamp

LOG = logging.getLogger("lehrling.deliver")
T = TypeVar("T")

LOOK_S = 1.0
"""Time between two looks at state and record [s]. [chosen: the daemon reads once a second]"""
FIGURES_S = 10.0
"""A state that differs in figures only follows the last one after so long [s]. [chosen: a curve is smooth; noise of
a tenth of a degree is no news each second]"""
EVERY_S = 60.0
"""A state follows the last one after so long, whether anything has changed or not [s]. [chosen: once a minute]"""
FIRST_WAIT_S, LONGEST_WAIT_S = 2.0, 60.0
"""After a lost line it is tried again after the first, then after twice as long each time, at most the second [s].
[chosen: a broker that restarts is back in seconds; one that is gone is asked once a minute]"""
EVENT_LASTS_S = 86_400
"""The broker drops an event that a subscriber has not fetched after so long [s]. [chosen: an alert of yesterday
calls nobody]"""
_AT_ONCE = 50
"""Alert steps of one look at most. [chosen: the state goes out between two lots]"""


class Publisher:
    """Publishes one kiln; call ``look`` about once a second, or ``start`` the thread that does.

    An alert step is marked once the broker has acknowledged it, and the next one is sent only then. So an outage or
    a crash loses none and changes no order; at worst one step comes again, with its number.

    Parameters
    ----------
    settings
        Where to.
    kiln
        What the owner calls it.
    data_dir
        Folder of the record, and of the mark.
    run_dir
        Folder of the daemon's state file.
    clock
        For the age of the state and the time between tries.
    """

    def __init__(self, settings: Mqtt, kiln: str, data_dir: Path, run_dir: Path, clock: Clock) -> None:
        self._settings, self._kiln, self._run_dir, self._clock = settings, kiln, run_dir, clock
        self._topics = Topics(settings.topic)
        self._record, self._mark_file = data_dir / FILE_NAME, data_dir / MARK
        self._mark = of_this_computer(read_mark(self._mark_file), this_computer())
        self._is_kept = False
        self._db: sqlite_utils.Database | None = None
        self._line: Line | None = None
        self._next_try_s, self._wait_s = 0.0, FIRST_WAIT_S
        self._troubled_utc = clock.utc()
        self._published: tuple[float, Message] | None = None
        self._availability = b""
        self._is_greeted = False
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, name="mqtt", daemon=True)
        self.trouble = ""
        trouble_file.write(run_dir, None)

    def start(self) -> None:
        """Begin, in a thread of its own."""
        self._thread.start()

    def close(self) -> None:
        """Stop. The broker tells that the kiln is offline, unless a new process comes within the will's delay."""
        self._end.set()
        if self._thread.ident is not None:
            self._thread.join(2.0)
        if not self._thread.is_alive():
            self._leave()

    def look(self) -> None:
        """Publish what is new, where the broker can be reached; never raises for want of it."""
        self._find_begin()
        if self._line is None and self._clock.now_s() < self._next_try_s:
            return
        try:
            if self._line is None:
                self._line = open_line(self._settings, f"lehrling-{self._mark.house_id}", self._topics.availability)
                self._published, self._availability, self._is_greeted = None, b"", False
            self._publish_state(self._line)
            if self._clock.now_s() >= self._next_try_s:
                self._publish_the_rest(self._line)
        except (OSError, BadInput) as err:
            self._lose(err.text if isinstance(err, BadInput) else str(err.strerror or err),
                       refused=isinstance(err, Refused | BadInput))

    def _publish_the_rest(self, line: Line) -> None:
        """Publish announcements and alert steps; where the broker refuses one, the state still goes out."""
        try:
            if not self._is_greeted:
                self._greet(line)
                self._is_greeted = True
                LOG.info("mqtt: published at %s, under %s", self._settings.host, self._topics.base)
            self._publish_events(line)
        except Refused as err:
            self._wait(str(err), refused=True)
            return
        self._wait_s = FIRST_WAIT_S
        self._say("")

    def _run(self) -> None:
        """Look again and again; the line is tended in between, so that it lives only as long as this thread."""
        while not self._end.is_set():
            try:
                self.look()
                if self._line is None:
                    self._end.wait(LOOK_S)
                else:
                    self._line.tend(LOOK_S, until=self._end.is_set)
            except OSError as err:
                self._lose(str(err.strerror or err))
            except Exception as err:
                # The client's library may raise anything; its words may hold the login.
                self._lose(f"{type(err).__name__} while publishing")
                self._end.wait(LOOK_S)
        self._leave()

    def _greet(self, line: Line) -> None:
        """Announce the kiln where that is wanted, and take back what was retained under other topics."""
        wanted: Mapping[str, bytes] = {}
        if self._settings.discovery_prefix:
            wanted = announcements(self._topics, self._settings.discovery_prefix, self._mark.house_id, self._kiln)
        topics = (self._topics.availability, self._topics.state, *wanted)
        stale = [topic for topic in self._mark.retained if topic not in topics]
        self._keep(retained=(*topics, *stale))
        for topic in stale:
            line.publish(topic, b"", retain=True)
        for topic, payload in wanted.items():
            line.publish(topic, payload, retain=True)
        self._keep(retained=topics)

    def _publish_state(self, line: Line) -> None:
        """Publish the state where it is due, and whether it is the present one."""
        now_s = self._clock.now_s()
        state = state_message(self._kiln, read_daemon_state(self._run_dir, self._clock.utc()))
        if self._is_due(state, now_s):
            line.publish(self._topics.state, _json(state), retain=True,
                         properties=properties("PUBLISH", MessageExpiryInterval=EXPIRES_S))
            self._published = now_s, state
        availability = ONLINE if state["watching"] else OFFLINE
        if availability != self._availability:
            line.publish(self._topics.availability, availability, retain=True)
            self._availability = availability

    def _is_due(self, state: Message, now_s: float) -> bool:
        if self._published is None:
            return True
        at_s, before = self._published
        past_s = now_s - at_s
        return (past_s >= EVERY_S or not is_same_situation(state, before)
                or (past_s >= FIGURES_S and is_news(state, before)))

    def _publish_events(self, line: Line) -> None:
        """Publish the alert steps after the mark, one after another."""
        if self._mark.number is None:
            return
        number, wall_utc = self._mark.number, self._mark.wall_utc
        for step in self._from_record(lambda db: steps_after(db, number, wall_utc, _AT_ONCE)) or ():
            line.publish(self._topics.event, _json(event_message(self._kiln, step)), retain=False,
                         properties=properties("PUBLISH", MessageExpiryInterval=EVENT_LASTS_S))
            self._keep(number=step.transition.transition_id, wall_utc=stamp(step.transition.wall_utc))

    def _find_begin(self) -> None:
        """At the very first start, take the newest alert step for published: what is past calls nobody."""
        if self._mark.number is None and (newest := self._from_record(newest_transition)) is not None:
            self._keep(number=newest[0], wall_utc=newest[1])

    def _keep(self, **changes: object) -> None:
        """Change the mark and write it; one that can't be written now is written with the next change."""
        changed = replace(self._mark, **changes)  # type: ignore[arg-type]
        if changed != self._mark or not self._is_kept:
            self._mark = changed
            self._is_kept = write_mark(self._mark_file, changed)

    def _from_record(self, read: Callable[[sqlite_utils.Database], T]) -> T | None:
        """Return what is read from the record; None where it can't be read now."""
        if self._db is None:
            found = open_outbox(self._record)
            if isinstance(found, NoDatabase):
                return None
            self._db = found
        try:
            return read(self._db)
        except sqlite3.Error:
            return None  # locked or broken: delivery says so

    def _lose(self, trouble: str, *, refused: bool = False) -> None:
        """Give up the line and try again later."""
        if self._line is not None:
            self._line.drop()
            self._line = None
        self._wait(trouble, refused=refused)

    def _wait(self, trouble: str, *, refused: bool = False) -> None:
        """Try again later, each time after twice as long."""
        self._next_try_s = self._clock.now_s() + self._wait_s
        self._wait_s = min(LONGEST_WAIT_S, 2.0 * self._wait_s)
        self._say(trouble, refused=refused)

    def _say(self, trouble: str, *, refused: bool = False) -> None:
        """Log trouble when it changes, and write it down for the page, with since when there has been any."""
        if trouble != self.trouble:
            LOG.warning("mqtt: %s", trouble or "published again.")
            if not self.trouble:
                self._troubled_utc = self._clock.utc()
            trouble_file.write(self._run_dir, None if not trouble else
                               trouble_file.Trouble(self._troubled_utc, trouble, refused))
        self.trouble = trouble

    def _leave(self) -> None:
        """Close what is open, without a goodbye that would take back the last will."""
        if self._line is not None:
            self._line.drop()
            self._line = None
        if self._db is not None:
            self._db.close()
            self._db = None


def _json(message: Message) -> bytes:
    return json.dumps(message, ensure_ascii=False, allow_nan=False).encode(errors="replace")
