"""A look at the probe alone: what ``lehrling sensor check`` says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from daemon.clock import Clock
from daemon.doctor.computer import Computer
from daemon.doctor.examine import Result, watching
from daemon.doctor.finding import Finding, State, good
from daemon.doctor.live_probe import live_probe
from daemon.doctor.own_look import own_look
from daemon.doctor.places import Places, settings_in_use
from daemon.doctor.probe import LEAST_READINGS, Look
from daemon.doctor.probe_part import as_told, no_probe, of_look
from daemon.settings.config import Config
from hw.thermocouple import Fault

LONGEST_S = 45.0
"""So long the daemon's readings are listened to, for their scatter [s]. [chosen: LEAST_READINGS of five seconds, and
half as many more]"""
EVERY_S = 1.0
"""Time between two looks at what the daemon says [s]. [chosen: it says something new every five]"""


def check(places: Places, clock: Clock, computer: Computer,
          shown: Callable[[int, int], None] = lambda done, of: None) -> Result:
    """Look at the probe: presence, configuration, open, short, cold end, noise, polarity, stated accuracy.

    Parameters
    ----------
    places
        Where things are.
    clock
        Wall time and a clock for what is bounded.
    computer
        Where the kernel tells of itself.
    shown
        Is told how many readings there are, of how many.
    """
    config, settings = settings_in_use(places)
    findings = [settings] if settings.state is State.MEND else []
    state = watching(places, clock)
    if state is None:
        own = own_look(places.data, config, clock)
        return Result(clock.utc(), [*findings, *([own] if isinstance(own, Finding) else [
            *_set(config, own), *of_look(own, places, config, computer)])])
    missing = no_probe(state)
    if missing:
        return Result(clock.utc(), [*findings, *missing])
    look = as_told(state, places.record)
    if look.temp_c is not None and len(look.recent_c) < LEAST_READINGS:
        look = replace(look, recent_c=_listen(places, config, clock, shown))
    return Result(clock.utc(), [*findings, *_set(config, look), *of_look(look, places, config, computer)])


def _set(config: Config, look: Look) -> list[Finding]:
    """Return what the converter is set to, which is read back at every reading; nothing where it does not answer."""
    if look.fault == Fault.SILENT.value:
        return []
    if config.probe.kind != "max31856":
        return [good("set to", f"A kiln that is not there ({config.probe.kind}).")]
    hz, mean = (config.probe.settings.get(key, usual) for key, usual in (("mains_hz", 50), ("averaging", 4)))
    return [good("set to", f"Type {config.probe.thermocouple_type}, mains of {hz} Hz, {mean} samples averaged. This "
                 "is read back at every reading.")]


def _listen(places: Places, config: Config, clock: Clock, shown: Callable[[int, int], None]) -> list[float]:
    """Return some readings of the running daemon, oldest first [°C]; fewer where it gives none."""
    until_s = clock.now_s() + LONGEST_S
    found: list[float] = []
    last_s: float | None = None
    with live_probe(places, config, clock) as look:
        while len(found) < LEAST_READINGS and clock.now_s() < until_s:
            seen = look()
            if seen.temp_c is not None and (last_s is None or seen.t_s > last_s):
                found.append(seen.temp_c)
                last_s = seen.t_s
                shown(len(found), LEAST_READINGS)
            clock.sleep_until(clock.now_s() + EVERY_S)
    return found
