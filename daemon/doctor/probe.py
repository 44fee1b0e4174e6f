"""The probe, by what the running daemon says of it, or by the doctor's own look where no daemon runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import sqrt
from statistics import median

from daemon.doctor.finding import Finding, good, mend, note
from daemon.firing.plan.plan import rate_to_unit, to_unit
from hw.thermocouple import Fault

COLD_END_C = (0.0, 50.0)
"""Where the chip's own reference should be beside a kiln [°C]. [common practice: a box off the hot wall]"""
ABOVE_PROCESSOR_K = 5.0
"""A cold end that is so much hotter than the Pi's processor is doubtful [K]. [chosen: the processor is the hottest
part of the box]"""
BELOW_PROCESSOR_K = 60.0
"""A cold end that is so much colder than the Pi's processor is doubtful [K]. [chosen: a busy processor in a closed
box is some 40 K above the room]"""
NOISE_K = 1.0
"""Scatter from which the wiring is worth a look [K]. [chosen: the watches bear about this much; the chip's own is
far below]"""
LEAST_READINGS = 6
"""Fewer readings tell nothing of the scatter. [chosen: four second differences]"""
REVERSED_K = 10.0
"""A tip so much colder than its cold end points to swapped wires [K]. [chosen: no idle kiln is so much colder than
the box beside it]"""

_ISOLATED = "First let the kiln cool, and unplug it or switch its isolator off."
_BY_HAND = "lehrling doctor --warm-hand"
_FAULTS = {
    Fault.SILENT.value: (
        "The converter does not answer, or has lost its settings.",
        "Is the SPI bus on? sudo raspi-config nonint do_spi 0, then restart. If it is, switch the Pi off and look at "
        "the six wires between Pi and converter (docs/install.md)."),
    Fault.OPEN.value: (
        "The circuit of the thermocouple is open.",
        f"Go by the kiln's own display. {_ISOLATED} Then look at plug, screws and wire. A thermocouple also breaks "
        "inside: try another one."),
    Fault.SHORT.value: (
        "There is a voltage at the converter that no thermocouple gives.",
        "Touch nothing: the sheath or a wire may lie on an element and carry mains voltage. Isolator off first. If "
        "you are unsure, call a licensed electrician. Then look where the thermocouple touches."),
    Fault.RANGE.value: (
        "The converter gives a temperature that cannot be.",
        "Is the type of the thermocouple set as its plug says? lehrling settings get probe.thermocouple_type. "
        f"{_ISOLATED} Then look for a loose screw."),
}


@dataclass(frozen=True)
class Look:
    """What is known of the probe just now.

    Attributes
    ----------
    temp_c, cold_end_c
        Its temperature and that of the converter's reference [°C]; None where not known.
    fault
        Why there is no temperature, in the words of the trace; None for none.
    recent_c
        Readings at equal intervals, oldest first, for the scatter [°C].
    """

    temp_c: float | None
    cold_end_c: float | None = None
    fault: str | None = None
    recent_c: Sequence[float] = field(default_factory=tuple)


def findings(look: Look | None, processor_c: float | None, unit: str, why_unknown: str = "") -> list[Finding]:
    """Return what is known of the probe.

    Parameters
    ----------
    look
        None where nobody could look.
    processor_c
        Temperature of the Pi's processor [°C]; None where not known.
    unit
        ``C`` or ``F``, for the words.
    why_unknown
        Why nobody could look, in a sentence.
    """
    if look is None:
        return [note("probe", why_unknown)]
    if look.fault is not None or look.temp_c is None:
        said, do = _FAULTS.get(look.fault or "", _FAULTS[Fault.SILENT.value])
        return [mend("probe", said, do), *_cold_end(look, processor_c, unit)]
    return [
        good("probe", f"It reads {_degrees(look.temp_c, unit)}. The converter answers and has its settings."),
        *_cold_end(look, processor_c, unit), _noise(look, unit), _polarity(look.temp_c, look.cold_end_c, unit)]


def _cold_end(look: Look, processor_c: float | None, unit: str) -> list[Finding]:
    """Return what the chip's own reference says, beside the processor's temperature."""
    cold_c = look.cold_end_c
    if cold_c is None:
        return []
    said = f"The converter is at {_degrees(cold_c, unit)}"
    if processor_c is not None:
        said += f", the Pi's processor at {_degrees(processor_c, unit)}"
    if cold_c > COLD_END_C[1]:
        return [mend("cold end", f"{said}: too warm.", "Move the box away from the kiln's hot side, or give it air. "
                     "300 mm from the hot outside is a usual rule.")]
    is_odd = cold_c < COLD_END_C[0] or (processor_c is not None and not (
        processor_c - BELOW_PROCESSOR_K <= cold_c <= processor_c + ABOVE_PROCESSOR_K))
    if is_odd:
        return [mend("cold end", f"{said}: these do not fit.", "Every reading is wrong by as much as this end is. "
                     "Is the converter warmed or cooled by something? Else exchange the converter.")]
    if processor_c is None:
        return [good("cold end", f"{said}. The kernel tells no temperature of its own to compare.")]
    return [good("cold end", f"{said}. That fits.")]


def scatter_k(readings_c: Sequence[float]) -> float | None:
    """Return the standard deviation of the noise of single readings [K], from the median of their second differences.

    A steady climb or fall has none. For white normal noise of deviation s a second difference has the deviation
    s·√6, and the median of its size is 0.6745 of that [derived]. None for fewer than LEAST_READINGS.
    """
    if len(readings_c) < LEAST_READINGS:
        return None
    second = [abs(a - 2 * b + c) for a, b, c in zip(readings_c, readings_c[1:], readings_c[2:], strict=False)]
    return median(second) / 0.6745 / sqrt(6)


def _noise(look: Look, unit: str) -> Finding:
    scatter = scatter_k(look.recent_c)
    if scatter is None:
        return note("noise", "Not known: it is reckoned from the readings of a firing, or with the daemon stopped.")
    shown = f"{rate_to_unit(scatter, unit):.2f} °{unit}"
    if scatter > NOISE_K:
        return mend("noise", f"Its readings scatter by {shown}.", "Lay the wire of the thermocouple away from mains "
                    "cables, earth a metal sheath as the local code asks, and set probe.mains_hz to 50 or 60 as your "
                    "mains is.")
    return good("noise", f"Its readings scatter by {shown}.")


def _polarity(temp_c: float, cold_c: float | None, unit: str) -> Finding:
    if cold_c is not None and temp_c < cold_c - REVERSED_K:
        return mend("polarity", f"The tip reads {_degrees(temp_c, unit)}, colder than the converter: its two wires "
                    "may be swapped.", f"{_ISOLATED} Swap the two wires at the converter, then: {_BY_HAND}")
    return note("polarity", "Nothing speaks against it.", f"A hand tells, with the kiln cold: {_BY_HAND}")


def _degrees(temp_c: float, unit: str) -> str:
    return f"{to_unit(temp_c, unit):.0f} °{unit}"
