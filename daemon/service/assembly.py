"""Everything the daemon is made of, put together for one data folder and taken apart in order."""

from __future__ import annotations

import contextlib
import errno
import logging
import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from functools import partial
from pathlib import Path
from queue import SimpleQueue
from zoneinfo import ZoneInfo

import sqlite_utils

from daemon.acquisition.open_probe import StubbornProbe, open_probe
from daemon.clock import Clock, SystemClock, open_bench_clock
from daemon.errors import BadInput
from daemon.lifecycle.checkpoint import FILE_NAME as CHECKPOINT_NAME
from daemon.lifecycle.learned_kiln import learn_due
from daemon.lifecycle.open_firing import Place
from daemon.lifecycle.reckon_heat import reckon_due
from daemon.lifecycle.session import Watch
from daemon.notify.copy_reminder import tell_old_copy
from daemon.notify.daily_word import tell_awake
from daemon.notify.delivery_health import PostHealth
from daemon.notify.drying_reminder import EVERY_S, tell_dry
from daemon.notify.missing_part import MissingPart
from daemon.notify.other_messages import Post, of_missing_probe, of_missing_sounder, of_probe_found, of_sounder_back
from daemon.notify.sends_nothing import sends_nothing
from daemon.service import maintenance, watchdog
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.control_socket import Call, ControlSocket
from daemon.service.inbox import Inbox
from daemon.service.kiln_alarm import KilnAlarm, open_kiln_alarm
from daemon.service.loop import Service
from daemon.service.only_one import only_one
from daemon.service.settings_desk import SettingsDesk
from daemon.service.watchdog import Heartbeat
from daemon.service.wear_look import look_at_wear
from daemon.settings.config import FILE_NAME as SETTINGS_NAME
from daemon.settings.config import Config
from daemon.settings.last_good import keep_copy
from daemon.store.database import FILE_NAME as DATABASE_NAME
from daemon.store.database import (
    NoDatabase,
    create_database,
    is_begun,
    is_current,
    open_database,
    open_unwritable,
)
from daemon.store.safety.copies import make_copy
from daemon.store.safety.damage import replace_if_damaged
from daemon.store.write_queue import Journal
from hw.thermocouple import Thermocouple

LOG = logging.getLogger(__name__)
BENCH_CLOCK = "bench.json"
WRITE_WAIT_S = 0.25
"""How long a tick waits for another writer [s]; what can't be written then is written with the next one. [chosen: a
quarter of a tick]"""
_FIRST_LOOK = timedelta(seconds=5)
"""So long after the start is looked first at what is looked at every few minutes. [chosen: the watch has begun, and a
demonstration learns its kiln before its firing is far]"""
_LATER = frozenset({errno.EROFS, errno.ENOSPC, errno.EIO, errno.EDQUOT})
"""Trouble of a disk that may pass; a firing is watched from memory meanwhile."""


@dataclass(frozen=True)
class Folders:
    """The data folder and the run folder."""

    data: Path
    run: Path


def run_daemon(config: Config, folders: Folders, speed: float, stop: Callable[[], bool],
               clock: Clock | None = None) -> bool:
    """Watch the kiln until ``stop`` says so; return whether to start afresh, since the settings have changed.

    Parameters
    ----------
    config
        The owner's settings.
    folders
        The data folder, which no other daemon may have, and the run folder.
    speed
        Firing seconds a wall second; anything but 1 only where the probe is no real one.
    clock
        The firing clock; None for the computer's own, or the bench's at ``speed``.

    Raises
    ------
    BadInput
        Where a folder, the file or a probe that is no real one can't be used, with the remedy. A real probe is
        waited for, as is any whose lines in the settings are wrong; page and channels say that nothing is watched.
    """
    for told in config.trouble:
        LOG.error("%s", " ".join(told.split()))  # in one line
    _make(folders.data)
    _make(folders.run)
    with only_one(folders.data), contextlib.ExitStack() as open_things:
        clock = clock or _clock(config, folders, speed)
        journal = _journal(folders.data / DATABASE_NAME, clock.utc())
        probe = open_probe(config.probe.kind, config.probe.settings, clock.now_s, wrong=config.probe.trouble,
                           stubborn=config.probe.kind == "max31856" or bool(config.probe.trouble))
        place = Place(config.kiln_name, probe.name, config.probe.thermocouple_type,
                      invented=config.probe.kind == "bench")
        watch = Watch(clock, journal, place, config, folders.data / CHECKPOINT_NAME)
        keeper = maintenance.Housekeeping(folders.data / DATABASE_NAME, clock.utc,
                                          clock_is_set=clock.synchronised)
        zone = ZoneInfo(config.time_zone) if config.time_zone else None
        health = PostHealth(journal.database, config.channels, zone, config.quiet_hours,
                            sends_nothing=sends_nothing(folders.data))
        beat = Heartbeat()
        calls: SimpleQueue[Call] = SimpleQueue()
        bell = open_kiln_alarm(config.sounder)
        desk = SettingsDesk(config.file or folders.data / SETTINGS_NAME, config)
        service = Service(
            clock, probe, watch, journal, Inbox(journal, calls), config.kiln_name, folders.run,
            alive=lambda: watchdog.notify(watchdog.ALIVE), beat=beat.beat,
            trouble=lambda: keeper.trouble, post_trouble=lambda: health.trouble(clock.utc()),
            old_copy=lambda: keeper.old_copy, no_probe=_no_probe(probe, config.post),
            no_sounder=_no_sounder(bell, config.post), bell=bell, settings_trouble=config.trouble, desk=desk)
        open_things.callback(_start_intercom(folders.run / SOCKET_NAME, service, calls))
        path = folders.data / DATABASE_NAME
        daily = None if config.awake_at is None else (
            config.awake_at, lambda: tell_awake(path, service.present_text, config.post, clock))
        often = (EVERY_S, lambda: _now_and_then(path, config, clock, keeper, watch))
        open_things.callback(_start_nights(keeper, config.time_zone, daily, often, clock.utc() + _FIRST_LOOK))
        if config.file is not None and not isinstance(probe, StubbornProbe):
            keep_copy(config.file, folders.data)  # the probe answers: these settings work
        watch.adopt()  # a long firing takes its time to be judged again; no heart beats meanwhile
        beat.start()
        open_things.callback(beat.close)
        watchdog.notify(watchdog.READY)
        LOG.info("Watching %s with probe %s, data in %s.", config.kiln_name, probe.name, folders.data)
        service.run(lambda: stop() or desk.changed)
        watch.keep_checkpoint()
        if desk.changed and not stop():
            return True
        watchdog.notify(watchdog.STOPPING)
        LOG.info("Ended as asked; an open firing goes on at the next start.")
        return False


def _now_and_then(path: Path, config: Config, clock: Clock, keeper: maintenance.Housekeeping, watch: Watch) -> None:
    """Do what is looked at every few minutes, in a thread of its own."""
    tell_dry(path, config.post, clock)
    reckon_due(path)
    if learn_due(path, config.kiln_name, config.post.zone, clock.utc()):
        watch.kiln_was_learned()
    places = [place.spelt for place in config.copies]
    keeper.old_copy = tell_old_copy(path, places, config.post, clock)
    look_at_wear(path, config.kiln_name, config.post, clock,
                 ZoneInfo(config.time_zone) if config.time_zone else None, config.unit)


def _no_probe(probe: Thermocouple, post: Post) -> MissingPart:
    """Return what says that there is no probe, where one is still waited for."""
    waited_for = probe if isinstance(probe, StubbornProbe) else None
    return MissingPart(lambda: waited_for.trouble if waited_for else [],
                       partial(of_missing_probe, post=post), partial(of_probe_found, post))


def _no_sounder(bell: KilnAlarm, post: Post) -> MissingPart:
    """Return what says that the sounder does not work."""
    return MissingPart(lambda: bell.trouble, partial(of_missing_sounder, post=post), partial(of_sounder_back, post))


def _clock(config: Config, folders: Folders, speed: float) -> Clock:
    """Return the firing clock: the computer's own, or the bench's at ``speed``."""
    if config.probe.kind != "max31856":
        try:
            return open_bench_clock(folders.data / BENCH_CLOCK, speed)
        except OSError as err:
            raise BadInput(str(folders.data / BENCH_CLOCK), f"can't be written: {err.strerror}.",
                           "Give the data folder to the user Lehrling runs as.") from None
    if speed != 1.0:
        raise BadInput("--speed", f"{speed:g}: a real kiln can't be sped up.", "Leave it out, or use --bench.")
    return SystemClock()


def _journal(path: Path, utc: datetime) -> Journal:
    """Return a journal on the file, which is made and migrated now, or later where the disk has trouble.

    A damaged one is set aside first; the journal's ``damage`` says so.
    """
    def opener() -> sqlite_utils.Database:
        return create_database(path, busy_s=WRITE_WAIT_S)

    damage = replace_if_damaged(path, utc)
    journal = Journal(opener, lambda: open_unwritable(path), damage=damage)
    try:
        _copy_before_migrating(path, utc)
        create_database(path).close()
    except sqlite3.Error as err:
        LOG.error("The record %s can't be opened now: %s.", path, err)
    journal.open()
    return journal


def _copy_before_migrating(path: Path, utc: datetime) -> None:
    """Copy a record that an older program left, before its tables are changed; where it can't be, that is logged."""
    try:
        db = open_database(path)
    except NoDatabase:
        return
    try:
        is_older = is_begun(db) and not is_current(db)
    finally:
        db.close()
    if not is_older:
        return
    try:
        make_copy(path, utc)
    except (sqlite3.Error, OSError) as err:
        LOG.error("No copy of the record could be made before its tables are changed: %s.", err)


def _make(folder: Path) -> None:
    """Make a folder, or raise BadInput; one on a disk that takes no writing now is let pass."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not os.access(folder, os.W_OK | os.X_OK) and not _read_only(folder):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    except OSError as err:
        if err.errno in _LATER and folder.is_dir():
            LOG.error("%s can't be written now: %s.", folder, err.strerror)
            return
        raise BadInput(str(folder), f"this folder can't be used: {err.strerror}.",
                       "Name one that the user Lehrling runs as may write to.") from None


def _read_only(folder: Path) -> bool:
    return bool(os.statvfs(folder).f_flag & os.ST_RDONLY)


def _start_intercom(path: Path, service: Service, calls: SimpleQueue[Call]) -> Callable[[], None]:
    """Open the socket and return the function that closes it; where it can't be opened the watch goes on."""
    try:
        return ControlSocket(path, lambda: service.present_text, calls).close
    except OSError as err:
        LOG.error("The socket %s can't be opened: %s.", path, err)
        return lambda: None


def _start_nights(keeper: maintenance.Housekeeping, time_zone: str | None,
                  daily: tuple[time, Callable[[], None]] | None,
                  often: tuple[float, Callable[[], object]], first_utc: datetime) -> Callable[[], None]:
    """Start the housekeeping and return the function that ends it; where it can't start the watch goes on."""
    try:
        scheduler = maintenance.start(keeper.night, time_zone, daily, often, first_utc)
    except Exception:
        LOG.exception("Housekeeping can't be started.")
        return lambda: None
    return lambda: scheduler.shutdown(wait=False)
