"""Where a sensor sits in a kiln and what it is made of: all that decides by how much two of them differ."""

from __future__ import annotations

from dataclasses import dataclass

PROBE_SEES = (0.03, 0.62, 0.35, 0.0)
"""Shares of the view of Lehrling's probe taken by elements, wall, glass and shelf; they add up to 1.
[chosen: a probe through the wall near the glass]"""
SENSOR_SEES = (0.04, 0.66, 0.30, 0.0)
_SENSOR_MM = 4.5
"""The controller's own sensor, where nothing else is said: shares of its view, and diameter [mm].
[chosen: thicker than Lehrling's probe and nearer to wall and elements, so that the two differ as they do in kilns]"""


@dataclass(frozen=True, slots=True)
class Placement:
    """A sensor in one firing.

    No offset is drawn for a regime. The difference between two sensors follows from what each sees and how late it
    is: elements are the hottest thing in a climb and no hotter than the wall when off, glass and shelf lag both ways,
    and the inside of the wall is colder than its face in a hold and hotter after a quick fall.

    Attributes
    ----------
    diameter_mm
        Outside of sheath or bare wire [mm]; the lag grows with it.
    sees
        Shares of its view taken by elements, wall, glass and shelf; they add up to 1.
    film_w_m2k
        Convection from the air to it [W/m²K].
    stem_w_m2k
        Heat that its stem conducts to the wall, an area of its tip and kelvin [W/m²K].
    stem_lump
        Which lump of the wall that is, 0 the hot face, 4 the outermost.
    draught_share
        How much of the air that comes in at an open vent or lid passes it unmixed, 0 to 1.
    gain
        Its reading above 0 °C is so many times the true one.
    drift_k_per_h
        Its reading creeps by this much an hour [K/h].
    shift_k
        Its owner has it read so much higher [K], so that it agrees with the kiln's display in a hot hold.
    step_k
        The reading is shown in steps of this [K]; 0 is as fine as the chip gives it.
    """

    diameter_mm: float = 3.0
    sees: tuple[float, float, float, float] = PROBE_SEES
    film_w_m2k: float = 20.0
    stem_w_m2k: float = 0.0
    stem_lump: int = 1
    draught_share: float = 0.0
    gain: float = 1.0
    drift_k_per_h: float = 0.0
    step_k: float = 0.0
    shift_k: float = 0.0


USUAL_SENSOR = Placement(_SENSOR_MM, SENSOR_SEES)
"""The controller's own sensor where nothing else is said."""
