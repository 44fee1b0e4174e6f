"""What is done at night, beside the watch and in a thread of its own: copies of the record, and its check."""

from __future__ import annotations

import logging
import os
import shutil
import sqlite3
from collections.abc import Callable
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

from daemon.errors import BadInput
from daemon.service.free_memory import give_back
from daemon.store import bin, readings
from daemon.store import photographs as pictures
from daemon.store.chain import links
from daemon.store.database import open_database, transaction
from daemon.store.finding import search
from daemon.store.own_facts import put_setting, setting
from daemon.store.safety.copies import FOLDER, make_copy
from daemon.store.stamps import moment, stamp

LOG = logging.getLogger(__name__)
CHECK_EVERY = timedelta(days=7)
CHECKED = "integrity_checked_utc"
NIGHT = {"hour": 4, "minute": 20}
THINNED_A_NIGHT = 200
"""Older firings whose trace is thinned in one night, and as many get their chain. [chosen: each takes some tenths of
a second of a Pi]"""


class Housekeeping:
    """The jobs; each can be called directly, and reports in ``trouble`` what failed until it went well again.

    Parameters
    ----------
    path
        The database; copies go into the folder ``backups`` beside it.
    utc
        Wall time.
    pause
        Called between two steps of a backup.
    clock_is_set
        Whether the wall time can be believed; without that nothing is old enough to be removed.
    """

    def __init__(self, path: Path, utc: Callable[[], datetime], pause: Callable[[], None] = lambda: None,
                 clock_is_set: Callable[[], bool] = lambda: True) -> None:
        self._path = path
        self._utc = utc
        self._pause = pause
        self._clock_is_set = clock_is_set
        self._troubles: dict[str, str] = {}
        self.old_copy = ""
        """A sentence while the newest copy elsewhere is too old."""

    @property
    def trouble(self) -> list[str]:
        """Return sentences for the maker."""
        return list(self._troubles.values())

    def night(self) -> None:
        """Do all that is due; never raises."""
        jobs: tuple[tuple[str, Callable[[], object]], ...] = (
            ("backup of the record", self.backup), ("backup of the photographs", self.photographs),
            ("check of the record", self.check), ("emptying of the bin", self.empty_bin),
            ("thinning of older traces", self.thin), ("chaining of older firings", self.chain))
        for name, job in jobs:
            try:
                job()
                self._troubles.pop(name, None)
            except (sqlite3.Error, OSError, BadInput) as err:
                LOG.error("The %s failed: %s.", name, err)
                self._troubles[name] = f"The nightly {name} failed: {err}."
        give_back()

    def backup(self) -> Path:
        """Copy the record as it is now, the watch going on meanwhile; return the copy's path.

        Raises
        ------
        sqlite3.Error, OSError
            Where it can't be made; older copies stay.
        """
        return make_copy(self._path, self._utc(), self._pause)

    def photographs(self) -> int:
        """Copy the photographs that have no copy yet beside the copies of the record; return how many.

        A picture is never changed, so one copy of each stays good for every copy of the record. One that the
        maker took out of sight is kept as well, as the record keeps it.

        Raises
        ------
        OSError
            Where one can't be copied; those before it are.
        """
        there, copies = self._path.parent / pictures.FOLDER, self._path.parent / FOLDER / pictures.FOLDER
        if not there.is_dir():
            return 0
        copies.mkdir(parents=True, exist_ok=True)
        unfinished = copies / "unfinished.part"
        new = [picture for picture in sorted(there.iterdir())
               if picture.is_file() and picture.suffix == ".jpg" and not (copies / picture.name).exists()]
        for picture in new:
            shutil.copyfile(picture, unfinished)
            with unfinished.open("rb") as copy:
                os.fsync(copy.fileno())
            os.replace(unfinished, copies / picture.name)
            self._pause()
        return len(new)

    def empty_bin(self) -> int:
        """Remove the firings that have lain in the bin for a month; return how many.

        Raises
        ------
        sqlite3.Error, OSError
            Where one can't be removed; it stays in the bin, and can still be taken back unless readings are gone.
        """
        if not self._clock_is_set() or not self._path.is_file():
            return 0
        db = open_database(self._path)
        folders = [self._path.parent / pictures.FOLDER, self._path.parent / FOLDER / pictures.FOLDER]
        try:
            numbers = bin.due(db, self._utc())
            for number in numbers:
                bin.empty(db, number, self._utc(), folders, self._pause)
                LOG.info("Firing %d was deleted a month ago; it is removed now.", number)
        finally:
            db.close()
        return len(numbers)

    def thin(self) -> int:
        """Keep thinned traces of firings that ended before a version that does so by itself; return how many.

        Raises
        ------
        sqlite3.Error
            Where one can't be kept; those before it are.
        """
        if not self._path.is_file():
            return 0
        db = open_database(self._path)
        try:
            numbers = readings.not_thinned(db, THINNED_A_NIGHT)
            for number in numbers:
                with transaction(db):
                    readings.keep_thinned(db, number)
                self._pause()
        finally:
            db.close()
        return len(numbers)

    def chain(self) -> int:
        """Give firings that ended before a version that does so by itself their chain; return how many.

        Raises
        ------
        sqlite3.Error
            Where one can't be kept; those before it are.
        """
        if not self._clock_is_set() or not self._path.is_file():
            return 0
        db = open_database(self._path)
        try:
            numbers = links.not_chained(db, THINNED_A_NIGHT)
            for number in numbers:
                with transaction(db):
                    links.adopt(db, number, self._utc())
                self._pause()
        finally:
            db.close()
        return len(numbers)

    def check(self) -> bool:
        """Check the whole record once a week; return whether it was checked now.

        Where the index of words differs from what was written, it is made again.

        Raises
        ------
        sqlite3.DatabaseError
            Where it is damaged.
        """
        db = open_database(self._path)
        try:
            last = setting(db, CHECKED)
            if last is not None and timedelta() <= self._utc() - moment(last) < CHECK_EVERY:
                return False
            found = [row[0] for row in db.execute("PRAGMA integrity_check(10)")]
            found += [f"{row[0]} points nowhere" for row in db.execute("PRAGMA foreign_key_check")]
            if found != ["ok"]:
                raise sqlite3.DatabaseError(f"it is damaged: {'; '.join(found[:3])}")
            if not search.is_whole(db):
                LOG.warning("The index of words differs from what was written; it is made again.")
                search.rebuild(db)
            put_setting(db, CHECKED, stamp(self._utc()))
        finally:
            db.close()
        LOG.info("The record was checked: nothing is damaged.")
        return True


def start(night: Callable[[], None], time_zone: str | None,
          daily: tuple[time, Callable[[], None]] | None = None,
          often: tuple[float, Callable[[], object]] | None = None, first_utc: datetime | None = None) -> Any:
    """Run ``night`` every night, ``daily`` at its time and ``often`` every so many seconds, by wall time.

    ``often`` comes at ``first_utc`` first; after its own time where that is None.

    Return the scheduler, which has ``shutdown``.

    A night missed while the clock was stepped or the machine asleep is made up for once.
    """
    from apscheduler.schedulers.background import BackgroundScheduler

    scheduler = BackgroundScheduler(
        timezone=time_zone, job_defaults={"coalesce": True, "misfire_grace_time": None, "max_instances": 1})
    scheduler.add_job(night, "cron", **NIGHT, id="night")
    if daily is not None:
        at, job = daily
        scheduler.add_job(job, "cron", hour=at.hour, minute=at.minute, id="daily")
    if often is not None:
        every_s, look = often
        first = {} if first_utc is None else {"next_run_time": first_utc}
        scheduler.add_job(look, "interval", seconds=every_s, id="often", **first)
    scheduler.start()
    return scheduler
