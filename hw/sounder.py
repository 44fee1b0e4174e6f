"""A sounder and a lamp at the kiln: on or off, by two pins of the Pi.

The sounder is one with a tone of its own, as low as can be had: a square wave near 520 Hz wakes best (D. Bruck and
I. Thomas, Victoria University, eprint 3994; NFPA 72 asks 520 Hz ± 10 % where people sleep). A pin gives a few
milliamperes; a louder sounder needs a transistor or a relay board between.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from hw.settings import Settings


class SounderError(Exception):
    """A sounder that cannot be opened: what is wrong, and the remedy."""

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{problem} {remedy}")


@runtime_checkable
class Sounder(Protocol):
    """A sounder with a lamp, real or on the bench."""

    @property
    def name(self) -> str:
        """Return a short name for logs and the page, for instance ``gpio``."""

    def show(self, *, sound: bool, lamp: bool) -> None:
        """Switch both; asked every second, in bounded time.

        Raises
        ------
        OSError
            Where the pins can't be switched.
        """

    def close(self) -> None:
        """Switch both off and let go of the pins."""


SounderOpener = Callable[[Settings], Sounder]
"""Opens a sounder from its settings."""


class Pin(Protocol):
    """One output of the Pi, as digitalio has it."""

    value: bool

    def deinit(self) -> None:
        """Let go of it."""


class GpioSounder:
    """Switches two pins; ``None`` is a pin that is not there.

    Parameters
    ----------
    sound, lamp
        The outputs.
    active_low
        Whether a low level switches on, as many relay boards have it.
    """

    name = "gpio"

    def __init__(self, sound: Pin | None, lamp: Pin | None, *, active_low: bool = False) -> None:
        self._pins = (sound, lamp)
        self._active_low = active_low
        self.show(sound=False, lamp=False)

    def show(self, *, sound: bool, lamp: bool) -> None:
        """Switch both."""
        try:
            for pin, on in zip(self._pins, (sound, lamp), strict=True):
                if pin is not None:
                    pin.value = on is not self._active_low
        except RuntimeError as err:  # what the pin library says of a chip that is gone
            raise OSError(str(err)) from None

    def close(self) -> None:
        """Switch both off and let go."""
        self.show(sound=False, lamp=False)
        for pin in self._pins:
            if pin is not None:
                pin.deinit()


PINS = 28
"""Pins D0 to D27 are on the Pi's header of forty. [source: Raspberry Pi documentation, GPIO and the 40-pin header,
from memory]"""
CONVERTERS_PINS = ("D7", "D8", "D9", "D10", "D11")
"""Pins of the first SPI bus, to which the converter is wired; switching one would blind the probe. [source: Raspberry
Pi documentation, SPI0, from memory]"""


@dataclass(frozen=True, slots=True)
class GpioSettings:
    """Which pins switch what.

    Attributes
    ----------
    pin, lamp_pin
        Of the sounder and the lamp, named as on the board; empty where there is none.
    active_low
        Whether a low level switches on.
    """

    pin: str
    lamp_pin: str
    active_low: bool


def read_gpio_settings(asked: Settings) -> GpioSettings:
    """Return the settings of ``[sounder]``; what is wrong, and each key that is none, is noted in ``asked``."""
    found = GpioSettings(asked.text("pin", ""), asked.text("lamp_pin", ""), asked.flag("active_low", False))
    if not found.pin and not found.lamp_pin:
        asked.problem("pin", "missing.", 'Write pin = "D17", or lamp_pin = "D27".')
    for key, name in (("pin", found.pin), ("lamp_pin", found.lamp_pin)):
        number = re.fullmatch(r"D(\d{1,2})", name)
        if name and (number is None or int(number[1]) >= PINS):
            asked.problem(key, f"{name!r} is no pin of a Raspberry Pi.", f"Write one from D2 to D{PINS - 1}, as D17.")
        elif name in CONVERTERS_PINS:
            asked.problem(key, f"{name} is one of the converter's own pins.", "Take another one, as D17.")
    if found.pin and found.pin == found.lamp_pin:
        asked.problem("lamp_pin", f"{found.lamp_pin} switches the sounder already.", "Give the lamp its own, as D27.")
    return found


def open_gpio(asked: Settings) -> Sounder:
    """Open the sounder on the Pi's pins, named as on the board: ``D17``.

    Raises
    ------
    SounderError
        Naming the pin and the remedy; a wrong setting raises what ``asked`` raises.
    """
    settings = read_gpio_settings(asked)
    asked.finish()
    sound = _pin("pin", settings.pin)
    try:
        lamp = _pin("lamp_pin", settings.lamp_pin)
    except SounderError:
        if sound is not None:
            sound.deinit()  # it would be busy at the next try
        raise
    return GpioSounder(sound, lamp, active_low=settings.active_low)


def _pin(key: str, name: str) -> Pin | None:
    """Return the named pin as an output; None where the name is empty."""
    if not name:
        return None
    try:
        import board  # type: ignore[import-not-found, import-untyped, unused-ignore]
        import digitalio  # type: ignore[import-not-found, import-untyped, unused-ignore]
    except (ImportError, NotImplementedError, RuntimeError) as err:
        raise SounderError(f"this computer has no pins that can be used ({err}).",
                           "Install Lehrling with its [pi] part on a Raspberry Pi, or leave [sounder] out.") from None
    place = getattr(board, name, None)
    if place is None:
        raise SounderError(f"{key} {name} is not on this board.", "Is it a Raspberry Pi with 40 pins?")
    try:
        pin = digitalio.DigitalInOut(place)
        pin.direction = digitalio.Direction.OUTPUT
    except (OSError, RuntimeError, ValueError) as err:
        raise SounderError(f"{key} {name} can't be switched ({err}).",
                           "Is it free, and may this user use GPIO?") from None
    found: Pin = pin
    return found
