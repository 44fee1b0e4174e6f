"""A demonstration as it runs: Lehrling's processes around a kiln on the bench, followed to the firing's end."""

from __future__ import annotations

import json
import signal
import socket
from collections.abc import Callable
from types import FrameType
from typing import Any

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.firing.events import Rank
from daemon.service.state_reader import FILE_NAME as STATE_FILE
from simulations.studio.demo_folder import DemoFolder
from simulations.studio.processes import Processes
from simulations.studio.status import Status

_OPEN_S = 60.0
"""How long the daemon may take to open the firing [wall s]. [chosen: it takes seconds, also on a slow computer]"""
_LOOK_S = 0.5
"""The state file is looked at this often [wall s]. [chosen: as often as an eye follows]"""
_LATER_S = 6 * 3600.0
"""A firing that is not over this long after it should be is ended by hand [s of firing].
[chosen: faults lengthen a firing, hardly by more]"""


class Demonstration:
    """Daemon, page and, where asked for, delivery, with one firing.

    Parameters
    ----------
    folder
        The folder, made ready.
    processes
        What starts the processes and ends them.
    status
        Where to say what happens.
    clock
        The machine's own.
    """

    def __init__(self, folder: DemoFolder, processes: Processes, status: Status, clock: Clock) -> None:
        self._folder = folder
        self._processes = processes
        self._status = status
        self._clock = clock
        self.firing_id: int | None = None

    def start(self, page: tuple[str, int] | None, speed: float) -> None:
        """Start the processes; ``page`` is where it listens, None where another page shows this demonstration."""
        options = self._folder.options
        folders = ["--data", str(options.folder), "--run", str(options.run_dir)]
        self._processes.start("daemon", ["daemon", *folders, "--speed", f"{speed:g}"])
        if page is None:
            return
        host, port = page
        self._processes.start("web", ["web", *folders, "--host", host, "--port", str(port), "--open"])
        if options.url_file is not None:
            self._processes.start("deliver", ["deliver", *folders])

    def open(self) -> None:
        """Wait until the daemon has opened the firing.

        Raises
        ------
        BadInput
            Where it refused, died, or takes too long.
        """
        until_s = self._clock.now_s() + _OPEN_S
        while self._clock.now_s() < until_s:
            outcome, firing = self._folder.outcome()
            if outcome == "done" and firing is not None:
                self.firing_id = firing.firing_id
                return
            if outcome is not None and outcome != "done":
                raise BadInput("lehrling demo", f"the daemon did not open the firing: {outcome}.")
            self._wait()
        raise BadInput(
            str(self._processes.log("daemon")), f"the daemon opened no firing within {_OPEN_S:.0f} s.",
            "Its log may say why.",
        )

    def wait_for_page(self, host: str, port: int) -> None:
        """Wait until the page answers at its address, so that whoever is told of it finds it.

        Raises
        ------
        BadInput
            Where a process died, or it takes too long.
        """
        here = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
        until_s = self._clock.now_s() + _OPEN_S
        while self._clock.now_s() < until_s:
            try:
                socket.create_connection((here, port), timeout=1.0).close()
            except OSError:
                self._wait()
            else:
                return
        raise BadInput(str(self._processes.log("web")), f"the page does not answer after {_OPEN_S:.0f} s.",
                       "Its log may say why.")

    def follow(self, total_s: float) -> None:
        """Show the firing until it has ended; one that outlasts ``total_s`` [s] by far is ended by hand."""
        asked = False
        while not self._folder.has_ended(self.firing_id):
            present = self._present()
            if present is not None and present["firing_id"] == self.firing_id:
                self._status.show(present, self._clock.now_s())
                if not asked and (present["t_s"] or 0) > total_s + _LATER_S:
                    self._folder.ask_end(self.firing_id, self._clock.utc())
                    asked = True
            self._wait()

    def stay(self) -> None:
        """Keep the page up until somebody ends it."""
        while True:
            self._wait()

    def woke(self) -> bool:
        """Return whether the firing raised a wake alert."""
        return any(alert.rank is Rank.WAKE for alert in self._folder.alerts(self.firing_id))

    def _present(self) -> dict[str, Any] | None:
        """Return the state file's content; None where it is missing or half written."""
        try:
            found = json.loads((self._folder.options.run_dir / STATE_FILE).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) else None

    def _wait(self) -> None:
        """Sleep until the next look; BadInput where a process has died meanwhile."""
        dead = self._processes.died()
        if dead is not None:
            log, last_lines = self._processes.log(dead), self._processes.last_lines(dead)
            raise BadInput(str(log), f"lehrling {dead} has ended by itself:\n{last_lines}")
        self._clock.sleep_until(self._clock.now_s() + _LOOK_S)


def ended_like_ctrl_c() -> Callable[[], None]:
    """Make a request to terminate end the demonstration as Ctrl-C does; return what undoes it."""
    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, end)
    return lambda: (signal.signal(signal.SIGTERM, before), None)[1]
