"""Where water boils: the pressure of the standard atmosphere, and where water vapour has that pressure."""

from __future__ import annotations

from math import sqrt

SEA_LEVEL_HPA = 1013.25
SEA_LEVEL_K, LAPSE_K_PER_M, EXPONENT = 288.15, 0.0065, 5.25588
"""Pressure [hPa] and temperature [K] at sea level, fall of the temperature with altitude [K/m], and g·M/(R·lapse).
[source: ISO 2533, standard atmosphere, up to 11 km]"""
HIGHEST_M, LOWEST_M = 6000.0, -500.0
"""Nobody has a kiln beyond these altitudes [m]. [chosen: beyond any, so that feet taken for metres are caught]"""
HIGHEST_HPA, LOWEST_HPA = 1090.0, 450.0
"""The air has no other pressure within these altitudes [hPa]. [derived: the standard atmosphere, and the weather]"""

_N = (0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
      0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3)
"""Coefficients n1 to n10. [source: IAPWS-IF97, table 34]"""
ZERO_C_K = 273.15
"""0 °C [K]. [source: ITS-90, definition of t]"""


def pressure_hpa(altitude_m: float) -> float:
    """Return the pressure of the standard atmosphere [hPa] at a geopotential altitude up to 11 km [m] (ISO 2533)."""
    return SEA_LEVEL_HPA * float((1 - LAPSE_K_PER_M * altitude_m / SEA_LEVEL_K) ** EXPONENT)


def boiling_c(hpa: float) -> float:
    """Return where water boils [°C] at a pressure [hPa] (IAPWS-IF97, region 4, equation 31)."""
    beta = float((hpa * 1e-4) ** 0.25)  # of the pressure in MPa
    e = beta * beta + _N[2] * beta + _N[5]
    f = _N[0] * beta * beta + _N[3] * beta + _N[6]
    g = _N[1] * beta * beta + _N[4] * beta + _N[7]
    d = 2 * g / (-f - sqrt(f * f - 4 * e * g))
    return (_N[9] + d - sqrt((_N[9] + d) ** 2 - 4 * (_N[8] + _N[9] * d))) / 2 - ZERO_C_K
