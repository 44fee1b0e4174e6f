"""Requests on their way in, by the file and by the socket; each is taken once."""

from __future__ import annotations

import logging
import queue
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from daemon.service.control_socket import Call
from daemon.store import requests
from daemon.store.database import data_version
from daemon.store.write_queue import Journal, Op

LOG = logging.getLogger(__name__)
DONE = "done"
EXPIRED = "expired"


@dataclass(frozen=True)
class Asked:
    """One request, and where its outcome goes."""

    kind: str
    payload: Mapping[str, Any]
    expired: bool
    settle: Callable[[str, datetime], list[Op]]
    """Takes outcome and wall time; returns what has to be kept of it."""


class Inbox:
    """Looks for new requests; cheap enough for every tick."""

    def __init__(self, journal: Journal, calls: queue.SimpleQueue[Call] | None = None) -> None:
        self._journal = journal
        self._calls = calls
        self._seen: tuple[int, int] | None = None
        self._taken: set[int] = set()
        self._trouble = ""

    def fresh(self, utc: datetime) -> list[Asked]:
        """Return the requests that came since the last look, the file's first."""
        return self._by_file(utc) + self._by_socket()

    def _by_file(self, utc: datetime) -> list[Asked]:
        """Return the requests in the database that were not taken yet."""
        db = self._journal.database()
        if db is None:
            return []
        try:
            version = (self._journal.opened, data_version(db))
            if version == self._seen:
                return []
            found = [row for row in requests.pending(db) if row.request_id not in self._taken]
            self._seen = version
        except sqlite3.Error as err:
            if str(err) != self._trouble:
                LOG.error("Requests can't be read: %s.", err)
            self._trouble = str(err)
            return []
        self._trouble = ""
        self._taken.update(row.request_id for row in found)
        return [Asked(row.kind, row.payload, row.expires_utc < utc, _settler(row.request_id)) for row in found]

    def _by_socket(self) -> list[Asked]:
        """Return the requests that callers wait for."""
        found: list[Asked] = []
        while self._calls is not None and not self._calls.empty():
            call = self._calls.get_nowait()
            found.append(Asked(call.kind, call.payload, False, _caller(call)))
        return found


def _settler(request_id: int) -> Callable[[str, datetime], list[Op]]:
    """Return the function that stores the outcome of a stored request."""
    return lambda outcome, utc: [lambda db: requests.settle(db, request_id, outcome, utc)]


def _caller(call: Call) -> Callable[[str, datetime], list[Op]]:
    """Return the function that gives a caller the outcome."""
    def settle(outcome: str, utc: datetime) -> list[Op]:
        call.settle(outcome)
        return []
    return settle
