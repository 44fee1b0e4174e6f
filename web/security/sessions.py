"""Who was let in: one row a browser, so that each can be ended by itself, wherever it is."""

from __future__ import annotations

import json
import logging
import secrets
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from daemon.errors import BadInput
from web.security import passcode

LOG = logging.getLogger("lehrling.web")

FILE_NAME = "page-sessions"
LASTS = timedelta(days=90)
MOST = 50
"""Sessions that are kept; the one used longest ago gives way to a new one. [chosen: more than a household has
browsers]"""
_SEEN_EVERY = timedelta(minutes=10)
"""A visit is written down this seldom."""


@dataclass(frozen=True, slots=True)
class Session:
    """One browser that knows the passcode."""

    key: str
    device: str
    address: str
    since_utc: datetime
    seen_utc: datetime


class Sessions:
    """The sessions in a file beside the passcode; in memory only while it can't be written.

    Parameters
    ----------
    path
        The file, readable by the service only.
    utc
        Wall time.
    """

    def __init__(self, path: Path, utc: Callable[[], datetime]) -> None:
        self._path = path
        self._utc = utc
        self._lock = threading.Lock()
        self._kept = {found.key: found for found in _read(path)}

    def begin(self, device: str, address: str) -> str:
        """Keep a new session and return its key."""
        now = self._utc()
        key = secrets.token_urlsafe(24)
        with self._lock:
            while len(self._kept) >= MOST:
                self._kept.pop(min(self._kept.values(), key=lambda one: one.seen_utc).key)
            self._kept[key] = Session(key, device, address, now, now)
            self._write()
        return key

    def alive(self, key: object) -> bool:
        """Return whether a session holds; now and then its visit is written down."""
        with self._lock:
            found = self._kept.get(key) if isinstance(key, str) else None
            now = self._utc()
            if found is None or now - found.since_utc > LASTS:
                return False
            if abs(now - found.seen_utc) > _SEEN_EVERY:
                self._kept[found.key] = replace(found, seen_utc=now)
                self._write()
            return True

    def end(self, key: str) -> None:
        """End a session; one that is not there has ended already."""
        with self._lock:
            if self._kept.pop(key, None) is not None:
                self._write()

    def end_all_but(self, key: str) -> None:
        """End every session but one."""
        with self._lock:
            self._kept = {k: one for k, one in self._kept.items() if k == key}
            self._write()

    def all(self) -> list[Session]:
        """Return the sessions, the one used last first."""
        with self._lock:
            return sorted(self._kept.values(), key=lambda one: one.seen_utc, reverse=True)

    def _write(self) -> None:
        """Write every session into the file; where that fails they stay in memory."""
        rows = [{**asdict(one), "since_utc": one.since_utc.isoformat(), "seen_utc": one.seen_utc.isoformat()}
                for one in self._kept.values()]
        try:
            passcode.write_private(self._path, json.dumps(rows) + "\n")
        except BadInput as error:
            LOG.warning("sessions are kept in memory only: %s", error.problem)


def _read(path: Path) -> list[Session]:
    """Return the sessions in a file; none where it can't be read."""
    try:
        rows = json.loads(path.read_text(encoding="utf-8"))
        return [Session(str(row["key"]), str(row["device"]), str(row["address"]),
                        datetime.fromisoformat(row["since_utc"]), datetime.fromisoformat(row["seen_utc"]))
                for row in rows][:MOST]
    except (OSError, ValueError, KeyError, TypeError):
        return []


_BROWSERS = (("Edg/", "Edge"), ("OPR/", "Opera"), ("Firefox", "Firefox"), ("Chrom", "Chromium or Chrome"),
             ("Safari", "Safari"))
_MACHINES = (("Android", "Android"), ("iPhone", "iPhone"), ("iPad", "iPad"), ("Windows", "Windows"),
             ("Mac OS", "Mac"), ("Linux", "Linux"))


def device_words(agent: str) -> str:
    """Return what a browser calls itself, in words: ``Firefox on Android``."""
    browser = next((name for mark, name in _BROWSERS if mark in agent), "A browser")
    machine = next((name for mark, name in _MACHINES if mark in agent), "")
    return f"{browser} on {machine}" if machine else browser
