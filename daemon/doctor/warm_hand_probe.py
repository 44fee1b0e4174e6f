"""Where the warm hand's readings come from, and when nobody is asked to hold the tip."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from daemon.clock import Clock
from daemon.doctor.live_probe import live_probe
from daemon.doctor.places import Places
from daemon.errors import BadInput
from daemon.service.state_reader import read_daemon_state
from daemon.settings.config import Config, read_config


@contextmanager
def reads(places: Places, clock: Clock) -> Iterator[Callable[[], float | None]]:
    """Give a function that returns the probe's temperature [°C], None where there is none.

    Raises
    ------
    BadInput
        Where a firing is open, or the probe can't be had.
    """
    state = read_daemon_state(places.run, clock.utc())
    if state is not None and not state.stale and state.number("t_s") is not None:
        raise BadInput("--warm-hand", "a firing is open: the kiln may be hot, or start to heat.",
                       "End the firing and let the kiln cool first.")
    config = read_config(places.settings) if places.settings.exists() else Config()
    with live_probe(places, config, clock) as look:
        yield lambda: look().temp_c
