"""The chip's bus as the driver wants to see it, over one function that transfers bytes.

The kernel drives chip select itself, low for one transfer and high again, so what the driver writes and
then reads must go out as one transfer: writes wait until the driver reads or lets go of the bus.
"""

from __future__ import annotations

from collections.abc import Callable


class Bus:
    """A bus with one chip on it, for one thread.

    Parameters
    ----------
    transfer
        Sends bytes with chip select low and returns as many received ones; may raise OSError.
    """

    def __init__(self, transfer: Callable[[bytes], bytes]) -> None:
        self._transfer = transfer
        self._waiting = b""

    def try_lock(self) -> bool:
        """Take the bus; there is nobody to share it with."""
        self._waiting = b""
        return True

    def configure(self, baudrate: int, polarity: int, phase: int) -> None:
        """Leave the mode as the opener set it."""

    def write(self, buffer: bytes | bytearray, start: int = 0, end: int | None = None) -> None:
        """Keep bytes to send with what follows."""
        self._waiting += bytes(buffer[start:end])

    def readinto(
        self, buffer: bytearray, start: int = 0, end: int | None = None, write_value: int = 0,
    ) -> None:
        """Send what waits, go on clocking, and fill ``buffer`` with what comes back after it."""
        stop = len(buffer) if end is None else end
        sent = self._waiting + bytes([write_value]) * (stop - start)
        self._waiting = b""
        received = self._transfer(sent)
        buffer[start:stop] = received[len(sent) - (stop - start):]

    def unlock(self) -> None:
        """Send what still waits and let go."""
        waiting, self._waiting = self._waiting, b""
        if waiting:
            self._transfer(waiting)
