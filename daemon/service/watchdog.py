"""Signs of life of the three services to systemd, and an end by force where a tick of the daemon hangs.

Each service says ALIVE only where its own work goes on: the daemon after a reading that was judged and kept, delivery
after a round, the page after it answered itself. Where that stays away for the unit's WatchdogSec, systemd ends the
process and starts it again.
"""

from __future__ import annotations

import logging
import os
import socket
import threading
from collections.abc import Callable

LOG = logging.getLogger(__name__)
READY, ALIVE, STOPPING = "READY=1", "WATCHDOG=1", "STOPPING=1"
"""What a service tells systemd: it is up; its work goes on; it ends as asked. [source: sd_notify(3)]"""
STUCK_S = 30.0
"""A tick that takes longer than this hangs in a bus or a disk; systemd starts the daemon again [s]. [chosen: a
sound tick takes well under a second]"""
STUCK_EXIT = 70
"""Exit status after a tick that hung: an internal error. [from: os.EX_SOFTWARE]"""
_LOOK_S = 5.0
"""Time between two looks whether a tick hangs [s]. [chosen: short against STUCK_S]"""


def notify(message: str, address: str | None = None) -> None:
    """Tell systemd ``message`` (sd_notify(3)); without a listener nothing happens."""
    address = address or os.environ.get("NOTIFY_SOCKET")
    if not address:
        return
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as line:
            line.settimeout(1.0)
            line.sendto(message.encode(), "\0" + address[1:] if address.startswith("@") else address)
    except OSError as err:
        LOG.warning("systemd can't be told %s: %s.", message, err)


def watchdog_s() -> float | None:
    """Return after how long a silence systemd ends this process [s] (sd_watchdog_enabled(3)); None for never."""
    try:
        silence_s = int(os.environ["WATCHDOG_USEC"]) / 1e6
        meant_for = int(os.environ.get("WATCHDOG_PID", os.getpid()))
    except (KeyError, ValueError):
        return None
    return silence_s if silence_s > 0 and meant_for == os.getpid() else None


def childs_environment() -> dict[str, str]:
    """Return this process's environment for a child that must not speak to systemd in its parent's name."""
    return {name: text for name, text in os.environ.items()
            if name not in ("NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID")}


class Heartbeat:
    """Counts ticks in a thread of its own and ends the process when none comes for STUCK_S of wall time.

    It counts looks and asks no clock: a machine that slept has lost no looks.

    Parameters
    ----------
    stop
        Ends the process; os._exit but in tests, since a hung thread can't be ended otherwise.
    """

    def __init__(self, stop: Callable[[int], None] = os._exit) -> None:
        self._stop = stop
        self._beats = 0
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._look, name="heartbeat", daemon=True)

    def start(self) -> None:
        """Begin to look."""
        self._thread.start()

    def beat(self) -> None:
        """Say that a tick has come to its end."""
        self._beats += 1

    def close(self) -> None:
        """Stop looking."""
        self._end.set()
        if self._thread.is_alive():
            self._thread.join()

    def _look(self) -> None:
        """End the process where no beat came for STUCK_S, so that systemd starts it again."""
        seen, missed = self._beats, 0
        while not self._end.wait(_LOOK_S):
            missed = missed + 1 if self._beats == seen else 0
            seen = self._beats
            if missed * _LOOK_S >= STUCK_S:
                LOG.critical("No reading was judged for %.0f s; ending, to be started again.", STUCK_S)
                self._stop(STUCK_EXIT)
                return
