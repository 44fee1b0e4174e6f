"""A demonstration as it runs: the processes of a real house around a kiln on the bench, watched to its end."""

from __future__ import annotations

import json
import signal
from collections.abc import Callable
from types import FrameType
from typing import Any

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.firing.events import Rank
from daemon.service.state_reader import FILE_NAME as STATE_FILE
from simulations.studio.demo_folder import Stage
from simulations.studio.processes import Household
from simulations.studio.status import Status

_OPEN_S = 60.0
"""How long the daemon may take to open the firing [wall s]."""
_LOOK_S = 0.5
_LATER_S = 6 * 3600.0
"""A firing that is not over this long after it should be is ended by hand [s of firing]."""


class Demonstration:
    """Daemon, page and, where wished, delivery, with one firing.

    Parameters
    ----------
    stage
        The folder, made ready.
    house
        Where the processes live.
    status
        Where to say what happens.
    clock
        The machine's own.
    """

    def __init__(self, stage: Stage, house: Household, status: Status, clock: Clock) -> None:
        self._stage = stage
        self._house = house
        self._status = status
        self._clock = clock
        self.firing_id: int | None = None

    def start(self, port: int, speed: float) -> None:
        """Start the processes."""
        wish = self._stage.wish
        places = ["--data", str(wish.folder), "--run", str(wish.run_dir)]
        self._house.start("daemon", ["daemon", *places, "--speed", f"{speed:g}"])
        self._house.start("web", ["web", *places, "--port", str(port), "--open"])
        if wish.url_file is not None:
            self._house.start("deliver", ["deliver", *places])

    def open(self) -> None:
        """Wait until the daemon has opened the firing.

        Raises
        ------
        BadInput
            Where it refused, died, or takes too long.
        """
        until_s = self._clock.now_s() + _OPEN_S
        while self._clock.now_s() < until_s:
            outcome, firing = self._stage.outcome()
            if outcome == "done" and firing is not None:
                self.firing_id = firing.firing_id
                return
            if outcome is not None and outcome != "done":
                raise BadInput("lehrling demo", f"the daemon did not open the firing: {outcome}.")
            self._wait()
        raise BadInput(
            str(self._house.log("daemon")), f"the daemon opened no firing within {_OPEN_S:.0f} s.",
            "Its log may say why.",
        )

    def follow(self, total_s: float) -> None:
        """Show the firing until it has ended; one that outlasts ``total_s`` [s] by far is ended by hand."""
        asked = False
        while not self._stage.has_ended(self.firing_id):
            present = self._present()
            if present is not None and present["firing_id"] == self.firing_id:
                self._status.show(present, self._clock.now_s())
                if not asked and (present["t_s"] or 0) > total_s + _LATER_S:
                    self._stage.ask_end(self.firing_id, self._clock.utc())
                    asked = True
            self._wait()

    def stay(self) -> None:
        """Keep the page up until somebody ends it."""
        while True:
            self._wait()

    def woke(self) -> bool:
        """Return whether the firing raised a wake alert."""
        return any(alert.rank is Rank.WAKE for alert in self._stage.alerts(self.firing_id))

    def _present(self) -> dict[str, Any] | None:
        try:
            found = json.loads((self._stage.wish.run_dir / STATE_FILE).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return None
        return found if isinstance(found, dict) else None

    def _wait(self) -> None:
        lost = self._house.lost()
        if lost is not None:
            raise BadInput(
                str(self._house.log(lost)), f"lehrling {lost} has ended by itself:\n{self._house.last_words(lost)}",
            )
        self._clock.sleep_until(self._clock.now_s() + _LOOK_S)


def ended_like_ctrl_c() -> Callable[[], None]:
    """Make a request to terminate end the demonstration as Ctrl-C does; return what undoes it."""
    def end(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, end)
    return lambda: (signal.signal(signal.SIGTERM, before), None)[1]
