"""A look-alike of a bare board's SPI bus and chip select pin, with the stand-in chip on it."""

from __future__ import annotations

from simulations.plant.chip import Chip

HIGHEST_HZ = 5_000_000
"""The fastest clock the chip takes [Hz]. [source: MAX31856 data sheet]"""


class Select:
    """The chip select pin."""

    def __init__(self) -> None:
        self.value = True

    def switch_to_output(self, value: bool = False) -> None:
        """Drive the pin, at first to ``value``."""
        self.value = value


class Spi:
    """The bus with the chip on it, as the driver of a bare board would have it."""

    def __init__(self, chip: Chip, select: Select) -> None:
        self._chip = chip
        self._select = select
        self._locked = False
        self._mode: tuple[int, int] | None = None
        self._sent = b""
        self._was_selected = False

    def try_lock(self) -> bool:
        """Take the bus, if it is free."""
        if self._locked:
            return False
        self._locked = True
        self._sent = b""
        return True

    def unlock(self) -> None:
        """Let go of the bus; chip select has gone high and what was written has its effect."""
        if self._sent and self._sent[0] & 0x80 and self._mode == (0, 1):
            self._chip.transfer(self._sent)
        self._sent = b""
        self._locked = False

    def configure(self, baudrate: int = 100_000, polarity: int = 0, phase: int = 0, bits: int = 8) -> None:
        """Set the mode; the chip takes up to 5 MHz and samples on the second edge."""
        if baudrate > HIGHEST_HZ:
            raise ValueError(f"the chip takes up to 5 MHz, not {baudrate}")
        self._mode = (polarity, phase)

    def write(self, buffer: bytes | bytearray, *, start: int = 0, end: int | None = None) -> None:
        """Send bytes."""
        self._exchange(bytes(buffer[start:end]))

    def readinto(
        self, buffer: bytearray, *, start: int = 0, end: int | None = None, write_value: int = 0,
    ) -> None:
        """Receive bytes while sending ``write_value``."""
        stop = len(buffer) if end is None else end
        buffer[start:stop] = self._exchange(bytes((write_value,)) * (stop - start))

    def write_readinto(self, out: bytes | bytearray, buffer: bytearray) -> None:
        """Send and receive at once."""
        buffer[: len(out)] = self._exchange(bytes(out))

    def _exchange(self, data: bytes) -> bytes:
        """Return what comes back for ``data``; the chip takes what is written only when chip select goes high."""
        if not self._locked:
            raise RuntimeError("the bus is not locked")
        if self._select.value or self._mode != (0, 1):
            return b"\xff" * len(data)  # nobody drives the line, or bits are read on the wrong edge
        self._sent += data
        if self._sent[0] & 0x80:
            return bytes(len(data))
        return self._chip.transfer(self._sent)[-len(data):]
