"""The MAX31856's registers: their places, the bits used here, and what the temperatures in them say."""

from __future__ import annotations

CR0, CR1, MASK, COLD, HOT, STATUS = 0x00, 0x01, 0x02, 0x0A, 0x0C, 0x0F
"""Addresses: two of configuration, the fault mask, both temperatures, the faults. [source: MAX31856 data sheet,
register map]"""
CONVERTING = 0xC0
"""CR0: automatic and one-shot, which come and go by themselves. [source: MAX31856 data sheet, register map]"""
CLEARING = 0x02
"""CR0: fault clear, which falls back by itself. [source: MAX31856 data sheet, register map]"""
OPEN_TEST = 0x10
"""CR0: look for an open circuit in each conversion. [source: MAX31856 data sheet, register map]"""
FILTER_50_HZ = 0x01
"""CR0: filter out the hum of 50 Hz mains, not of 60 Hz. [source: MAX31856 data sheet, register map]"""
AVERAGING = {1: 0x00, 2: 0x10, 4: 0x20, 8: 0x30, 16: 0x40}
"""CR1 by how many samples are averaged."""
OPEN, VOLTAGE = 0x01, 0x02
"""STATUS: the thermocouple's circuit is open; its voltage is too high or low. [source: MAX31856 data sheet, fault
status register]"""
OUT_OF_RANGE = {
    0x80: "cold junction outside what the chip can tell",
    0x40: "thermocouple outside what the chip can tell",
    0x20: "cold junction above its threshold",
    0x10: "cold junction below its threshold",
    0x08: "thermocouple above its threshold",
    0x04: "thermocouple below its threshold",
}
"""STATUS: what else can be wrong, by its bit."""


def hot_c(registers: bytes) -> float:
    """Return the measuring junction [°C] from all sixteen registers: 19 bits, 2⁻⁷ °C each."""
    code = int.from_bytes(registers[HOT:HOT + 3], "big", signed=True) >> 5
    return code / 128


def cold_c(registers: bytes) -> float:
    """Return the cold junction [°C] from all sixteen registers: 14 bits, 2⁻⁶ °C each."""
    code = int.from_bytes(registers[COLD:COLD + 2], "big", signed=True) >> 2
    return code / 64
