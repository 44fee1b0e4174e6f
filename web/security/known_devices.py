"""Browsers that were let in before: their tries are counted apart, so that strangers who guess keep nobody out."""

from __future__ import annotations

import json
import logging
import secrets
import threading
from hashlib import sha256
from pathlib import Path

from daemon.errors import BadInput
from web.security import passcode

LOG = logging.getLogger("lehrling.web")

FILE_NAME = "page-devices"
COOKIE = "lehrling-device"
KEPT_S = 400 * 86_400
"""How long a browser keeps its mark [s]. [source: RFC 6265bis draft, section 5.5, the longest that browsers take, 400
days]"""
MOST = 50
"""Browsers that are remembered; the one let in longest ago gives way. [chosen: more than a household has]"""


class KnownDevices:
    """The marks of browsers that once entered the passcode that holds today; only their hashes are kept.

    A mark lets nobody in. It only gives its browser tries of its own.

    Parameters
    ----------
    path
        The file, readable by the service only.
    passcode_path
        The passcode's file; a new passcode forgets every browser.
    """

    def __init__(self, path: Path, passcode_path: Path) -> None:
        self._path = path
        self._passcode_path = passcode_path
        self._lock = threading.Lock()
        self._kept = _read(path)

    def remember(self) -> str:
        """Keep a new mark and return it."""
        mark = secrets.token_urlsafe(24)
        with self._lock:
            self._kept = [*self._kept[-MOST + 1:], self._line(mark)]
            try:
                passcode.write_private(self._path, json.dumps(self._kept) + "\n")
            except BadInput as error:
                LOG.warning("known browsers are kept in memory only: %s", error.problem)
        return mark

    def knows(self, mark: str) -> bool:
        """Return whether a browser with this mark entered the passcode that holds today."""
        with self._lock:
            return bool(mark) and self._line(mark) in self._kept

    def _line(self, mark: str) -> str:
        """Return what is kept of a mark: bound to the passcode it was given for."""
        return sha256(f"{passcode.fingerprint(self._passcode_path)} {mark}".encode()).hexdigest()


def _read(path: Path) -> list[str]:
    """Return the kept hashes; none where the file can't be read."""
    try:
        rows = json.loads(path.read_text(encoding="ascii"))
        return [str(row) for row in rows][-MOST:]
    except (OSError, ValueError, TypeError):
        return []
