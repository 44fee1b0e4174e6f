"""Readings as they come: from the running daemon's state, which has the probe, else from the probe itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import NamedTuple

from daemon.clock import Clock
from daemon.doctor.own_look import held_probe
from daemon.doctor.places import Places
from daemon.errors import BadInput
from daemon.service.state_reader import read_daemon_state
from daemon.settings.config import Config
from hw.thermocouple import Fault, ProbeError


class Seen(NamedTuple):
    """One look: when [s of a clock that never goes back], reading and converter's temperature [°C], fault."""

    t_s: float
    temp_c: float | None
    cold_c: float | None = None
    fault: str | None = None


@contextmanager
def live_probe(places: Places, config: Config, clock: Clock) -> Iterator[Callable[[], Seen]]:
    """Give a function that looks at the probe. The daemon says something new every five seconds of its clock.

    Raises
    ------
    BadInput
        Where the probe can't be had.
    """
    state = read_daemon_state(places.run, clock.utc())
    if state is not None and not state.stale:
        yield lambda: _told(places, clock)
        return
    try:
        with held_probe(places.data, config, clock) as probe:

            def look() -> Seen:
                reading = probe.read()
                return Seen(clock.now_s(), reading.temp_c, reading.cold_junction_c,
                            reading.fault.value if reading.fault else None)

            yield look
    except ProbeError as err:
        raise BadInput("probe", err.problem, err.remedy) from None


def _told(places: Places, clock: Clock) -> Seen:
    """Return what the daemon says now; a daemon that is silent gives no temperature."""
    state = read_daemon_state(places.run, clock.utc())
    if state is None or state.stale:
        return Seen(clock.now_s(), None, None, Fault.SILENT.value)
    t_s = state.number("now_s")
    return Seen(clock.now_s() if t_s is None else t_s, state.number("temp_c"), state.number("cold_junction_c"),
                state.text("fault") or None)
