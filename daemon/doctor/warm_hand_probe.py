"""Where the warm hand's readings come from: the running daemon's state, else the probe itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from daemon.clock import Clock
from daemon.doctor.examine import Places
from daemon.doctor.own_look import held_probe
from daemon.errors import BadInput
from daemon.service.state_reader import read_daemon_state
from daemon.settings.config import Config, read_config
from hw.thermocouple import ProbeError


@contextmanager
def reads(places: Places, clock: Clock) -> Iterator[Callable[[], float | None]]:
    """Give a function that returns the probe's temperature [°C], None where there is none.

    Raises
    ------
    BadInput
        Where a firing is open, or the probe can't be had.
    """
    state = read_daemon_state(places.run, clock.utc())
    if state is not None and not state.stale:
        if state.number("t_s") is not None:
            raise BadInput("--warm-hand", "a firing is open: the kiln may be hot, or start to heat.",
                           "End the firing and let the kiln cool first.")
        yield lambda: _told(places, clock)
        return
    config = read_config(places.settings) if places.settings.exists() else Config()
    try:
        with held_probe(places.data, config, clock) as probe:
            yield lambda: probe.read().temp_c
    except ProbeError as err:
        raise BadInput("probe", err.problem, err.remedy) from None


def _told(places: Places, clock: Clock) -> float | None:
    """Return what the daemon says now; None once it is silent."""
    state = read_daemon_state(places.run, clock.utc())
    return None if state is None or state.stale else state.number("temp_c")
