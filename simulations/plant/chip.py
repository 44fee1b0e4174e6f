"""A MAX31856 register for register.

It converts a voltage in its own time, averages, filters, sets fault bits, loses its settings, sticks or is
not there, as the data sheet and the driver's use of it say (register map and reset values from the data
sheet; conversion times typical, from memory). Time is asked of whoever built it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from random import Random

from simulations.plant import thermocouple

RESET = bytes.fromhex("00 03 FF 7F C0 7F FF 80 00 00 0000 000000 00")
"""All sixteen registers after power-up."""
TYPE_CODES = {0x3: "K", 0x4: "N", 0x5: "R", 0x6: "S"}
"""The types the bench has a voltage for, by the low half of CR1."""
NOISE_MV = 0.0013
"""One sample's noise, standard deviation [mV]. [source: MAX31856 data sheet, electrical table, gain 8]"""

_CR0, _CR1, _MASK, _CJHF, _CJLF, _HIGH, _LOW, _CJTO, _CJTH, _HOT, _STATUS = (
    0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x07, 0x09, 0x0A, 0x0C, 0x0F,
)
_AUTO, _ONE_SHOT, _OPEN_TEST, _NO_COLD, _LATCHED, _CLEAR, _50_HZ = 0x80, 0x40, 0x30, 0x08, 0x04, 0x02, 0x01
_SAMPLES = (1, 2, 4, 8, 16, 16, 16, 16)
_WRITE, _ADDRESS = 0x80, 0x0F
"""Addresses of the registers, bits of CR0, samples by the averaging code in CR1, and the two parts of a first byte.
[source: MAX31856 data sheet, register map]"""
_COLD_RANGE, _HOT_RANGE, _COLD_HIGH, _COLD_LOW, _HOT_HIGH, _HOT_LOW, _VOLTAGE, _OPEN = (
    0x80, 0x40, 0x20, 0x10, 0x08, 0x04, 0x02, 0x01,
)
"""Bits of the fault status. [source: MAX31856 data sheet, fault status register]"""
_COLD_LOWEST_C, _COLD_HIGHEST_C = -55, 125
_CODES_PER_C, _COLD_CODES_PER_C, _OFFSET_CODES_PER_C = 128, 64, 16
"""Range of the cold junction [°C]; codes a degree of result, cold junction and its offset [1/°C].
[source: MAX31856 data sheet, front page and register map]"""
_FIRST_S = {50: (0.169, 0.040), 60: (0.143, 0.03333)}
_LATER_S = {50: (0.098, 0.020), 60: (0.082, 0.01667)}
"""Time of a one-shot or first conversion, and of each further automatic one: of one sample and of each more [s], by
the mains frequency that is filtered out [Hz]. [from memory: typical times of the data sheet]"""


class Absent(Enum):
    """What a chip that is not there answers."""

    ONES = 0xFF
    ZEROS = 0x00


@dataclass(slots=True)
class Terminals:
    """What hangs at the chip.

    Attributes
    ----------
    mv
        Voltage between the terminals [mV]; None is an open circuit.
    cold_c
        Temperature of the terminals and the chip [°C].
    voltage_fault
        A wire touches something above the supply or below ground.
    """

    mv: float | None
    cold_c: float
    voltage_fault: bool = False


class Chip:
    """The chip with its registers.

    Parameters
    ----------
    terminals
        Called when a conversion ends: what hangs at the chip then.
    now_s
        The chip's time [s].
    seed
        Of its noise.
    noise_mv
        Noise of one sample, standard deviation [mV].
    """

    def __init__(
        self, terminals: Callable[[], Terminals], now_s: Callable[[], float], *, seed: int = 1,
        noise_mv: float = NOISE_MV,
    ) -> None:
        self._terminals = terminals
        self._now_s = now_s
        self._gauss = Random(seed).gauss
        self._bits = Random(seed + 15_485_863)
        self._noise_mv = noise_mv
        self.registers = bytearray(RESET)
        self.absent: Absent | None = None
        self.bad_bits = 0.0
        """This share of the answers comes back with a wrong bit."""
        self.stuck = False
        """A one-shot conversion never ends."""
        self.frozen = False
        """A conversion ends with the results of the one before it."""
        self.halts_on_voltage = True
        """A conversion is not finished while the input voltage is out of bounds."""
        self.conversions = 0
        self._ready_s: float | None = None

    def reset(self) -> None:
        """Lose all settings, as after a dip of the supply."""
        self.registers[:] = RESET
        self._ready_s = None

    @property
    def conversion_s(self) -> float:
        """Return how long a one-shot conversion takes with the present settings [s]."""
        return self._lasts_s(_FIRST_S)

    @property
    def repeat_s(self) -> float:
        """Return how long each further automatic conversion takes [s]."""
        return self._lasts_s(_LATER_S)

    @property
    def _samples(self) -> int:
        """Return how many samples are averaged with the present settings."""
        return _SAMPLES[self.registers[_CR1] >> 4 & 7]

    def _lasts_s(self, times_s: dict[int, tuple[float, float]]) -> float:
        """Return the length of a conversion with the present settings, from a table of such lengths [s]."""
        one_s, more_s = times_s[50 if self.registers[_CR0] & _50_HZ else 60]
        return one_s + more_s * (self._samples - 1)

    def transfer(self, sent: bytes) -> bytes:
        """Return what comes back while ``sent`` goes out in one go with chip select low."""
        answer = self._answer(sent)
        if self.bad_bits and answer and self._bits.random() < self.bad_bits:
            spoilt = bytearray(answer)
            spoilt[self._bits.randrange(len(spoilt))] ^= 1 << self._bits.randrange(8)
            return bytes(spoilt)
        return answer

    def _answer(self, sent: bytes) -> bytes:
        """Return what comes back when every bit is right: a byte that means nothing, then the registers asked for."""
        if self.absent is not None:
            return bytes((self.absent.value,)) * len(sent)
        if not sent:
            return b""
        self._catch_up()
        address = sent[0] & _ADDRESS
        if sent[0] & _WRITE:
            for offset, value in enumerate(sent[1:]):
                self._write(address + offset & _ADDRESS, value)
            return bytes(len(sent))
        asked = len(sent) - 1
        if address + asked <= 16:
            return b"\x00" + bytes(self.registers[address:address + asked])
        return b"\x00" + bytes(self.registers[address + n & _ADDRESS] for n in range(asked))

    def _write(self, address: int, value: int) -> None:
        """Write one register, with what CR0 begins and ends."""
        cold_written = address in (_CJTH, _CJTH + 1) and self.registers[_CR0] & _NO_COLD
        if address >= _CJTH and not cold_written:
            return  # read only
        if address != _CR0:
            self.registers[address] = value
            return
        if value & _CLEAR:
            self.registers[_STATUS] = 0
            value &= ~_CLEAR
        if value & _AUTO:
            value &= ~_ONE_SHOT
        started = value & (_AUTO | _ONE_SHOT)
        running = self.registers[_CR0] & (_AUTO | _ONE_SHOT)
        self.registers[_CR0] = value
        if started and started != running:
            self._ready_s = self._now_s() + self.conversion_s
        elif not started:
            self._ready_s = None

    def _catch_up(self) -> None:
        """Finish the conversion that is due."""
        ready_s = self._ready_s
        if ready_s is None or self._now_s() < ready_s:
            return
        if self.registers[_CR0] & _ONE_SHOT:
            if self.stuck:
                return
            if self._convert():
                self._ready_s = None
                self.registers[_CR0] &= ~_ONE_SHOT
        elif self._convert():
            missed = int((self._now_s() - ready_s) / self.repeat_s) + 1
            self._ready_s = ready_s + missed * self.repeat_s

    def _convert(self) -> bool:
        """Measure into the registers; return whether the conversion came to its end."""
        registers = self.registers
        if self.frozen:
            return True
        there = self._terminals()
        if there.voltage_fault:
            registers[_STATUS] |= _VOLTAGE
            if self.halts_on_voltage:
                return False
        self.conversions += 1
        status = _VOLTAGE if there.voltage_fault else 0x00
        if registers[_CR0] & _NO_COLD:
            cold_code = int.from_bytes(registers[_CJTH:_CJTH + 2], "big", signed=True) >> 2
        else:
            offset_k = int.from_bytes(registers[_CJTO:_CJTO + 1], "big", signed=True) / _OFFSET_CODES_PER_C
            cold_code = round((there.cold_c + offset_k) * _COLD_CODES_PER_C)
            lowest, highest = _COLD_LOWEST_C * _COLD_CODES_PER_C, _COLD_HIGHEST_C * _COLD_CODES_PER_C
            if not lowest <= cold_code <= highest:
                status |= _COLD_RANGE
                cold_code = max(lowest, min(highest, cold_code))
            registers[_CJTH:_CJTH + 2] = (cold_code << 2).to_bytes(2, "big", signed=True)
        if there.mv is None and registers[_CR0] & _OPEN_TEST:
            status |= _OPEN
        code, beyond = self._linearised(there.mv or 0.0, cold_code / _COLD_CODES_PER_C)
        registers[_HOT:_HOT + 3] = (code << 5).to_bytes(3, "big", signed=True)
        status |= (_HOT_RANGE if beyond else 0x00) | self._thresholds(code, cold_code)
        registers[_STATUS] = status | (registers[_STATUS] if registers[_CR0] & _LATCHED else 0)
        return True

    def _linearised(self, mv: float, cold_c: float) -> tuple[int, bool]:
        """Return the 19-bit code [1/128 °C] and whether the temperature is beyond the type's span."""
        kind = TYPE_CODES.get(self.registers[_CR1] & 0x0F)
        if kind is None:
            return 0, True
        noise_mv = self._gauss(0.0, self._noise_mv / self._samples**0.5) if self._noise_mv else 0.0
        total_mv = mv + noise_mv + thermocouple.emf_mv(kind, cold_c)
        hot_c = thermocouple.temp_c(kind, total_mv)
        if hot_c is None:
            low_c, high_c = thermocouple.span_c(kind)
            return round((high_c if total_mv > 0 else low_c) * _CODES_PER_C), True
        return round(hot_c * _CODES_PER_C), False

    def _thresholds(self, code: int, cold_code: int) -> int:
        """Return the status bits of the thresholds that are passed, of which registers hold whole or 1/16 degrees."""
        registers = self.registers
        if registers[_CJHF:_CJTO] == RESET[_CJHF:_CJTO]:
            return 0  # as after power-up: beyond what can be measured
        cold_high = int.from_bytes(registers[_CJHF:_CJHF + 1], "big", signed=True) * _COLD_CODES_PER_C
        cold_low = int.from_bytes(registers[_CJLF:_CJLF + 1], "big", signed=True) * _COLD_CODES_PER_C
        high = int.from_bytes(registers[_HIGH:_HIGH + 2], "big", signed=True) * 8
        low = int.from_bytes(registers[_LOW:_LOW + 2], "big", signed=True) * 8
        return (
            (_COLD_HIGH if cold_code > cold_high else 0) | (_COLD_LOW if cold_code < cold_low else 0)
            | (_HOT_HIGH if code > high else 0) | (_HOT_LOW if code < low else 0)
        )
