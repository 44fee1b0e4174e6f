"""The settings of the MAX31856, checked without touching the chip: a change is checked here before it is kept."""

from __future__ import annotations

from dataclasses import dataclass

from hw.max31856_registers import AVERAGING
from hw.settings import Settings

RANGES_C = {
    "B": (0.0, 1820.0), "E": (-200.0, 1000.0), "J": (-210.0, 1200.0), "K": (-200.0, 1372.0),
    "N": (-200.0, 1300.0), "R": (-50.0, 1768.0), "S": (-50.0, 1768.0), "T": (-200.0, 400.0),
}
"""What a thermocouple of each type can tell [°C]; IEC 60584-1, as far as the chip goes."""


@dataclass(frozen=True, slots=True)
class ChipSettings:
    """How the chip is reached and set.

    Attributes
    ----------
    bus
        The device of its SPI bus.
    thermocouple_type
        A key of RANGES_C.
    mains_hz
        The mains hum to filter out, 50 or 60.
    averaging
        Samples averaged in a conversion: 1, 2, 4, 8 or 16.
    """

    bus: str
    thermocouple_type: str
    mains_hz: int
    averaging: int


def read_settings(asked: Settings) -> ChipSettings:
    """Return the settings of ``[probe]``; what is wrong, and each key that is none, is noted in ``asked``."""
    bus = asked.text("bus", "/dev/spidev0.0")
    if not bus.startswith("/"):
        asked.problem("bus", f"{bus!r} is no device.", "Write it as /dev/spidev0.0, which is the usual one.")
    return ChipSettings(
        bus, asked.choice("thermocouple_type", "K", tuple(RANGES_C)),
        asked.choice("mains_hz", 50, (50, 60)), asked.choice("averaging", 4, tuple(AVERAGING)))
