"""Who was let in: one row a browser, so that each can be ended by itself, wherever it is.

How long a session has lasted is counted, not read off the wall clock, which a Raspberry Pi may lose in a power cut:
the seconds of the running computer, and the time it was off where the clock was set both before and after.
"""

from __future__ import annotations

import json
import logging
import secrets
import threading
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from daemon.clock import Clock
from daemon.errors import BadInput
from web.security import passcode

LOG = logging.getLogger("lehrling.web")

FILE_NAME = "page-sessions"
LASTS = timedelta(days=90)
"""A browser that entered stays entered so long. [chosen: a season; nobody types a passcode at night]"""
MOST = 50
"""Sessions that are kept; the one used longest ago gives way to a new one. [chosen: more than a household has
browsers]"""
_SEEN_EVERY = timedelta(minutes=10)
"""A visit is written down this seldom."""


@dataclass(frozen=True, slots=True)
class Session:
    """One browser that knows the passcode.

    Attributes
    ----------
    since_utc, seen_utc
        When it was let in and last seen, as the wall clock was then; shown, and decide nothing.
    lasted_s
        How long it had lasted when it was last seen [s].
    seen_s, boot_id
        When it was last seen, on the clock that never goes back, and in which run of that clock.
    seen_is_set
        Whether the wall clock was known to be set then.
    """

    key: str
    device: str
    address: str
    since_utc: datetime
    seen_utc: datetime
    lasted_s: float
    seen_s: float
    boot_id: str
    seen_is_set: bool


class Sessions:
    """The sessions in a file beside the passcode; in memory only while it can't be written.

    They stand in the order of their use, the one used last at the end.

    Parameters
    ----------
    path
        The file, readable by the service only.
    clock
        The firing clock, and the wall time with a word about whether it is set.
    """

    def __init__(self, path: Path, clock: Clock) -> None:
        self._path = path
        self._clock = clock
        self._lock = threading.Lock()
        self._kept = {found.key: found for found in _read(path)}

    def begin(self, device: str, address: str) -> str:
        """Keep a new session and return its key."""
        clock, key = self._clock, secrets.token_urlsafe(24)
        now_utc = clock.utc()
        with self._lock:
            while len(self._kept) >= MOST:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = Session(key, device, address, now_utc, now_utc, 0.0, clock.now_s(), clock.boot_id,
                                      clock.synchronised())
            self._write()
        return key

    def alive(self, key: object) -> bool:
        """Return whether a session holds; now and then its visit is written down."""
        with self._lock:
            found = self._kept.get(key) if isinstance(key, str) else None
            if found is None:
                return False
            lasted_s = found.lasted_s + self._since_seen_s(found)
            if lasted_s > LASTS.total_seconds():
                del self._kept[found.key]  # or a restart, which is not counted, would let it in again
                self._write()
                return False
            clock = self._clock
            if clock.boot_id != found.boot_id or clock.now_s() - found.seen_s > _SEEN_EVERY.total_seconds():
                del self._kept[found.key]  # and to the end
                self._kept[found.key] = replace(
                    found, seen_utc=clock.utc(), lasted_s=lasted_s, seen_s=clock.now_s(), boot_id=clock.boot_id,
                    seen_is_set=clock.synchronised())
                self._write()
            return True

    def _since_seen_s(self, found: Session) -> float:
        """Return how long ago a session was last seen [s].

        Over a restart of the computer only its running time is known, unless the wall clock was set at both ends.
        """
        clock = self._clock
        if clock.boot_id == found.boot_id:
            return max(clock.now_s() - found.seen_s, 0.0)
        off_s = 0.0
        if found.seen_is_set and clock.synchronised():
            off_s = (clock.utc() - found.seen_utc).total_seconds()
        return max(off_s, clock.now_s(), 0.0)

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
            return list(reversed(self._kept.values()))

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
        return [_session(row) for row in rows][:MOST]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return []


def _session(row: dict[str, Any]) -> Session:
    """Return one row of the file; of an older Lehrling's it is known when it was let in and last seen."""
    since_utc, seen_utc = datetime.fromisoformat(row["since_utc"]), datetime.fromisoformat(row["seen_utc"])
    return Session(
        str(row["key"]), str(row["device"]), str(row["address"]), since_utc, seen_utc,
        float(row.get("lasted_s", max((seen_utc - since_utc).total_seconds(), 0.0))), float(row.get("seen_s", 0.0)),
        str(row.get("boot_id", "")), bool(row.get("seen_is_set", True)))


_BROWSERS = (("Edg/", "Edge"), ("OPR/", "Opera"), ("Firefox", "Firefox"), ("Chrom", "Chromium or Chrome"),
             ("Safari", "Safari"))
_MACHINES = (("Android", "Android"), ("iPhone", "iPhone"), ("iPad", "iPad"), ("Windows", "Windows"),
             ("Mac OS", "Mac"), ("Linux", "Linux"))


def device_words(agent: str) -> str:
    """Return what a browser calls itself, in words: ``Firefox on Android``."""
    browser = next((name for mark, name in _BROWSERS if mark in agent), "A browser")
    machine = next((name for mark, name in _MACHINES if mark in agent), "")
    return f"{browser} on {machine}" if machine else browser
