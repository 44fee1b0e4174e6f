"""What is stated of a reading: how far it may be off as new, and what a comparison near it has found; in words.

The one owner of these words: the kiln's page, a firing's page, the doctor and ``lehrling sensor`` say the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo
from math import sqrt

from daemon.firing.plan.plan import rate_to_unit, to_unit
from daemon.firing.units import Units
from daemon.sensor.reference import Method
from daemon.store.wear.calibrations import Calibration
from hw.accuracy import COVERAGE, REORDERING, Accuracy, ToleranceClass, accuracy, uniform_k

NEAR_K = 50.0
"""A comparison tells of readings so near to it [K]. [chosen: a thermocouple's error changes there by a tenth of its
tolerance]"""
SAME_K = 15.0
"""Of comparisons that differ by less in their distance to a reading the latest counts [K]. [chosen: two anneal holds
of one glass, or boiling water in two places]"""
SLOPE = 0.0075
"""Its error may change by this share of the distance to the comparison. [source: IEC 60584-1, class 2]"""
_TIMES = uniform_k(COVERAGE)
"""What is stated of several limits together is so many times the root of the sum of their squares. [derived: COVERAGE
standard uncertainties, each a limit over √3]"""
ASSUMED_CLASS: ToleranceClass = 2
"""The class that is taken where none is set. [chosen: the wider one]"""
WORTH_C = (516.0, 800.0)
"""Where the accuracy is stated besides: an anneal hold and a full fuse [°C]. [common practice]"""
NAMES = {Method.ICE: "ice slush", Method.BOILING: "boiling water", Method.HOLD: "another instrument in a hold"}

TOO_VAGUE = "this comparison is too vague to tell."
"""Said of one that is known far less surely than sound parts are right."""


@dataclass(frozen=True, slots=True)
class Known:
    """What a comparison says about a reading near it: how much too high it is, and how surely that is known [K]."""

    off_k: float
    plus_minus_k: float
    calibration: Calibration


@dataclass(frozen=True, slots=True)
class Thermocouple:
    """The thermocouple that a reading is of: type, class (None where it is not set), comparisons in use."""

    kind: str
    tolerance_class: int | None = None
    calibrations: Sequence[Calibration] = ()

    @property
    def taken_class(self) -> ToleranceClass:
        """Return the class that is reckoned with."""
        return 1 if self.tolerance_class == 1 else ASSUMED_CLASS

    def accuracy(self, temp_c: float, cold_c: float | None = None) -> Accuracy | None:
        """Return what is stated of a reading [°C] as new; ``cold_c`` is the converter's temperature, if known."""
        return accuracy(self.kind, self.taken_class, temp_c, cold_c)

    def known(self, temp_c: float) -> Known | None:
        """Return what the nearest comparison says of a reading [°C], the latest of like ones; None for none near.

        The latest, and not the surest: what a comparison found holds for its day. In use a wire of type K may come to
        read by REORDERING of the temperature more, 9 K at 516 °C, which is as much as most comparisons in a hold are
        unsure by. How much of it has come since an earlier day nobody can say, and so not how sure that one is of
        today. The latest is told with its own uncertainty and its day. One that is too vague can be taken out of use,
        and then the one before it counts.
        """
        near = [one for one in reversed(self.calibrations) if abs(one.reading_c - temp_c) <= NEAR_K]
        if not near:
            return None
        found = min(near, key=lambda one: abs(one.reading_c - temp_c) // SAME_K)
        away_k = COVERAGE * uniform_k(SLOPE * abs(found.reading_c - temp_c))
        return Known(found.off_k, sqrt(found.plus_minus_k ** 2 + away_k ** 2), found)


def short(stated: Accuracy, unit: str) -> str:
    """Return how far off a reading may be, to the degree: ``± 6 °C``."""
    return f"± {rate_to_unit(stated.plus_minus_k, unit):.0f} °{unit}"


def limits(stated: Accuracy, unit: str) -> str:
    """Return how far off a reading may be, by what, and how that is combined: ``± 5.5 °C (thermocouple 3.9, …)``."""
    total, wire, converter, end = (f"{rate_to_unit(part, unit):.1f}" for part in (
        stated.plus_minus_k, stated.thermocouple_k, stated.converter_k, stated.cold_end_k))
    return (f"± {total} °{unit} (thermocouple {wire}, converter {converter}, cold end {end} at most; together "
            f"{_TIMES:.2f} times the root of the sum of their squares)")


def class_words(found: Thermocouple) -> str:
    """Return type and class: ``type K, class 2``; it is said where the class was only assumed."""
    if found.tolerance_class is None:
        return f"type {found.kind}, taken as class {ASSUMED_CLASS}"
    return f"type {found.kind}, class {found.taken_class}"


def off_words(off_k: float, plus_minus_k: float, unit: str) -> str:
    """Return a difference in words: ``1.8 °C too high, ± 3.1 °C``."""
    off, sure = rate_to_unit(off_k, unit), f"± {rate_to_unit(plus_minus_k, unit):.1f} °{unit}"
    if abs(off) < 0.05:
        return f"right, {sure}"
    return f"{abs(off):.1f} °{unit} too {'high' if off > 0 else 'low'}, {sure}"


def known_words(known: Known, unit: str, day: str) -> str:
    """Return what a comparison says of a reading, as a sentence.

    Parameters
    ----------
    known
        What it says.
    unit
        ``C`` or ``F``.
    day
        Its date in words.
    """
    method = NAMES[Method(known.calibration.method)]
    return f"By {method} on {day} it reads {off_words(known.off_k, known.plus_minus_k, unit)}."


def when_hot(found: Thermocouple, unit: str) -> str:
    """Return what is stated in an anneal hold and in a full fuse, the box warm too; empty where nothing is."""
    said = [f"{short(there, unit)} at {Units(unit).temp(temp_c)}" for temp_c in WORTH_C
            if (there := found.accuracy(temp_c)) is not None]
    return f"As new, with the box warm: {', '.join(said)}." if said else ""


def ageing(kind: str, unit: str) -> str:
    """Return what comes on top with use, as a sentence."""
    if kind != "K":
        return "Ageing comes on top."
    more_k = REORDERING * WORTH_C[0]
    return (f"Ageing comes on top: a used type K may read up to {rate_to_unit(more_k, unit):.0f} °{unit} more at "
            f"{Units(unit).temp(WORTH_C[0])}.")


def proof(method: Method, found: Thermocouple, unit: str) -> str:
    """Return what a comparison proves, and what it does not, in sentences."""
    if method is Method.HOLD:
        return ("This tells of this temperature, of this place in the kiln and of today. The other instrument has "
                "errors of its own. Repeat it every three months, and with a new thermocouple in place once a year "
                "(common practice).")
    wires = [found.accuracy(temp_c) for temp_c in WORTH_C]
    may = " and ".join(f"± {rate_to_unit(one.thermocouple_k, unit):.1f} °{unit} at {Units(unit).temp(one.temp_c)}"
                       for one in wires if one is not None)
    return ("Comparisons this cool show that wiring, type, converter and cold end are right. They do not prove "
            f"{Units(unit).temp(WORTH_C[0])} or {Units(unit).temp(WORTH_C[1])}: "
            + (f"a wire that is right here may still be off by {may}. " if may else "a wire may be off there. ")
            + "Drift shows only when hot. Compare a used thermocouple in a hold, or put in a new one.")


def table_row(found: Calibration, unit: str, zone: tzinfo | None) -> dict[str, str]:
    """Return a comparison as a row of a list, in words."""
    day = found.day(zone)
    name = NAMES[Method(found.method)]
    return {
        "number": str(found.calibration_id), "day": f"{day:%Y-%m-%d}",
        "method": f"{name}, {found.said}" if found.said else name,
        "should": f"{to_unit(found.reference_c, unit):.1f} °{unit}",
        "read": f"{to_unit(found.reading_c, unit):.1f} °{unit}",
        "off": off_words(found.off_k, found.plus_minus_k, unit),
    }
