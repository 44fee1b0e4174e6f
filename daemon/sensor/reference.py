"""What the thermocouple is compared with: its temperature, how surely that is known, and what is plausible there."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from daemon.sensor.boiling import boiling_c, pressure_hpa
from hw.accuracy import tolerance_k, uniform_k


class Method(StrEnum):
    """How a thermocouple is compared."""

    ICE = "ice"
    BOILING = "boiling"
    HOLD = "hold"


ICE_K = 0.2
"""Crushed ice from the tap, in a mug that is stirred, is this near to 0 °C [K]. [common practice: a laboratory's bath
of pure ice, ASTM E563, is far nearer]"""
WEATHER_K = 1.0
"""The weather moves the boiling point by at most this where only the altitude is known [K]. [derived: 35 hPa to
either side of the standard atmosphere, 0.028 K/hPa at sea level]"""
BAROMETER_HPA = 2.0
"""A barometer is right within this [hPa]. [chosen: what is usual for one in a phone or a weather station]"""
POT_K = 0.4
"""Boiling water in a pot may be off by this besides [K]. [chosen: 5 cm of water raise the pressure by 5 hPa, 0.14 K,
and water near a hot bottom is hotter than its vapour by some tenths]"""
APART_K = 10.0
"""Two tips anywhere in one kiln differ by at most this [K]. [common practice: top to bottom can differ by 20 °C]"""
BESIDE_K = 2.0
"""Two tips at most 50 mm apart, in a hold, differ by at most this [K]. [chosen: a tenth of what a kiln differs by
over its height; the distance is that of CQI-9's system accuracy tests]"""
OTHER_INSTRUMENT_K = 1.1
"""A sound controller or meter adds this to its thermocouple's tolerance [K]. [from memory: AMS 2750, instruments]"""
OTHER_STEP_K = 1.0
"""A display of whole degrees steps by this [K]. [common practice]"""
OFF_K = {Method.ICE: 10.0, Method.BOILING: 10.0, Method.HOLD: 50.0}
"""Farther off than this the comparison is no comparison [K]. [chosen: twice and more what sound parts can be off]"""
_LOWEST_HOLD_C, _HIGHEST_HOLD_C = 100.0, 1300.0
"""A comparison in a hold is made between these [°C]. [chosen: a kiln that is hot, and no hotter than kilns get]"""


@dataclass(frozen=True, slots=True)
class Reference:
    """What the thermocouple ought to read.

    Attributes
    ----------
    method
        How it is compared.
    temp_c
        What it ought to read [°C].
    limit_k
        How far off that may be, each an independent limit [K].
    said
        By what it is known, in a few words; empty for ice.
    """

    method: Method
    temp_c: float
    limit_k: tuple[float, ...]
    said: str = ""

    @property
    def standard_k(self) -> float:
        """Return the standard uncertainty of the reference [K] (JCGM 100:2008, 4.3.7 and 5.1.2)."""
        return sqrt(sum(uniform_k(limit_k) ** 2 for limit_k in self.limit_k))

    def is_plausible(self, temp_c: float) -> bool:
        """Return whether a reading [°C] can be of this at all."""
        return abs(temp_c - self.temp_c) <= OFF_K[self.method]


def ice() -> Reference:
    """Return ice slush."""
    return Reference(Method.ICE, 0.0, (ICE_K,))


def boiling_at(altitude_m: float) -> Reference:
    """Return boiling water at an altitude [m], in whatever weather."""
    return Reference(Method.BOILING, boiling_c(pressure_hpa(altitude_m)), (WEATHER_K, POT_K),
                     f"at {altitude_m:.0f} m, any weather")


def boiling_under(hpa: float) -> Reference:
    """Return boiling water under a pressure that was measured beside it [hPa]."""
    per_hpa_k = (boiling_c(hpa + 1.0) - boiling_c(hpa - 1.0)) / 2
    return Reference(Method.BOILING, boiling_c(hpa), (BAROMETER_HPA * per_hpa_k, POT_K), f"under {hpa:.0f} hPa")


def other_in_hold(other_c: float, *, beside: bool, other_limit_k: float | None = None) -> Reference | None:
    """Return what another instrument shows in a hold; None where no hold is so cool or hot.

    Parameters
    ----------
    other_c
        What it shows [°C].
    beside
        Whether its tip is within 50 mm of ours.
    other_limit_k
        How far off it may be [K]; None takes a new type K of class 2 with a sound instrument.
    """
    if not _LOWEST_HOLD_C <= other_c <= _HIGHEST_HOLD_C:
        return None
    wire_k = tolerance_k("K", 2, min(other_c, 1200.0)) or 0.0
    instrument = (wire_k, OTHER_INSTRUMENT_K) if other_limit_k is None else (other_limit_k,)
    place_k = BESIDE_K if beside else APART_K
    return Reference(Method.HOLD, other_c, (*instrument, OTHER_STEP_K / 2, place_k),
                     "tips side by side" if beside else "tips apart")
