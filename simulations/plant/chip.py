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
"""One sample's noise, standard deviation [mV], data sheet (gain 8)."""

_CR0, _CR1, _MASK, _CJHF, _CJLF, _HIGH, _LOW, _CJTO, _CJTH, _HOT, _STATUS = (
    0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x07, 0x09, 0x0A, 0x0C, 0x0F,
)
_AUTO, _ONE_SHOT, _OPEN_TEST, _NO_COLD, _LATCHED, _CLEAR, _50_HZ = 0x80, 0x40, 0x30, 0x08, 0x04, 0x02, 0x01
_SAMPLES = (1, 2, 4, 8, 16, 16, 16, 16)


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
        samples = _SAMPLES[self.registers[_CR1] >> 4 & 7]
        if self.registers[_CR0] & _50_HZ:
            return 0.169 + 0.040 * (samples - 1)
        return 0.143 + 0.03333 * (samples - 1)

    @property
    def repeat_s(self) -> float:
        """Return how long each further automatic conversion takes [s]."""
        samples = _SAMPLES[self.registers[_CR1] >> 4 & 7]
        if self.registers[_CR0] & _50_HZ:
            return 0.098 + 0.020 * (samples - 1)
        return 0.082 + 0.01667 * (samples - 1)

    def transfer(self, sent: bytes) -> bytes:
        """Return what comes back while ``sent`` goes out in one go with chip select low."""
        answer = self._answer(sent)
        if self.bad_bits and answer and self._bits.random() < self.bad_bits:
            spoilt = bytearray(answer)
            spoilt[self._bits.randrange(len(spoilt))] ^= 1 << self._bits.randrange(8)
            return bytes(spoilt)
        return answer

    def _answer(self, sent: bytes) -> bytes:
        if self.absent is not None:
            return bytes((self.absent.value,)) * len(sent)
        if not sent:
            return b""
        self._catch_up()
        address = sent[0] & 0x0F
        if sent[0] & 0x80:
            for offset, value in enumerate(sent[1:]):
                self._write(address + offset & 0x0F, value)
            return bytes(len(sent))
        asked = len(sent) - 1
        if address + asked <= 16:
            return b"\x00" + bytes(self.registers[address:address + asked])
        return b"\x00" + bytes(self.registers[address + n & 0x0F] for n in range(asked))

    def _write(self, address: int, value: int) -> None:
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
        there = self._terminals()
        if there.voltage_fault:
            registers[_STATUS] |= 0x02
            if self.halts_on_voltage:
                return False
        self.conversions += 1
        status = 0x02 if there.voltage_fault else 0x00
        if registers[_CR0] & _NO_COLD:
            cold_code = int.from_bytes(registers[_CJTH:_CJTH + 2], "big", signed=True) >> 2
        else:
            offset = int.from_bytes(registers[_CJTO:_CJTO + 1], "big", signed=True) / 16
            cold_code = round((there.cold_c + offset) * 64)
            if not -55 * 64 <= cold_code <= 125 * 64:
                status |= 0x80
                cold_code = max(-55 * 64, min(125 * 64, cold_code))
            registers[_CJTH:_CJTH + 2] = (cold_code << 2).to_bytes(2, "big", signed=True)
        if there.mv is None and registers[_CR0] & _OPEN_TEST:
            status |= 0x01
        code, beyond = self._linearised(there.mv or 0.0, cold_code / 64)
        registers[_HOT:_HOT + 3] = (code << 5).to_bytes(3, "big", signed=True)
        status |= (0x40 if beyond else 0x00) | self._thresholds(code, cold_code)
        registers[_STATUS] = status | (registers[_STATUS] if registers[_CR0] & _LATCHED else 0)
        return True

    def _linearised(self, mv: float, cold_c: float) -> tuple[int, bool]:
        """Return the 19-bit code [1/128 °C] and whether the temperature is beyond the type's span."""
        kind = TYPE_CODES.get(self.registers[_CR1] & 0x0F)
        if kind is None:
            return 0, True
        samples = _SAMPLES[self.registers[_CR1] >> 4 & 7]
        noise = self._gauss(0.0, self._noise_mv / samples**0.5) if self._noise_mv else 0.0
        total = mv + noise + thermocouple.emf_mv(kind, cold_c)
        hot = thermocouple.temp_c(kind, total)
        if hot is None:
            low, high = thermocouple.span_c(kind)
            return round((high if total > 0 else low) * 128), True
        return round(hot * 128), False

    def _thresholds(self, code: int, cold_code: int) -> int:
        registers = self.registers
        if registers[_CJHF:_CJTO] == RESET[_CJHF:_CJTO]:
            return 0  # as after power-up: beyond what can be measured
        cold_high = int.from_bytes(registers[_CJHF:_CJHF + 1], "big", signed=True) * 64
        cold_low = int.from_bytes(registers[_CJLF:_CJLF + 1], "big", signed=True) * 64
        high = int.from_bytes(registers[_HIGH:_HIGH + 2], "big", signed=True) * 8
        low = int.from_bytes(registers[_LOW:_LOW + 2], "big", signed=True) * 8
        return (
            (0x20 if cold_code > cold_high else 0) | (0x10 if cold_code < cold_low else 0)
            | (0x08 if code > high else 0) | (0x04 if code < low else 0)
        )
