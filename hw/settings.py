"""A probe's settings, read key by key so that a wrong one is named with its value and the remedy."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NoReturn, TypeVar

from hw.thermocouple import ProbeError

T = TypeVar("T")


class Settings:
    """What stands under ``[probe]``; every key must be asked for, or ``finish`` refuses it.

    Parameters
    ----------
    given
        The settings as they were read; ``kind`` is the service's own and passes.
    """

    def __init__(self, given: Mapping[str, Any]) -> None:
        self._given = dict(given)
        self._asked = {"kind"}

    def text(self, key: str, default: str) -> str:
        """Return a text."""
        value = self._take(key, default)
        if not isinstance(value, str) or not value:
            self.refuse(key, "Write a text in quotes.")
        return value

    def number(self, key: str, default: float, low: float, high: float) -> float:
        """Return a number from ``low`` to ``high``."""
        value = self._take(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            self.refuse(key, f"Write a number from {low:g} to {high:g}.")
        return float(value)

    def choice(self, key: str, default: T, known: tuple[T, ...]) -> T:
        """Return one of ``known``."""
        value: T = self._take(key, default)
        if isinstance(value, bool) or value not in known:
            self.refuse(key, f"Known: {', '.join(str(one) for one in known)}.")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts, empty where there is none; one text alone is a list of one."""
        value = self._take(key, [])
        value = [value] if isinstance(value, str) else value
        if not isinstance(value, list | tuple) or not all(isinstance(one, str) for one in value):
            self.refuse(key, 'Write a list of texts: ["…", "…"].')
        return tuple(value)

    def read(self, key: str, default: str, reader: Callable[[str], T]) -> T:
        """Return what ``reader`` makes of a text; its ValueError becomes a named refusal."""
        text = self.text(key, default)
        try:
            return reader(text)
        except ValueError as err:
            self.refuse(key, str(err))

    def finish(self) -> None:
        """Refuse every key nobody asked for."""
        unknown = sorted(set(self._given) - self._asked)
        if unknown:
            raise ProbeError(
                f"[probe] {', '.join(unknown)}: unknown key.",
                f"Known here: {', '.join(sorted(self._asked))}.",
            )

    def refuse(self, key: str, remedy: str) -> NoReturn:
        """Raise the ProbeError that names ``key`` and its value."""
        raise ProbeError(f"[probe] {key} = {self._given.get(key)!r} can't be used.", remedy)

    def _take(self, key: str, default: Any) -> Any:
        self._asked.add(key)
        return self._given.get(key, default)
