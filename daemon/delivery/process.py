"""The delivery process: waits for the database, goes round until asked to stop, leaves tidily."""

from __future__ import annotations

import logging
import os
import random
import signal
import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from types import FrameType
from zoneinfo import ZoneInfo

import apprise  # noqa: F401 - it takes its time, which the first message should not have to wait for
import sqlite_utils

from daemon.clock import Clock, SystemClock
from daemon.delivery.envelope import enveloped
from daemon.delivery.publishing.publisher import Publisher
from daemon.delivery.sender import AppriseSender, address
from daemon.delivery.sign_of_life import Pulse, pulses
from daemon.delivery.stored_outbox import StoredBox, open_outbox
from daemon.delivery.when_to_send import Delivery
from daemon.errors import BadInput
from daemon.notify.other_messages import is_hushed
from daemon.notify.unstored import FIRST_NUMBER, BoxAndMemory
from daemon.service.control_socket import FILE_NAME as SOCKET
from daemon.service.state_reader import FILE_NAME as PRESENT
from daemon.service.state_reader import read_daemon_state
from daemon.service.watchdog import ALIVE, READY, STOPPING, notify
from daemon.settings.config import Config
from daemon.store import outbox
from daemon.store.database import FILE_NAME, NoDatabase, data_version
from daemon.store.outbox import Pending
from daemon.store.safety.deleted import OpenFile

LOG = logging.getLogger("lehrling.deliver")

LOOK_S = 0.25
"""How often the outbox is looked at [s]. [chosen: no one notices it, and a look at an unchanged file costs
microseconds]"""
BUSY_LOOK_S = 0.02
"""How often while something is being sent [s]: the sooner it is marked, the less a kill repeats. [chosen: short
against a sending]"""
SETTINGS_LOOK_S = 1.0
"""How often it looks whether the settings have changed, and tells systemd that it goes round [s]. [chosen: a trial
sent right after a change finds them]"""
PRESENT_FRESH_S = 30.0
"""A state older than this is not "now" any more [s]. [chosen: twice what the page takes for stale, since a message
is not read at once]"""
LEAVE_S = 5.0
"""How long to wait for attempts under way when asked to stop [s]. [chosen: well within what systemd waits before it
kills]"""


def run_delivery(config: Config, data_dir: Path, run_dir: Path, *, once: bool,
                 stale: Callable[[], bool] = lambda: False) -> int | None:
    """Send what waits, until told to stop, or until the settings have changed.

    Parameters
    ----------
    config
        The channels and the owner's time zone.
    data_dir
        Folder of the database; without one it is waited for.
    run_dir
        Folder of the present state, which late messages tell.
    once
        Whether to try everything once and end.
    stale
        Whether the settings have changed since they were read; asked about once a second.

    Returns
    -------
    int or None
        None where the settings have changed or the record is another file, and it is to start afresh; 0; 1 where a
        channel hung beyond help, or where ``once`` left something unsent.

    Raises
    ------
    BadInput
        Where ``once`` finds no database.
    """
    # The journal of systemd writes the time itself.
    stamp = "" if "JOURNAL_STREAM" in os.environ else "%(asctime)s "
    logging.basicConfig(level=logging.INFO, format=stamp + "%(message)s")
    alive = pulses(config.alive.url_file, config.alive.mqtt_file, config.alive.every_s, run_dir / PRESENT)
    if not config.channels:
        LOG.warning("No [[channel]] in the settings: alerts stand on the page only.")
    clock, stop = SystemClock(), _Stop()
    beside: list[Pulse | Publisher] = [] if once else [*alive, *_publishers(config, data_dir, run_dir, clock)]
    if not once:
        notify(READY)
    for one in beside:
        one.start()
    db = _wait_for_database(data_dir / FILE_NAME, clock, stop, once=once)
    try:
        if db is None:
            return 0
        delivery = _delivery(db, config, clock, run_dir)
        _report_strays(db, config)
        file = OpenFile(db)
        return _once(delivery, clock) if once else _until_stopped(
            delivery, db, clock, stop, lambda: stale() or file.is_deleted or file.is_exchanged)
    except TimeoutError as err:
        LOG.error("%s; ending, so that a fresh start repeats what was not sent.", err)
        return 1
    finally:
        if stop.asked and not once:
            notify(STOPPING)
        for one in beside:
            one.close()
        if db is not None:
            db.close()


def _publishers(config: Config, data_dir: Path, run_dir: Path, clock: Clock) -> list[Publisher]:
    """Return what publishes the kiln's state, where the settings name a broker."""
    return [] if config.mqtt is None else [Publisher(config.mqtt, config.kiln_name, data_dir, run_dir, clock)]


class _Stop:
    """Set when the process is asked to end."""

    def __init__(self) -> None:
        self.asked = False
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._ask)

    def _ask(self, _number: int, _frame: FrameType | None) -> None:
        self.asked = True


def _wait_for_database(path: Path, clock: Clock, stop: _Stop, *, once: bool) -> sqlite_utils.Database | None:
    """Return the open database, as soon as the daemon has made it; None when asked to end before.

    Waiting is this process's work then, and systemd is told that it goes on.
    """
    said = False
    while not stop.asked:
        found = open_outbox(path)
        if not once:
            notify(ALIVE)
        if not isinstance(found, NoDatabase):
            return found
        if once:
            raise found
        if not said:
            LOG.warning("Waiting: %s", found.text)
            said = True
        clock.sleep_until(clock.now_s() + 1.0)
    return None


def _delivery(db: sqlite_utils.Database, config: Config, clock: Clock, run_dir: Path) -> Delivery:
    for channel in config.channels:
        try:
            address(channel)
        except BadInput as err:
            LOG.warning("%s", err.text)
    zone = ZoneInfo(config.time_zone) if config.time_zone else None

    def envelope(message: Pending) -> str:
        now = clock.utc()
        number = message.outbox_id if message.outbox_id < FIRST_NUMBER else None
        return enveloped(message.body, number, message.created_utc, now, zone,
                         _present(run_dir, now))

    def hushed() -> bool:
        return is_hushed(config.quiet_hours, clock.utc().astimezone(zone).time())

    senders = {channel.name: AppriseSender(channel) for channel in config.channels}
    box = BoxAndMemory(StoredBox(db), run_dir, SOCKET, PRESENT)
    return Delivery(box, senders, clock, random.Random(), envelope, hushed)


def _present(run_dir: Path, now: datetime) -> str:
    """Return how the kiln stands in one sentence; empty where that is not known."""
    found = read_daemon_state(run_dir, now)
    return found.text("sentence") if found is not None and abs(found.age_s) < PRESENT_FRESH_S else ""


def _report_strays(db: sqlite_utils.Database, config: Config) -> None:
    """Log the messages that wait for a channel which the settings no longer name."""
    try:
        waiting = outbox.waiting_elsewhere(db, [channel.name for channel in config.channels])
    except sqlite3.Error as err:
        LOG.warning("What waits for channels that are no longer in the settings can't be counted now (%s).", err)
        return
    for name, count in waiting.items():
        LOG.warning('%d messages wait for "%s", which is no [[channel]] of the settings.', count, name)


def _until_stopped(delivery: Delivery, db: sqlite_utils.Database, clock: Clock, stop: _Stop,
                   stale: Callable[[], bool]) -> int | None:
    """Send until asked to stop or what it began with is stale, finish what is under way, and return how it ended.

    systemd is told after whole rounds only. An attempt that hangs keeps no round from ending; STUCK_S of
    ``channel_thread`` ends the process then. A record that can't be read keeps none either: a fresh process could
    read it no better, and would send once more what this one has sent from memory.
    """
    seen, look_s, changed = -1, 0.0, False
    while not stop.asked and not changed:
        looks = clock.now_s() >= look_s
        if looks:
            look_s, changed = clock.now_s() + SETTINGS_LOOK_S, stale()
        try:
            version = data_version(db)
        except sqlite3.Error:
            version = seen  # looked at again in a moment
        delivery.round(look=delivery.box.changed() or version != seen)
        if looks:
            notify(ALIVE)
        seen = version
        clock.sleep_until(clock.now_s() + (BUSY_LOOK_S if delivery.busy else LOOK_S))
    leave_s = clock.now_s() + LEAVE_S
    while delivery.finish() and clock.now_s() < leave_s:
        clock.sleep_until(clock.now_s() + 0.05)
    return None if changed and not stop.asked else 0


def _once(delivery: Delivery, clock: Clock) -> int:
    """Try every channel until it is empty or refuses; 1 where something stays in the outbox."""
    delivery.round()
    while delivery.busy:
        clock.sleep_until(clock.now_s() + 0.02)
        delivery.round(look=False)
    return 1 if delivery.troubled else 0
