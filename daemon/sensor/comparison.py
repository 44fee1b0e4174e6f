"""One comparison of the thermocouple with a known temperature, and how surely its difference is known."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from daemon.sensor.reference import Method, Reference
from daemon.sensor.steady import Steady
from hw.accuracy import COVERAGE, Accuracy, uniform_k

CODE_K = 1 / 128
"""The converter steps by this [K]. [source: MAX31856 data sheet, linearised thermocouple temperature]"""

LIKE_K = 6.0
"""Readings this near to each other may be of the same thing [K]. [chosen: the converter and the room differ by some
kelvins]"""
VAGUE = 1.5
"""A comparison known to within more than so many times the tolerance tells nothing good. [chosen: tips side by side
are known to ± 5.2 °C at 516 °C, against a tolerance of 4.7; tips apart to ± 12.5]"""
HOT_C = 150.0
"""No bath is so hot, and a kiln is [°C]. [chosen: boiling water reads 135 °C
at most, with a type set wrong; docs/install.md]"""


@dataclass(frozen=True, slots=True)
class Comparison:
    """What a comparison came to.

    Attributes
    ----------
    reference
        What the thermocouple ought to have read.
    reading_c
        What it read, on the mean [°C].
    readings
        Of how many readings.
    reference_k, noise_k, steadiness_k, step_k
        Standard uncertainties of the difference [K]: of the reference; of the mean, by the scatter; of standing still
        no better than it did; of the converter's step.
    """

    reference: Reference
    reading_c: float
    readings: int
    reference_k: float
    noise_k: float
    steadiness_k: float
    step_k: float

    @property
    def off_k(self) -> float:
        """Return by how much it read too high; below 0 is too low [K]."""
        return self.reading_c - self.reference.temp_c

    @property
    def plus_minus_k(self) -> float:
        """Return the expanded uncertainty of the difference, k = 2 [K] (JCGM 100:2008, 5.1.2 and 6.2.1)."""
        return COVERAGE * sqrt(self.reference_k ** 2 + self.noise_k ** 2 + self.steadiness_k ** 2 + self.step_k ** 2)


def compare(reference: Reference, steady: Steady) -> Comparison:
    """Return what readings that stand still say about a thermocouple."""
    return Comparison(
        reference, steady.mean_c, steady.number, reference.standard_k, steady.scatter_k / sqrt(steady.number),
        uniform_k(abs(steady.moved_k)), uniform_k(CODE_K / 2))


def is_within(off_k: float, plus_minus_k: float, stated: Accuracy) -> bool | None:
    """Return whether a difference [K], known to within ``plus_minus_k`` [K], is one that sound new parts can have.

    None where it may be, but is known too vaguely to call it good.
    """
    if abs(off_k) > sqrt(plus_minus_k ** 2 + stated.plus_minus_k ** 2):
        return False
    return True if plus_minus_k <= VAGUE * stated.plus_minus_k else None


def what_points_there(reference: Reference, reading_c: float, cold_c: float | None) -> str:
    """Return, in a sentence, why a reading cannot be of the reference, as far as it tells.

    Parameters
    ----------
    reference
        What was said to be compared with.
    reading_c, cold_c
        The reading, and the converter's own temperature [°C]; None where not known.
    """
    if reference.method is Method.HOLD:
        return "Is the other figure of the same kiln and unit, and the type of the thermocouple set right?"
    if reading_c >= HOT_C:
        return "It seems to be in a hot kiln. Leave it there until that is cold, and unplugged or its isolator off."
    if cold_c is not None and abs(reading_c - cold_c) <= LIKE_K:
        return "That is about the temperature of the room. Is the tip in the water?"
    if cold_c is not None and abs(reading_c - (2 * cold_c - reference.temp_c)) <= LIKE_K:
        return "It is as far off to the other side of the converter's own temperature: the wires may be swapped."
    return "Is the tip in the middle of it, and the type of the thermocouple set as its plug says?"
