"""What is known of the kiln while its thermocouple is compared: too hot for a bath, or for how long it has held."""

from __future__ import annotations

from daemon.clock import Clock
from daemon.doctor.live_probe import Seen
from daemon.doctor.places import Places
from daemon.doctor.probe_part import no_probe
from daemon.errors import BadInput
from daemon.firing.units import Units
from daemon.sensor.comparison import HOT_C
from daemon.sensor.reference import Method, Reference
from daemon.service.state_reader import DaemonState, number, read_daemon_state


def refuse_now(places: Places, clock: Clock, method: Method) -> None:
    """Refuse a comparison without a probe, and a bath while a firing is open, before anybody prepares anything.

    Raises
    ------
    BadInput
        Where the running daemon has no probe, or a firing is open.
    """
    state = _heard(places, clock)
    for missing in [] if state is None else no_probe(state):
        raise BadInput("probe", missing.said, missing.do)
    if method is not Method.HOLD and state is not None and state.number("t_s") is not None:
        raise BadInput("not now", "a firing is open: the kiln may be hot, or start to heat.",
                       "Leave the thermocouple where it is. End the firing and let the kiln cool first.")


def refuse_hot(seen: Seen, reference: Reference, unit: str) -> None:
    """Refuse a bath while the thermocouple is in a hot kiln.

    Raises
    ------
    BadInput
        Where it reads what no bath is.
    """
    if reference.method is not Method.HOLD and seen.temp_c is not None and seen.temp_c >= HOT_C:
        raise BadInput("not now", f"it reads {Units(unit).temp(seen.temp_c)}: it seems to be in a hot kiln.",
                       "Leave it there until that is cold, and unplugged or its isolator off.")


def held_for_s(places: Places, clock: Clock) -> float | None:
    """Return for how long the open firing has been in its present hold [s]; None where the daemon knows of none."""
    state = _heard(places, clock)
    part = {} if state is None else state.table("part")
    t_s, start_s = None if state is None else state.number("t_s"), number(part, "start_s")
    if part.get("part") != "hold" or t_s is None or start_s is None or t_s < start_s:
        return None
    return t_s - start_s


def _heard(places: Places, clock: Clock) -> DaemonState | None:
    """Return what the running daemon says; None where none does."""
    state = read_daemon_state(places.run, clock.utc())
    return None if state is None or state.stale else state
