"""Wrong passcodes, told to the owner: how many, from where and when, until he says that he has seen it."""

from __future__ import annotations

import json
import logging
import threading
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path

from daemon.errors import BadInput
from web.security import passcode

LOG = logging.getLogger("lehrling.web")

FILE_NAME = "page-wrong-tries"
A_SLIP = 3
"""So many wrong tries before the right one are a slip of the hand, and are not told. [chosen: what a tired hand
needs]"""
MOST = 20
"""Addresses that are kept; the one that tried longest ago gives way. [chosen: a table one can read]"""


@dataclass(frozen=True, slots=True)
class Tries:
    """The wrong tries from one address."""

    address: str
    count: int
    first_utc: datetime
    last_utc: datetime
    then_entered: bool = False
    """Whether the right passcode came from there afterwards."""


class WrongTries:
    """The tries in a file beside the passcode; in memory only while it can't be written.

    Parameters
    ----------
    path
        The file, readable by the service only.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lock = threading.Lock()
        self._kept = {one.address: one for one in _read(path)}

    def count(self, address: str, now_utc: datetime) -> None:
        """Note a wrong try."""
        with self._lock:
            known = self._kept.pop(address, Tries(address, 0, now_utc, now_utc))
            while len(self._kept) >= MOST:
                self._kept.pop(next(iter(self._kept)))
            self._kept[address] = replace(known, count=known.count + 1, last_utc=now_utc, then_entered=False)
            self._write()

    def entered(self, address: str) -> None:
        """Note that the right passcode came from an address; a slip of the hand before it is forgotten."""
        with self._lock:
            known = self._kept.get(address)
            if known is None:
                return
            if known.count <= A_SLIP:
                del self._kept[address]
            else:
                self._kept[address] = replace(known, then_entered=True)
            self._write()

    def seen(self) -> None:
        """Forget all; the owner has seen them."""
        with self._lock:
            self._kept = {}
            self._write()

    def all(self) -> list[Tries]:
        """Return the addresses that tried, the latest first."""
        with self._lock:
            return list(reversed(self._kept.values()))

    def _write(self) -> None:
        rows = [{**asdict(one), "first_utc": one.first_utc.isoformat(), "last_utc": one.last_utc.isoformat()}
                for one in self._kept.values()]
        try:
            passcode.write_private(self._path, json.dumps(rows) + "\n")
        except BadInput as error:
            LOG.warning("wrong tries are kept in memory only: %s", error.problem)


def _read(path: Path) -> list[Tries]:
    """Return the tries in a file; none where it can't be read."""
    try:
        rows = json.loads(path.read_text(encoding="ascii"))
        return [Tries(str(row["address"]), int(row["count"]), datetime.fromisoformat(row["first_utc"]),
                      datetime.fromisoformat(row["last_utc"]), bool(row["then_entered"])) for row in rows][-MOST:]
    except (OSError, ValueError, KeyError, TypeError):
        return []
