"""What differs from firing to firing around the same kiln and program."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi, sin

from simulations.plant.placement import USUAL_SENSOR, Placement
from simulations.plant.power_loop import Tuning

DAY_S = 86_400
"""[derived: 24 h of 3600 s]"""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """Room, mains, load, controller and probe of one firing.

    Attributes
    ----------
    room_c
        Room temperature [°C], over the day.
    room_swing_k
        How far it swings up and down through the day [K].
    day_s
        When in its day the firing begins [s]; the room is warmest six hours after 0.
    mains_share
        Power the elements really give, as a share of the nominal: sag and age.
    mains_swing
        How far the mains sags and rises through the day, as a share of the power.
    sensor_offset_k
        The controller's own sensor reads this much too high [K].
    load_share
        Glass and shelf as a share of the preset's.
    start_c
        Temperature of the kiln when the firing begins [°C]; None is the room's.
    sheath_mm
        Our probe's diameter [mm]: in slow air 3 mm takes some 80 s to 90 % of a step, 6 mm some 200 s.
    hysteresis_k
        A used type K probe reads up to this much too high between 250 and 550 °C [K].
    tuning
        How the controller was set up.
    probe
        Our probe, where more than ``sheath_mm`` is particular about it.
    sensor
        The controller's own sensor.
    """

    room_c: float = 20.0
    mains_share: float = 1.0
    sensor_offset_k: float = 0.0
    load_share: float = 1.0
    start_c: float | None = None
    room_swing_k: float = 0.0
    day_s: float = 0.0
    mains_swing: float = 0.0
    sheath_mm: float = 3.0
    hysteresis_k: float = 0.0
    tuning: Tuning = field(default_factory=Tuning)
    probe: Placement | None = None
    sensor: Placement = USUAL_SENSOR

    def time_of_day(self, t_s: float) -> float:
        """Return where in its day the firing's second ``t_s`` is: 1 at the warmest time, −1 at the coldest."""
        return sin(2 * pi * (t_s + self.day_s) / DAY_S)
