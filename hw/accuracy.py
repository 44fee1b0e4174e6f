"""How far a reading may be from the temperature of the thermocouple's tip, by standard and data sheet, when new.

A limit (of a standard or a data sheet) is taken as a uniform distribution, whose standard deviation is the limit over
√3. Independent parts are added in quadrature, and twice the sum is stated (JCGM 100:2008, 4.3.7, 5.1.2 and 6.3.3).
Ageing, the place of the tip, and the glass that lags behind the air are none of these parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Literal

from hw.thermocouple_voltage import uv_per_k

COVERAGE = 2.0
"""So many standard uncertainties are stated, for about 95 of 100 cases. [source: JCGM 100:2008, 6.3.3]"""

ToleranceClass = Literal[1, 2]
"""Tolerance class of the thermocouple's wire (IEC 60584-1)."""


@dataclass(frozen=True, slots=True)
class _Tolerance:
    """Limit of a class: the larger of a fixed one and a share of the temperature, within a span."""

    fixed_k: float
    share: float
    span_c: tuple[float, float]

    def limit_k(self, temp_c: float) -> float | None:
        if not self.span_c[0] <= temp_c <= self.span_c[1]:
            return None
        return max(self.fixed_k, self.share * abs(temp_c))


_TOLERANCES: dict[tuple[str, ToleranceClass], _Tolerance] = {
    ("B", 2): _Tolerance(0.0, 0.0025, (600.0, 1700.0)),
    ("E", 1): _Tolerance(1.5, 0.004, (-40.0, 800.0)), ("E", 2): _Tolerance(2.5, 0.0075, (-40.0, 900.0)),
    ("J", 1): _Tolerance(1.5, 0.004, (-40.0, 750.0)), ("J", 2): _Tolerance(2.5, 0.0075, (-40.0, 750.0)),
    ("K", 1): _Tolerance(1.5, 0.004, (-40.0, 1000.0)), ("K", 2): _Tolerance(2.5, 0.0075, (-40.0, 1200.0)),
    ("N", 1): _Tolerance(1.5, 0.004, (-40.0, 1000.0)), ("N", 2): _Tolerance(2.5, 0.0075, (-40.0, 1200.0)),
    ("R", 1): _Tolerance(1.0, 0.0, (0.0, 1600.0)), ("R", 2): _Tolerance(1.5, 0.0025, (0.0, 1600.0)),
    ("S", 1): _Tolerance(1.0, 0.0, (0.0, 1600.0)), ("S", 2): _Tolerance(1.5, 0.0025, (0.0, 1600.0)),
    ("T", 1): _Tolerance(0.5, 0.004, (-40.0, 350.0)), ("T", 2): _Tolerance(1.0, 0.0075, (-40.0, 350.0)),
}
"""By type and class; class 1 of R and S grows above PLATINUM_FROM_C. [source: IEC 60584-1, tolerance classes]"""
PLATINUM_FROM_C, PLATINUM_SHARE = 1100.0, 0.003
"""Above this [°C] the limit of class 1 of R and S grows by this share of what is above. [source: IEC 60584-1]"""

_LOW_VOLTAGE = ("B", "R", "S")
"""The types that the converter amplifies 32 times, not 8 times. [from memory: MAX31856 data sheet]"""
FULL_SCALE_UV = (78_125.0, 19_531.0)
"""The converter's full scale at 8 and at 32 times [µV]. [source: MAX31856 data sheet, note 7]"""
SPAN_SHARE = (0.0005, 0.0015)
"""Error of full scale and linearity, as a share of full scale: at 25 °C, and from −20 to 85 °C. [source: MAX31856
data sheet, electrical characteristics]"""
OFFSET_UV = ((7.8, 11.7), (2.0, 2.9))
"""Input offset [µV] at 8 and at 32 times: at 25 °C, and from −20 to 85 °C. [source: MAX31856 data sheet, electrical
characteristics]"""
COLD_END_K = 0.7
"""Error of the converter's own temperature, from −20 to 85 °C [K]. [source: MAX31856 data sheet, electrical
characteristics]"""
TESTED_AT_C, NEAR_K = 25.0, 5.0
"""A converter within this [K] of that [°C] counts as being at 25 °C. [chosen: the data sheet gives figures for 25 °C
alone and for −20 to 85 °C, none between]"""
USUAL_END_C = 25.0
"""Where the converter is taken to be when its temperature is not known, for the slope there [°C]. [chosen: a box
beside a kiln; the slope of type K differs by 2 % between 15 and 45 °C]"""
REORDERING = 0.017
"""Share of the reading that a used type K may be off besides, by the ordering of its wire between 200 and 600 °C;
above 600 °C it goes back. [source: ORNL-TM-4862]"""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """What is stated of a reading at one temperature, as new.

    Attributes
    ----------
    temp_c
        The reading [°C].
    thermocouple_k, converter_k, cold_end_k
        Limits of the three parts, as errors of this reading [K].
    """

    temp_c: float
    thermocouple_k: float
    converter_k: float
    cold_end_k: float

    @property
    def plus_minus_k(self) -> float:
        """Return the expanded uncertainty, k = 2 [K]."""
        return COVERAGE * sqrt(sum(uniform_k(part) ** 2 for part in (
            self.thermocouple_k, self.converter_k, self.cold_end_k)))


def uniform_k(limit_k: float) -> float:
    """Return the standard uncertainty [K] of what is known to lie within ± ``limit_k`` [K] (JCGM 100:2008, 4.3.7)."""
    return limit_k / sqrt(3)


def tolerance_k(kind: str, tolerance_class: ToleranceClass, temp_c: float) -> float | None:
    """Return the tolerance of a new thermocouple [K]; None where its class states none at this temperature [°C]."""
    found = _TOLERANCES.get((kind, tolerance_class))
    limit_k = None if found is None else found.limit_k(temp_c)
    if limit_k is not None and kind in ("R", "S") and tolerance_class == 1:
        limit_k += PLATINUM_SHARE * max(0.0, temp_c - PLATINUM_FROM_C)
    return limit_k


def accuracy(kind: str, tolerance_class: ToleranceClass, temp_c: float,
             cold_c: float | None = None) -> Accuracy | None:
    """Return what may be wrong with a reading; None where the class states nothing at this temperature.

    Parameters
    ----------
    kind, tolerance_class
        Letter and tolerance class of the thermocouple (IEC 60584-1).
    temp_c
        The reading [°C].
    cold_c
        Temperature of the converter [°C]; None where not known: then it may be anywhere from −20 to 85 °C.
    """
    wire_k = tolerance_k(kind, tolerance_class, temp_c)
    if wire_k is None:
        return None
    gain = int(kind in _LOW_VOLTAGE)
    warmth = 0 if cold_c is not None and abs(cold_c - TESTED_AT_C) <= NEAR_K else 1
    span_uv, offset_uv = SPAN_SHARE[warmth] * FULL_SCALE_UV[gain], OFFSET_UV[gain][warmth]
    slope = uv_per_k(kind, temp_c)
    end_slope = uv_per_k(kind, USUAL_END_C if cold_c is None else cold_c)
    return Accuracy(temp_c, wire_k, sqrt(span_uv ** 2 + offset_uv ** 2) / slope,
                    COLD_END_K * abs(end_slope) / slope)
