"""The thermocouple of a kiln, and what is stated of its readings, for every page that shows one."""

from __future__ import annotations

from datetime import date

from daemon.notify.trouble import Ailing
from daemon.sensor import stated
from daemon.sensor.stated import Known, Thermocouple
from daemon.store import kilns
from daemon.store.firings import Firing
from daemon.store.wear import calibrations
from web import words
from web.request.context import daemon_state, database, settings
from web.times import full_date

_MEASURED_BY = ("max31856", "bench")
"""The probes whose converter's errors are known; of a recorded trace nothing is."""


def thermocouple_of(kiln: int, probe: kilns.Probe, day: date | None = None) -> Thermocouple | None:
    """Return the thermocouple that is in, or was on a day; None where nothing can be stated of its readings.

    Parameters
    ----------
    kiln
        The kiln.
    probe
        Which probe of it.
    day
        A day of the owner's calendar; None is now.
    """
    if probe.name not in _MEASURED_BY:
        return None
    db, when = database(), day or date.max
    found = calibrations.of_day(db, kiln, settings().zone, when)
    told = settings().config.probe.tolerance_class if calibrations.is_in_still(db, kiln, when) else next(
        (one.tolerance_class for one in reversed(found) if one.tolerance_class is not None), None)
    return Thermocouple(probe.thermocouple_type, told, found)


def why_missing() -> str:
    """Return why the running daemon has no probe, in its own words; empty where it has one or is not heard."""
    said = daemon_state()
    if said is None or said.stale:
        return ""
    found = " ".join(trouble.text for trouble in said.troubles if trouble.ailing is Ailing.PROBE)
    return words.bound(words.quoted(found))


def highest_words(firing: Firing, highest_c: float | None) -> str:
    """Return how far off a firing's highest reading [°C] may be: ``± 8 °C as new, with the box warm``.

    How warm the converter's box was is not kept, so it may be more than what is said of a present reading. Empty
    where nothing is stated.
    """
    probe = next((one for one in kilns.probes(database(), firing.kiln_id) if one.probe_id == firing.probe_id), None)
    if highest_c is None or probe is None:
        return ""
    found = thermocouple_of(firing.kiln_id, probe, firing.started_utc.astimezone(settings().zone).date())
    here = found.accuracy(highest_c) if found is not None else None
    if found is None or here is None:
        return ""
    known = found.known(highest_c)
    compared = f". {known_words(known)}" if known else ""
    return words.bound(f"{stated.short(here, settings().unit)} as new, with the box warm{compared}")


def known_words(known: Known) -> str:
    """Return what a comparison says of a reading near it, as a sentence."""
    there = known.calibration.day(settings().zone)
    return words.bound(stated.known_words(known, settings().unit, full_date(there.date())))
