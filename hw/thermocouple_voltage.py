"""How much voltage a thermocouple gives for a kelvin: what turns the converter's microvolts into degrees of error.

The converter linearises by itself; this table only says how large its errors are. It is coarse on purpose.
"""

from __future__ import annotations

STEP_C = 100.0
"""Distance of two entries of the table [°C]. [chosen: the slope between them is right to some per cent, which is
enough for an error]"""

_MV: dict[str, tuple[float, ...]] = {
    "B": (0.000, 0.033, 0.178, 0.431, 0.787, 1.242, 1.792, 2.431, 3.154, 3.957, 4.834, 5.780, 6.786, 7.848, 8.956,
          10.099, 11.263, 12.433, 13.591),
    "E": (0.000, 6.319, 13.421, 21.036, 28.946, 37.005, 45.093, 53.112, 61.017, 68.787, 76.373),
    "J": (0.000, 5.269, 10.779, 16.327, 21.848, 27.393, 33.102, 39.132, 45.494, 51.877, 57.953, 63.792, 69.553),
    "K": (0.000, 4.096, 8.138, 12.209, 16.397, 20.644, 24.905, 29.129, 33.275, 37.326, 41.276, 45.119, 48.838,
          52.410),
    "N": (0.000, 2.774, 5.913, 9.341, 12.974, 16.748, 20.613, 24.527, 28.455, 32.371, 36.256, 40.087, 43.846,
          47.513),
    "R": (0.000, 0.647, 1.469, 2.401, 3.408, 4.471, 5.583, 6.743, 7.950, 9.205, 10.506, 11.850, 13.228, 14.629,
          16.040, 17.451, 18.849, 20.222),
    "S": (0.000, 0.646, 1.441, 2.323, 3.259, 4.233, 5.239, 6.275, 7.345, 8.449, 9.587, 10.757, 11.951, 13.159,
          14.373, 15.582, 16.777, 17.947),
    "T": (0.000, 4.279, 9.288, 14.862, 20.872),
}
"""Voltage at 0, 100, 200 … °C against a reference at 0 °C [mV]. [source: NIST Monograph 175, the same as
IEC 60584-1]"""


def uv_per_k(kind: str, temp_c: float) -> float:
    """Return the slope of a type's voltage [µV/K].

    A parabola through the three entries of the table that are nearest; below the first and above the last entry the
    slope at that entry.

    Parameters
    ----------
    kind
        Letter of the type, of the eight of IEC 60584-1.
    temp_c
        Temperature of a junction [°C].
    """
    table = _MV[kind]
    place = min(max(temp_c / STEP_C, 0.0), len(table) - 1.0)
    middle = min(max(round(place), 1), len(table) - 2)
    before, here, after = table[middle - 1:middle + 2]
    slope = (after - before) / 2 + (place - middle) * (after - 2 * here + before)
    return slope * 1000 / STEP_C
