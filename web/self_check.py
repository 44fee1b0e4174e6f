"""Whether the page answers: it asks itself as a browser asks, and tells systemd of each answer."""

from __future__ import annotations

import http.client
import logging
import socket
import threading
from collections.abc import Callable

from daemon.service.watchdog import ALIVE, notify

LOG = logging.getLogger("lehrling.web")
ASKED = "/enter"
"""What is asked for: the way in, which anybody may fetch, and which needs no record and no daemon."""
ASKS_IN_TIME = 4
"""So often it is asked in the time after which systemd ends a silent page. [chosen: one slow answer ends no page;
sd_watchdog_enabled(3) wants two signs or more]"""
_EVERYWHERE = {"0.0.0.0": "127.0.0.1", "::": "::1"}
"""Where a page is asked that listens at all addresses."""


class SelfCheck:
    """Asks the page for an answer again and again, in a thread of its own.

    Any answer counts, also that something can't be shown now: a fresh process would show no more. None comes where
    the server no longer takes connections, or where all its threads hang.

    Parameters
    ----------
    listening
        The socket at which the page is served.
    silence_s
        After how long a silence systemd ends the page [s].
    now_s
        The clock's seconds.
    """

    def __init__(self, listening: socket.socket, silence_s: float, now_s: Callable[[], float]) -> None:
        self._now_s = now_s
        host, port = listening.getsockname()[:2]
        self._host, self._port = _EVERYWHERE.get(host, host), port
        self._every_s = silence_s / ASKS_IN_TIME
        self._silent = False
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, name="self check", daemon=True)

    def start(self) -> None:
        """Begin to ask."""
        self._thread.start()

    def close(self) -> None:
        """Ask no more; an answer that is waited for is not waited for to its end."""
        self._end.set()

    def ask(self) -> bool:
        """Return whether the page gives a whole answer in time."""
        line = http.client.HTTPConnection(self._host, self._port, timeout=self._every_s)
        try:
            line.request("GET", ASKED, headers={"Connection": "close"})
            line.getresponse().read()
        except (OSError, http.client.HTTPException):
            return False
        finally:
            line.close()
        return True

    def _run(self) -> None:
        """Ask, and tell systemd of each answer; that none comes is logged once."""
        while not self._end.is_set():
            asked_s = self._now_s()
            answered = self.ask()
            if answered:
                notify(ALIVE)
            elif not self._silent and not self._end.is_set():
                LOG.warning("the page did not answer itself within %.0f s", self._every_s)
            self._silent = not answered
            self._end.wait(max(0.0, asked_s + self._every_s - self._now_s()))  # a slow answer is asked for as often
