"""One table of the settings file, whose keys are taken one by one; every problem is noted."""

from __future__ import annotations

from typing import Any, TypeVar

from daemon.toml import named, not_a_line, shown

T = TypeVar("T")


class Table:
    """Takes keys with their kinds and defaults; what is left in the end is unknown."""

    def __init__(self, table: dict[str, Any], where: str, problems: list[str]) -> None:
        self.left = dict(table)
        self.where = where
        self.known: list[str] = []
        self.problems = problems

    def problem(self, key: str, what: str, remedy: str) -> None:
        """Note what is wrong with a key, and the remedy."""
        self.problems.append(f"{self.where}{named(key)}: {what} {remedy}".rstrip())

    def take(self, key: str, kind: type[T], default: T, called: str, remedy: str) -> T:
        """Take a value of one kind, or the default where it is none."""
        self.known.append(key)
        value = self.left.pop(key, default)
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            self.problem(key, f"{shown(value)} is not {called}.", remedy)
            return default
        return value

    def text(self, key: str, default: str) -> str:
        """Take one line of text."""
        self.known.append(key)
        value = self.left.pop(key, default)
        fault = not_a_line(value)
        if fault is not None:
            self.problem(key, fault, "")
            return default
        if default and not value.strip():
            self.problem(key, "is empty.", "Write something, or leave the line out.")
            return default
        return str(value)

    def choice(self, key: str, default: str, known: tuple[str, ...]) -> str:
        """Take one of the known words."""
        value = self.text(key, default)
        if value not in known:
            self.problem(key, f"{shown(value)} is unknown.", f"Known: {', '.join(known)}.")
            return default
        return value

    def texts(self, key: str, default: tuple[str, ...]) -> tuple[str, ...]:
        """Take a list of texts."""
        values = self.take(key, list, list(default), "a list", 'Write ["…", "…"].')
        if not all(not_a_line(value) is None and value.strip() for value in values):
            self.problem(key, f"{shown(values)} holds something that is not text.", 'Write ["…", "…"].')
            return default
        return tuple(values)

    def table(self, key: str) -> Table:
        """Take a table within this one."""
        return Table(self.take(key, dict, {}, "a table", f"Write [{key}] and its lines below."),
                      f"[{key}] ", self.problems)

    def refuse_the_rest(self) -> None:
        """Note every key that nobody took."""
        for key in self.left:
            self.problem(key, "unknown key.", f"Known here: {', '.join(self.known)}.")
