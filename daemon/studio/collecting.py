"""The collecting itself: round after round, each box is asked what it has after the mark, and that is kept.

Where a box or the database is away, a later round goes on.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.studio.database import Unreachable, be_alone, connect, migrate
from daemon.studio.one_box import OneBox
from daemon.studio.settings import Studio

if TYPE_CHECKING:
    import psycopg

    Connection = psycopg.Connection[Any]

LOG = logging.getLogger("lehrling.studio")
AT_ONCE = 8
"""Boxes that are asked at the same time. [chosen: most of the time is spent waiting for them]"""


class Collector:
    """Collects from all boxes of a studio.

    Parameters
    ----------
    studio
        The settings.
    clock
        For stamps.
    """

    def __init__(self, studio: Studio, clock: Clock) -> None:
        self._studio = studio
        self._boxes = [OneBox(box, studio, clock) for box in studio.boxes]
        self._lock_holder: Connection | None = None
        self._said = ""

    def run(self, stopped: threading.Event) -> None:
        """Collect until told to stop.

        Raises
        ------
        BadInput
            Where the settings or the tables can't be used; a database that is away is waited for.
        """
        with ThreadPoolExecutor(AT_ONCE, thread_name_prefix="box") as pool:
            while not stopped.is_set():
                self.round(pool.map)
                stopped.wait(self._studio.every_s)

    def round(self, each: Callable[..., Any] = map) -> None:
        """Ask every box once."""
        from psycopg import OperationalError

        try:
            self._hold_lock()
        except (BadInput, OperationalError) as err:
            if isinstance(err, BadInput) and not _may_pass(err):
                raise
            self._say(err.text if isinstance(err, BadInput) else "the database went away.")
            self._lock_holder = None
            return
        if self._said:
            LOG.info("the database answers again; nothing is lost, since each box keeps its record")
        self._said = ""
        list(each(OneBox.ask, self._boxes))

    def close(self) -> None:
        """Let go of the database."""
        for box in self._boxes:
            box.let_go()
        if self._lock_holder is not None:
            self._lock_holder.close()

    def _hold_lock(self) -> None:
        """Hold the lock of the one that collects, in a connection that is asked each round whether it lives."""
        if self._lock_holder is not None:
            self._lock_holder.execute("SELECT 1")
            return
        fresh = connect(self._studio, autocommit=True)
        try:
            migrate(fresh, f"{self._studio.file}, database")
            be_alone(fresh, f"{self._studio.file}, database")
        except BaseException:
            fresh.close()
            raise
        self._lock_holder = fresh

    def _say(self, trouble: str) -> None:
        if trouble != self._said:
            LOG.error("%s It is tried again every %d s.", trouble, self._studio.every_s)
        self._said = trouble


def _may_pass(err: BadInput) -> bool:
    """Return whether waiting may help: the database is away or starts."""
    return isinstance(err, Unreachable) and "refuses" not in err.problem and "createdb" not in err.remedy
