"""The MAX31856 thermocouple converter, through its real driver, bounded and disbelieved.

The driver alone waits for ever on a chip that is not there, takes sixteen zero bytes for 0.0 °C, gives a
number for an open thermocouple and does not notice a chip that has lost its settings. So one look is: a
one-shot conversion started and polled through the driver up to a deadline, then one burst of all sixteen
registers. The burst is decoded here rather than by the driver's own unpacking, which would read the
registers once more: settings, fault bits and temperature must belong to one and the same look, or the
settings that were checked need not be those of the value. A test holds this decoding against both the
data sheet's codes and the driver's.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from typing import Any, Literal

from adafruit_bus_device.spi_device import SPIDevice
from adafruit_max31856 import MAX31856, ThermocoupleType

from hw.bus import Bus
from hw.max31856_registers import (
    AVERAGING,
    CLEARING,
    CONVERTING,
    CR0,
    CR1,
    FILTER_50_HZ,
    MASK,
    OPEN,
    OPEN_TEST,
    OUT_OF_RANGE,
    STATUS,
    VOLTAGE,
    cold_c,
    hot_c,
)
from hw.max31856_settings import RANGES_C, read_settings
from hw.settings import Settings
from hw.thermocouple import Fault, ProbeError, Reading

LOWEST_C = -50.0
"""A colder reading is not believed [°C]. [chosen: nothing beside a kiln is colder]"""
COLD_JUNCTION_C = (-20.0, 85.0)
"""Where the chip's own reference can be believed [°C]. [source: MAX31856 data sheet, the span of its cold
junction's ±0.7 °C]"""
DEADLINE_S = 1.0
"""A reading that takes longer has failed [s]; the longest conversion, of 16 samples at 50 Hz, takes 0.85 s.
[from memory: conversion times of the MAX31856 data sheet]"""
POLL_S = 0.01
"""Time between two looks whether a conversion has ended [s]. [chosen: short against the shortest conversion, 0.15
s]"""
JUMP_C = 20.0
JUMP_C_PER_S = 100.0
"""A bare wire pulled from a kiln at 800 °C loses at most this; a thermocouple in its sheath a tenth. [chosen: an
estimate, not measured]"""


class Max31856:
    """A thermocouple on a MAX31856, read in bounded time and believed only when all is as configured.

    One instance and one thread a bus: the driver keeps a buffer for all its instances.

    Parameters
    ----------
    bus
        The SPI bus as the driver wants it, for instance hw.bus.Bus.
    select
        The chip select pin as the driver wants it; None where the bus drives it.
    thermocouple_type
        A key of RANGES_C.
    mains_hz
        The mains hum to filter out, 50 or 60.
    averaging
        Samples averaged in a conversion: 1, 2, 4, 8 or 16.
    now_s, sleep
        The clock [s] and how to wait [s]; a sleep must move the clock on.
    """

    name = "max31856"

    def __init__(
        self, bus: Any, select: Any = None, *, thermocouple_type: str = "K", mains_hz: Literal[50, 60] = 50,
        averaging: int = 4, now_s: Callable[[], float], sleep: Callable[[float], None],
    ) -> None:
        self._bus, self._select = bus, select
        self._type = thermocouple_type
        self._mains_hz = mains_hz
        self._averaging = averaging
        self._now_s, self._sleep = now_s, sleep
        cr0 = OPEN_TEST | (FILTER_50_HZ if mains_hz == 50 else 0)
        cr1 = AVERAGING[averaging] | getattr(ThermocoupleType, thermocouple_type)
        self._wanted = bytes((cr0, cr1, 0x00))
        each_s = 0.0333 if mains_hz == 60 else 0.04
        self._typical_s = (0.143 if mains_hz == 60 else 0.169) + each_s * (averaging - 1)
        self._span_c = (max(LOWEST_C, RANGES_C[thermocouple_type][0]), RANGES_C[thermocouple_type][1])
        self._burst_device = SPIDevice(bus, select, baudrate=500_000, polarity=0, phase=1)
        self._driver: Any = None
        self._last: tuple[float, float] | None = None

    def read(self) -> Reading:
        """Return what the thermocouple says now, after at most DEADLINE_S and a little."""
        try:
            return self._look()
        except OSError as err:
            self._driver = None
            return Reading(None, None, Fault.SILENT, f"the bus failed: {err}")

    def close(self) -> None:
        """Forget the driver; who opened the bus closes it."""
        self._driver = None

    def _look(self) -> Reading:
        """Return one measurement, set up before where the chip is new or lost its settings."""
        if self._driver is None:
            registers = self._configure()
            if not self._as_configured(registers):
                return self._silent(registers)
        self._driver.initiate_one_shot_measurement()
        finished = self._wait()
        registers = self._burst()
        if not self._as_configured(registers):
            return self._silent(registers)
        status = registers[STATUS]
        cold = cold_c(registers)
        if status & OPEN:
            return Reading(None, cold, Fault.OPEN, "the chip finds the thermocouple's circuit open")
        if status & VOLTAGE:
            return Reading(None, cold, Fault.SHORT, "the chip finds too high or low a voltage at its input")
        if not finished:
            self._driver = None
            return Reading(None, None, Fault.SILENT, f"a conversion was not done after {DEADLINE_S:g} s")
        return self._judge(hot_c(registers), cold, status)

    def _configure(self) -> bytes:
        """Set the chip up through the driver and return its registers as they then are."""
        driver = MAX31856(self._bus, self._select, getattr(ThermocoupleType, self._type))
        driver.averaging = self._averaging
        driver.noise_rejection = self._mains_hz
        self._driver = driver
        return self._burst()

    def _wait(self) -> bool:
        """Return whether the conversion was done before the deadline."""
        deadline_s = self._now_s() + DEADLINE_S
        self._sleep(self._typical_s)
        # Counted as well, so that a clock that stands still can't hold us.
        for _ in range(int(DEADLINE_S / POLL_S) + 1):
            if not self._driver.oneshot_pending:
                return True
            if self._now_s() >= deadline_s:
                return False
            self._sleep(POLL_S)
        return False

    def _burst(self) -> bytes:
        """Return all sixteen registers, read in one transfer."""
        registers = bytearray(16)
        with self._burst_device as device:
            device.write(bytes((CR0,)))
            device.readinto(registers)
        return bytes(registers)

    def _as_configured(self, registers: bytes) -> bool:
        """Return whether the registers hold the settings that were asked for."""
        cr0 = registers[CR0] & ~(CONVERTING | CLEARING)
        return bytes((cr0, registers[CR1], registers[MASK])) == self._wanted

    def _silent(self, registers: bytes) -> Reading:
        """Say what the chip answered instead of its settings, and set it up anew for the next look."""
        if registers == b"\xff" * 16:
            detail = "the chip answers only ones: not powered, or a wire is off"
        elif registers == bytes(16):
            detail = "the chip answers only zeros: not powered, or a wire is off"
        else:
            detail = (
                f"the chip had lost its settings: {registers[:3].hex(' ')} instead of {self._wanted.hex(' ')}"
            )
        self._driver = None
        return Reading(None, None, Fault.SILENT, detail)

    def _judge(self, hot: float, cold: float, status: int) -> Reading:
        """Return the reading, or why it cannot be."""
        said = [words for bit, words in OUT_OF_RANGE.items() if status & bit]
        if said:
            return Reading(None, cold, Fault.RANGE, "; ".join(said))
        if not COLD_JUNCTION_C[0] <= cold <= COLD_JUNCTION_C[1]:
            return Reading(None, cold, Fault.RANGE, f"a cold junction of {cold:.1f} °C can't be")
        low, high = self._span_c
        if not low <= hot <= high:
            return Reading(None, cold, Fault.RANGE, f"{hot:.1f} °C is outside {low:g} to {high:g} °C")
        last, now_s = self._last, self._now_s()
        # A refused jump is what the next reading is measured by, so one that stays is believed.
        self._last = (now_s, hot)
        if last is not None and abs(hot - last[1]) > JUMP_C + JUMP_C_PER_S * (now_s - last[0]):
            return Reading(
                None, cold, Fault.RANGE,
                f"from {last[1]:.1f} to {hot:.1f} °C in {now_s - last[0]:.1f} s is no change a kiln makes",
            )
        return Reading(hot, cold)


class _OnDevice(Max31856):
    """A Max31856 that also closes the device it was opened on."""

    def __init__(self, spi: Any, **settings: Any) -> None:
        super().__init__(Bus(lambda data: bytes(spi.transfer(data))), **settings)
        self._spi = spi

    def close(self) -> None:
        """Let go of the chip and of the device."""
        super().close()
        if self._spi is not None:
            os.close(self._spi.handle)
            self._spi = None


def open_probe(asked: Settings, now_s: Callable[[], float]) -> Max31856:
    """Open the chip on this computer's SPI bus; the only place that touches hardware.

    Parameters
    ----------
    asked
        ``bus`` (default /dev/spidev0.0), ``thermocouple_type`` (K), ``mains_hz`` (50), ``averaging`` (4).
    now_s
        The firing clock [s].

    Raises
    ------
    ProbeError
        Naming the device or library that is wrong, and the remedy; a wrong setting raises what ``asked`` raises.
    """
    settings = read_settings(asked)
    asked.finish()
    try:
        from Adafruit_PureIO.spi import SPI
    except ImportError:
        raise ProbeError(
            "the library that opens the SPI bus is not installed.",
            "Install lehrling with its extra: lehrling[pi].",
        ) from None
    try:
        spi = SPI(settings.bus, max_speed_hz=500_000, phase=1, polarity=0, bits_per_word=8)
    except PermissionError:
        raise ProbeError(
            f"[probe] bus = {settings.bus!r} may not be opened by this user.", "Add the user to the group spi.",
        ) from None
    except OSError as err:
        why = f"can't be opened: {err.strerror or err}" if os.path.exists(settings.bus) else "does not exist"
        raise ProbeError(
            f"[probe] bus = {settings.bus!r} {why}.",
            "Switch SPI on (raspi-config, Interface Options) and check the name with: ls /dev/spidev*.",
        ) from None
    return _OnDevice(
        spi, thermocouple_type=settings.thermocouple_type, mains_hz=60 if settings.mains_hz == 60 else 50,
        averaging=settings.averaging, now_s=now_s, sleep=time.sleep)
