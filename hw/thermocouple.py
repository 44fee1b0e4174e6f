"""What a probe is: one bounded read that never invents a temperature."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol, runtime_checkable

from hw.settings import Settings


class Fault(StrEnum):
    """Why there is no temperature; the words are those of the trace file."""

    OPEN = "open"
    """The thermocouple circuit is broken."""
    SHORT = "short"
    """Over- or under-voltage at the chip's input, or a wire touching something it should not."""
    RANGE = "range"
    """A temperature or cold junction that cannot be."""
    SILENT = "silent"
    """The chip does not answer, answers nonsense, or has lost its settings."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One look at the probe.

    Attributes
    ----------
    temp_c
        Temperature of the measuring junction [°C]; None whenever there is a fault. Never a stand-in.
    cold_junction_c
        Temperature of the chip's own reference [°C], where it could be read.
    fault
        Why ``temp_c`` is None; None for a good reading.
    detail
        A sentence for the log, naming what was seen and expected.
    """

    temp_c: float | None
    cold_junction_c: float | None = None
    fault: Fault | None = None
    detail: str = ""

    def __post_init__(self) -> None:
        """Hold the promise that a reading has a temperature or a reason, never both or neither."""
        if (self.temp_c is None) == (self.fault is None):
            raise ValueError("a reading has either a temperature or a fault")


class ProbeError(Exception):
    """A probe that cannot be opened: what is wrong, and the remedy.

    Parameters
    ----------
    problem
        What is wrong, naming the setting or device and its value.
    remedy
        What to do about it.
    """

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem = problem
        self.remedy = remedy
        super().__init__(f"{problem} {remedy}")


@runtime_checkable
class Thermocouple(Protocol):
    """A probe in the kiln, real, recorded or on the bench."""

    @property
    def name(self) -> str:
        """Return a short name for logs and the page, for instance ``max31856``."""

    def read(self) -> Reading:
        """Return what the probe says now, in bounded time; trouble is a fault, not an exception."""

    def close(self) -> None:
        """Let go of the bus or file."""


ProbeOpener = Callable[[Settings, Callable[[], float]], Thermocouple]
"""Opens a probe from its settings and the firing clock, a function that gives seconds."""
