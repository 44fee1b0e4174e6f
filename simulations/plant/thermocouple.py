"""Thermoelectric voltage of types K, N, S and R, both ways, for the bench.

The reference functions are those of ITS-90 (NIST Monograph 175, the same as IEC 60584-1): polynomials in
°C that give millivolts against a reference at 0 °C, type K with an exponential term above 0 °C.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import cache
from math import exp

_K_EXPONENTIAL = (0.118597600000e+00, -0.118343200000e-03, 0.126968600000e+03)
"""Type K above 0 °C has this term beside its polynomial: size [mV], width [1/K²], centre [°C].
[source: NIST Monograph 175, type K]"""

_PIECES: dict[str, tuple[tuple[float, float, tuple[float, ...]], ...]] = {
    "K": (
        (-200.0, 0.0, (
            0.0, 0.394501280250e-01, 0.236223735980e-04, -0.328589067840e-06, -0.499048287770e-08,
            -0.675090591730e-10, -0.574103274280e-12, -0.310888728940e-14, -0.104516093650e-16,
            -0.198892668780e-19, -0.163226974860e-22,
        )),
        (0.0, 1372.0, (
            -0.176004136860e-01, 0.389212049750e-01, 0.185587700320e-04, -0.994575928740e-07,
            0.318409457190e-09, -0.560728448890e-12, 0.560750590590e-15, -0.320207200030e-18,
            0.971511471520e-22, -0.121047212750e-25,
        )),
    ),
    "N": (
        (-200.0, 0.0, (
            0.0, 0.261591059620e-01, 0.109574842280e-04, -0.938411115540e-07, -0.464120397590e-10,
            -0.263033577160e-11, -0.226534380030e-13, -0.760893007910e-16, -0.934196678350e-19,
        )),
        (0.0, 1300.0, (
            0.0, 0.259293946010e-01, 0.157101418800e-04, 0.438256272370e-07, -0.252611697940e-09,
            0.643118193390e-12, -0.100634715190e-14, 0.997453389920e-18, -0.608632456070e-21,
            0.208492293390e-24, -0.306821961510e-28,
        )),
    ),
    "R": (
        (-50.0, 1064.18, (
            0.0, 0.528961729765e-02, 0.139166589782e-04, -0.238855693017e-07, 0.356916001063e-10,
            -0.462347666298e-13, 0.500777441034e-16, -0.373105886191e-19, 0.157716482367e-22,
            -0.281038625251e-26,
        )),
        (1064.18, 1664.5, (
            0.295157925316e+01, -0.252061251332e-02, 0.159564501865e-04, -0.764085947576e-08,
            0.205305291024e-11, -0.293359668173e-15,
        )),
        (1664.5, 1768.1, (
            0.152232118209e+03, -0.268819888545e+00, 0.171280280471e-03, -0.345895706453e-07,
            -0.934633971046e-14,
        )),
    ),
    "S": (
        (-50.0, 1064.18, (
            0.0, 0.540313308631e-02, 0.125934289740e-04, -0.232477968689e-07, 0.322028823036e-10,
            -0.331465196389e-13, 0.255744251786e-16, -0.125068871393e-19, 0.271443176145e-23,
        )),
        (1064.18, 1664.5, (
            0.132900444085e+01, 0.334509311344e-02, 0.654805192818e-05, -0.164856259209e-08,
            0.129989605174e-13,
        )),
        (1664.5, 1768.1, (
            0.146628232636e+03, -0.258430516752e+00, 0.163693574641e-03, -0.330439046987e-07,
            -0.943223690612e-14,
        )),
    ),
}
"""For each type its pieces: from °C, to °C, coefficients of powers of °C, the lowest first [mV].
[source: NIST Monograph 175, the same as IEC 60584-1]"""

TYPES = tuple(_PIECES)
"""The types the bench knows."""


def span_c(kind: str) -> tuple[float, float]:
    """Return the lowest and highest temperature [°C] of a type's function."""
    return _PIECES[kind][0][0], _PIECES[kind][-1][1]


def emf_mv(kind: str, temp_c: float) -> float:
    """Return the voltage [mV] of a type against a reference at 0 °C.

    Parameters
    ----------
    kind
        One of TYPES.
    temp_c
        Temperature of the junction [°C]; outside span_c the last polynomial goes on.
    """
    pieces = _PIECES[kind]
    piece = pieces[0]
    for piece in pieces:
        if temp_c < piece[1]:
            break
    total = 0.0
    for coefficient in reversed(piece[2]):
        total = total * temp_c + coefficient
    if kind == "K" and temp_c >= 0.0:
        size, width, centre = _K_EXPONENTIAL
        total += size * exp(width * (temp_c - centre) * (temp_c - centre))
    return total


@cache
def _table(kind: str) -> tuple[list[float], float]:
    """Return the voltage at every degree of a type's span [mV], and the first degree [°C]."""
    low, high = span_c(kind)
    return [emf_mv(kind, low + degree) for degree in range(int(high - low) + 1)], low


def temp_c(kind: str, mv: float) -> float | None:
    """Return the temperature [°C] at which a type gives ``mv`` [mV] against 0 °C; None outside its span.

    The function is tabled at every degree and joined by straight lines: the curvature is below 5e-5
    mV/K², which leaves an error below 0.002 K (below 0.001 K from 0 °C up).
    """
    table, low = _table(kind)
    at = bisect_right(table, mv) - 1
    if at < 0 or (at + 1 >= len(table) and mv > table[-1]):
        return None
    at = min(at, len(table) - 2)
    return low + at + (mv - table[at]) / (table[at + 1] - table[at])
