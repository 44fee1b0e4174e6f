"""What the readings of this probe are worth: how far off they may be, and what it was compared with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from daemon.sensor import stated
from daemon.sensor.reference import Method
from daemon.store.kilns import Probe
from daemon.store.wear import calibrations
from daemon.store.wear.calibrations import Calibration
from web import words
from web.request.context import daemon_state, database, settings
from web.request.thermocouple import known_words, thermocouple_of
from web.times import full_date


class Worth(NamedTuple):
    """What is said of the probe's readings.

    Attributes
    ----------
    lines
        How far off they may be, in sentences.
    compared
        What the thermocouple that is in now was compared with, the latest first.
    earlier
        The same of earlier ones, and of what was taken out of use.
    """

    lines: Sequence[str]
    compared: Sequence[str]
    earlier: Sequence[str]


def worth_of(kiln: int, probe: Probe) -> Worth | None:
    """Return what is said of a probe's readings; None where nothing can be."""
    found = thermocouple_of(kiln, probe)
    if found is None:
        return None
    said = daemon_state()
    heard = said if said is not None and not said.stale else None
    temp_c = heard.number("temp_c") if heard is not None else None
    cold_c = heard.number("cold_junction_c") if heard is not None else None
    unit, lines = settings().unit, []
    here = found.accuracy(temp_c, cold_c) if temp_c is not None else None
    if temp_c is not None and here is not None:
        lines.append(f"This reading: {stated.limits(here, unit)} with new, sound parts, {stated.class_words(found)}.")
        known = found.known(temp_c)
        lines += [known_words(known)] if known is not None else []
    elif temp_c is not None:
        lines.append(f"The standard states no accuracy at this temperature for {stated.class_words(found)}.")
    hot = stated.when_hot(found, unit)
    lines += [f"{hot} {stated.ageing(found.kind, unit)}"] if hot else []
    used = {one.calibration_id for one in found.calibrations}
    rows = list(reversed(calibrations.of_kiln(database(), kiln)))
    return Worth([words.bound(line) for line in lines], [_row(one) for one in rows if one.calibration_id in used],
                 [_row(one) for one in rows if one.calibration_id not in used])


def _row(found: Calibration) -> str:
    """Return a comparison as a line of the list."""
    method = stated.NAMES[Method(found.method)] + (f" ({found.said})" if found.said else "")
    off = stated.off_words(found.off_k, found.plus_minus_k, settings().unit)
    state = "; out of use" if found.is_removed else ""
    return words.bound(f"{full_date(found.day(settings().zone).date())}, {method}: {off}{state}")
