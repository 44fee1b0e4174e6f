"""What an opener of a probe or sounder is handed to read its settings with; the service brings the reader."""

from __future__ import annotations

from typing import Protocol, TypeVar

T = TypeVar("T")


class Settings(Protocol):
    """The settings of one table, read key by key; problems are noted, and ``finish`` raises them all at once."""

    def has(self, key: str) -> bool:
        """Return whether the key is there and was not taken yet."""

    def problem(self, key: str, what: str, remedy: str) -> None:
        """Note what is wrong with a key, and the remedy."""

    def text(self, key: str, default: str, *, lines: bool = False) -> str:
        """Take a text, of one line unless ``lines``."""

    def texts(self, key: str, default: tuple[str, ...] = ()) -> tuple[str, ...]:
        """Take a list of texts."""

    def flag(self, key: str, default: bool) -> bool:
        """Take true or false."""

    def number(self, key: str, default: float, low: float, high: float, unit: str = "") -> float:
        """Take a number from ``low`` to ``high``."""

    def choice(self, key: str, default: T, known: tuple[T, ...]) -> T:
        """Take one of the known words or numbers."""

    def finish(self) -> None:
        """Raise every problem noted; a key that nobody took is one."""
