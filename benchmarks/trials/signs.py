"""Systemd's end of a service's line, for trials that take the part of systemd."""

from __future__ import annotations

import socket
import threading
from pathlib import Path
from select import select
from time import perf_counter, sleep

from daemon.service.watchdog import ALIVE


class Signs:
    """Listens at ``path``, which one service is told of, and counts its signs of life."""

    def __init__(self, path: Path) -> None:
        self.path, self.count = path, 0
        self._line = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self._line.bind(str(path))
        self._counting = threading.Lock()
        threading.Thread(target=self._hear, daemon=True).start()

    def come(self, within_s: float) -> bool:
        """Return whether one comes within so many seconds; earlier ones do not count."""
        heard, ends = self.count, perf_counter() + within_s
        while self.count == heard and perf_counter() < ends:
            sleep(0.05)
        return self.count > heard

    @property
    def are_counted(self) -> bool:
        """Return whether none waits to be counted."""
        with self._counting:
            return not select([self._line], [], [], 0.0)[0]

    def close(self) -> None:
        """Listen no more."""
        self._line.close()

    def _hear(self) -> None:
        """Count; a socket that nobody reads would hold the service up.

        Taken and counted under one lock: between the two a sign would be neither waiting nor counted.
        """
        while True:
            try:
                select([self._line], [], [])
                with self._counting:
                    self.count += self._line.recv(64).decode() == ALIVE
            except (OSError, ValueError):
                return  # closed
