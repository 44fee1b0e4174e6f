"""The probe and what is stated of its readings: by the running daemon, or by an own look where no daemon runs."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path

from daemon.clock import Clock
from daemon.doctor import probe, record
from daemon.doctor.computer import Computer
from daemon.doctor.finding import Finding, good, mend, note
from daemon.doctor.own_look import own_look
from daemon.doctor.places import Places
from daemon.doctor.probe import Look
from daemon.errors import BadInput
from daemon.firing.units import Units
from daemon.notify.trouble import Ailing
from daemon.sensor import stated
from daemon.sensor.comparison import is_within
from daemon.sensor.reference import Method
from daemon.sensor.stated import Thermocouple
from daemon.service.state_reader import DaemonState
from daemon.settings.config import Config
from daemon.store import kilns
from daemon.store.database import is_current, open_database
from daemon.store.wear import calibrations
from daemon.store.wear.calibrations import Calibration

OF_AN_AGE = timedelta(days=90)
"""Comparisons so near to each other are of about the same age. [chosen: a hold is repeated every three months]"""
SURER = 0.8
"""A comparison with so much less ± is clearly surer. [chosen: the noise makes one differ from the next by less]"""
_VAGUE = "With both tips within 50 mm of each other a hold tells more: lehrling sensor calibrate hold --beside."
_COMPARE = "Compare it with ice slush, the kiln cold: lehrling sensor calibrate ice (docs/commands.md)."


def probe_findings(places: Places, config: Config, clock: Clock, computer: Computer, state: DaemonState | None, *,
                   may_open: bool) -> list[Finding]:
    """Return how the probe is: as the daemon says, else by an own look; and what is stated of its readings.

    Parameters
    ----------
    places, config
        Where things are, and the settings that serve.
    clock
        Bounds an own look.
    computer
        Where the kernel tells of itself.
    state
        What the daemon says now; None where none runs.
    may_open
        Whether the probe may be opened where no daemon runs.
    """
    if state is not None:
        missing = no_probe(state)
        return missing or of_look(as_told(state, places.record), places, config, computer)
    if not may_open:
        return probe.findings(None, None, config.unit, "Not known while nobody watches.")
    if config.probe.kind != "max31856":
        return probe.findings(None, None, config.unit, "The kiln is simulated or recorded, and nobody watches it.")
    return looked_at(places, config, clock, computer)


def no_probe(state: DaemonState) -> list[Finding]:
    """Return why the daemon has no probe, as the one finding that there is then; empty where it has one."""
    why = " ".join(trouble.text for trouble in state.troubles if trouble.ailing is Ailing.PROBE)
    return [mend("probe", why, "It is tried again every ten seconds, without a restart.")] if why else []


def looked_at(places: Places, config: Config, clock: Clock, computer: Computer) -> list[Finding]:
    """Return how the probe is by an own look, and what is stated of its readings."""
    look = own_look(places.data, config, clock)
    return [look] if isinstance(look, Finding) else of_look(look, places, config, computer)


def of_look(look: Look, places: Places, config: Config, computer: Computer) -> list[Finding]:
    """Return what one look says of the probe, and what is stated of its readings."""
    found = probe.findings(look, computer.processor_c(), config.unit)
    if look.temp_c is None:
        return found
    return [*found, *stated_findings(look.temp_c, look.cold_end_c, thermocouple(places, config), config)]


def as_told(state: DaemonState, path: Path) -> Look:
    """Return what the daemon says as a look; the scatter is read off the open firing in the record at ``path``."""
    firing_id, t_s = state.number("firing_id"), state.number("t_s")
    recent = record.recent_readings(path, int(firing_id), t_s) if firing_id is not None and t_s is not None else []
    return Look(state.number("temp_c"), state.number("cold_junction_c"), state.text("fault") or None, recent)


def thermocouple(places: Places, config: Config) -> Thermocouple:
    """Return the thermocouple that is in now, with the comparisons in use; none where the record can't be read."""
    kept: Sequence[Calibration] = ()
    try:
        db = open_database(places.record, readonly=True)
        try:
            kiln_id = kilns.find(db, config.kiln_name) if is_current(db) else None
            if kiln_id is not None:
                kept = calibrations.of_present(db, kiln_id, config.zone)
        finally:
            db.close()
    except (sqlite3.Error, UnicodeDecodeError, BadInput):
        pass
    return Thermocouple(config.probe.thermocouple_type, config.probe.tolerance_class, kept)


def stated_findings(temp_c: float, cold_c: float | None, found: Thermocouple, config: Config) -> list[Finding]:
    """Return what is stated of the probe's reading [°C] and others, and what comparisons have found.

    Parameters
    ----------
    temp_c, cold_c
        The reading, and the converter's temperature; None where not known [°C].
    found, config
        The thermocouple, and the settings.
    """
    here = found.accuracy(temp_c, cold_c)
    words = stated.class_words(found)
    if here is None:
        first = note("accuracy", f"The standard states none for {words} at {Units(config.unit).temp(temp_c)}.")
    else:
        said = f"{stated.limits(here, config.unit)} with new, sound parts, {words}."
        first = good("accuracy", said) if found.tolerance_class else note(
            "accuracy", said, "If its paper says class 1: lehrling settings set probe.tolerance_class 1")
    hot = stated.when_hot(found, config.unit)
    when_hot = [note("accuracy when hot", f"{hot} {stated.ageing(found.kind, config.unit)}")] if hot else []
    return [first, *when_hot, *_compared(found, config)]


def _compared(found: Thermocouple, config: Config) -> list[Finding]:
    """Return what the latest comparison of each method found, and before it a surer one of comparable age."""
    latest = {one.method: one for one in found.calibrations}
    if not latest:
        return [note("comparison", "This thermocouple has not been compared with anything yet.", _COMPARE)]
    return [_of(told, found, config) for one in latest.values() for told in (*_surer(one, found), one)]


def _surer(latest: Calibration, found: Thermocouple) -> list[Calibration]:
    """Return the surest comparison by the same method of about the same age, where it is clearly surer."""
    of_age = [one for one in reversed(found.calibrations) if one.method == latest.method
              and latest.wall_utc - one.wall_utc <= OF_AN_AGE and one.plus_minus_k <= SURER * latest.plus_minus_k]
    return [min(of_age, key=lambda one: one.plus_minus_k)] if of_age else []


def _of(one: Calibration, found: Thermocouple, config: Config) -> Finding:
    """Return what one comparison found, and whether sound new parts can be so far off."""
    here = found.accuracy(one.reading_c, one.cold_junction_c)
    name = stated.NAMES[Method(one.method)]
    day = one.day(config.zone)
    said = f"By {name} on {day:%Y-%m-%d} it read {stated.off_words(one.off_k, one.plus_minus_k, config.unit)}."
    within = None if here is None else is_within(one.off_k, one.plus_minus_k, here)
    if here is not None and within is None:
        return note("comparison", f"{said} Sound parts may be off by {stated.short(here, config.unit)}: "
                    f"{stated.TOO_VAGUE}", _VAGUE if one.method == Method.HOLD else "")
    if here is not None and not within:
        return mend("comparison", f"{said} New sound parts are nearer: {stated.short(here, config.unit)}.",
                    f"Repeat it: lehrling sensor calibrate {one.method}. If it stays, look at the type that is set, "
                    "and at the plug and its screws, the kiln cold and isolated. Else put in a new thermocouple.")
    return good("comparison", said)
