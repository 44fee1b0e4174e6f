"""One typed reader for settings and requests: keys are taken one by one, all problems are reported at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple, TypeVar

from daemon.errors import BadInput
from daemon.toml import finite, named, not_a_line, shown

T = TypeVar("T")
D = TypeVar("D")
"""Of a default: None where a key that is left out stays unknown."""


class Problem(NamedTuple):
    """What is wrong with one key: where it stands, what is wrong with its value, and the remedy."""

    where: str
    what: str
    remedy: str

    def __str__(self) -> str:
        """Return it as one line."""
        return f"{self.where}: {self.what} {self.remedy}".rstrip()


class Fields:
    """Takes keys with their kinds and defaults; what is left in the end is unknown.

    Each of its methods returns the default where the key is left out, and where its value can't be used; then it
    notes a problem as well. ``finish`` reports them all.

    Parameters
    ----------
    given
        The table as it was read.
    where
        Stands before each key in messages, for instance ``"[page] "``.
    problems
        Where to note; tables of one file share it.
    """

    def __init__(self, given: Mapping[str, Any], where: str = "", problems: list[Problem] | None = None) -> None:
        self.left = dict(given)
        self.where = where
        self.known: list[str] = []
        self.problems: list[Problem] = [] if problems is None else problems

    def problem(self, key: str, what: str, remedy: str) -> None:
        """Note what is wrong with a key, and the remedy."""
        self.problems.append(Problem(f"{self.where}{named(key)}", what, remedy))

    def has(self, key: str) -> bool:
        """Return whether the key is there and was not taken yet."""
        return key in self.left

    def take(self, key: str, kind: type[T], default: T, called: str, remedy: str) -> T:
        """Take a value of one kind."""
        value = self._value(key, default)
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            self.problem(key, f"{shown(value)} is not {called}.", remedy)
            return default
        return value

    def flag(self, key: str, default: bool) -> bool:
        """Take true or false."""
        return self.take(key, bool, default, "true or false", f"Write {key} = true.")

    def number(self, key: str, default: D, low: float, high: float, unit: str = "") -> float | D:
        """Take a number from ``low`` to ``high``."""
        span = f"{low:g} to {high:g} {unit}".rstrip()
        value = self._value(key, default)
        found = finite(value)
        if value is None and default is None:
            return default
        if found is None:
            self.problem(key, f"{shown(value)} is not a number.", f"Write a number from {span}.")
            return default
        if not low <= found <= high:
            self.problem(key, f"{shown(value)} is outside {span}.", "")
            return default
        return found

    def whole(self, key: str, default: D, low: int, high: int, remedy: str = "") -> int | D:
        """Take a whole number from ``low`` to ``high``."""
        value = self._value(key, default)
        if value is None and default is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int):
            self.problem(key, f"{shown(value)} is not a whole number.", remedy)
            return default
        if not low <= value <= high:
            self.problem(key, f"{shown(value)} is outside {low} to {high}.", remedy)
            return default
        return value

    def text(self, key: str, default: str, *, lines: bool = False) -> str:
        """Take a text, of one line unless ``lines``; not an empty one where the default is none."""
        value = self._value(key, default)
        fault = None if lines and isinstance(value, str) else not_a_line(value)
        if fault is not None:
            self.problem(key, fault, "")
            return default
        if default and not value.strip():
            self.problem(key, "is empty.", "Write something, or leave the line out.")
            return default
        return str(value)

    def choice(self, key: str, default: T, known: tuple[T, ...]) -> T:
        """Take one of the known words or numbers."""
        value = self.text(key, default) if isinstance(default, str) else self._value(key, default)
        if value is default:
            return default
        for one in known:
            if one == value and not isinstance(value, bool):
                return one
        self.problem(key, f"{shown(value)} is unknown.", f"Known: {', '.join(str(one) for one in known)}.")
        return default

    def texts(self, key: str, default: tuple[str, ...] = ()) -> tuple[str, ...]:
        """Take a list of texts."""
        values = self.take(key, list, list(default), "a list", 'Write ["…", "…"].')
        if not all(not_a_line(value) is None and value.strip() for value in values):
            self.problem(key, f"{shown(values)} holds something that is not text.", 'Write ["…", "…"].')
            return default
        return tuple(values)

    def table(self, key: str) -> Fields:
        """Take a table within this one."""
        return Fields(self.take(key, dict, {}, "a table", f"Write [{key}] and its lines below."),
                      f"[{key}] ", self.problems)

    def refuse_the_rest(self) -> None:
        """Note every key that nobody took."""
        for key in self.left:
            self.problem(key, "unknown key.", f"Known here: {', '.join(self.known)}.")

    def tell(self, source: str) -> None:
        """Raise what was noted, if anything.

        Raises
        ------
        BadInput
            Naming ``source``, and each key with its value and the remedy.
        """
        if self.problems:
            told = "\n  ".join(str(problem) for problem in self.problems)
            raise BadInput(source, f"these settings can't be used:\n  {told}")

    def finish(self) -> None:
        """Refuse the keys that nobody took, and raise what was noted, if anything; a single problem by itself.

        Raises
        ------
        BadInput
            Naming each key with its value and the remedy.
        """
        self.refuse_the_rest()
        if len(self.problems) == 1:
            raise BadInput(*self.problems[0])
        self.tell(self.where.strip())

    def _value(self, key: str, default: object) -> Any:
        self.known.append(key)
        return self.left.pop(key, default)
