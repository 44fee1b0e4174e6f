"""When a checkpoint of the open firing is written: after a restart, now and then, and when the daemon ends."""

from __future__ import annotations

import logging
from math import inf
from pathlib import Path

from daemon.clock import Clock
from daemon.lifecycle import checkpoint
from daemon.lifecycle.open_firing import LiveFiring
from daemon.store.write_queue import Journal

LOG = logging.getLogger(__name__)
EVERY_S = 600.0
"""Time between two checkpoints [s of the wall]. [chosen: a restart judges at most so many seconds again, and a day of
firing writes 20 MB to the card]"""


class CheckpointTimes:
    """Writes the checkpoint when it is due.

    Parameters
    ----------
    path
        The file; None where none is wanted.
    journal
        Holds what waits to be stored; a checkpoint is written only after all of it is.
    clock
        The firing clock.
    """

    def __init__(self, path: Path | None, journal: Journal, clock: Clock) -> None:
        self.path = path
        self._journal = journal
        self._every_s = EVERY_S * clock.speed
        self._written_s = clock.now_s()

    def after_restart(self) -> None:
        """Let the next reading write one: a daemon that is soon killed again need not judge the same again."""
        self._written_s = -inf

    def see(self, live: LiveFiring | None, clock_s: float) -> None:
        """Write one if the last is long enough ago."""
        if clock_s - self._written_s >= self._every_s:
            self._written_s = clock_s
            self.write(live)

    def write(self, live: LiveFiring | None) -> None:
        """Write one of the open firing, if there is one; where that fails a restart only takes longer."""
        if self.path is None or live is None or not self._journal.flush():
            return
        state = live.judge.state
        if state is None or not live.row.firing_id:
            return
        try:
            checkpoint.write(self.path, live.of, live.taken, state)
        except OSError as err:
            LOG.warning("No checkpoint could be written to %s: %s.", self.path, err.strerror)
