"""What was typed into a form, checked field by field, and kept as it was typed where something is wrong."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import time
from typing import Any

from werkzeug.datastructures import MultiDict

from daemon.typed_number import NOT_A_NUMBER, read_number
from web.request.thickness import read_mm

MAX_LINE = 120
MAX_TEXT = 4000
"""Longest text of one line, and of a note [characters]. [chosen: a title, and two pages]"""


def whole(typed: str) -> int | None:
    """Return a whole number of at most eleven digits, as addresses and forms name rows by; None for anything else."""
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 12 else None


class Form:
    """One form as typed; ``wrong`` names each field that can't be used and says why."""

    def __init__(self, typed: Mapping[str, Any] | MultiDict[str, str] | None = None) -> None:
        self.typed: MultiDict[str, str] = MultiDict(typed or {})
        self.wrong: dict[str, str] = {}

    def __getitem__(self, name: str) -> str:
        """Return what was typed into a field, for showing it again."""
        return self.typed.get(name, "")

    def has(self, name: str, value: object) -> bool:
        """Return whether ``value`` is among what was chosen for a field."""
        return str(value) in self.typed.getlist(name)

    def line(self, name: str, *, asked: str = "") -> str:
        """Return a single line; ``asked`` is what to say where it is empty and must not be."""
        value = " ".join("".join(c if c.isprintable() else " " for c in self[name]).split())
        if len(value) > MAX_LINE:
            self.wrong[name] = f"This has {len(value)} characters. Use at most {MAX_LINE}."
        elif asked and not value:
            self.wrong[name] = asked
        return value

    def text(self, name: str, *, asked: str = "") -> str:
        """Return several lines of text."""
        kept = "".join(c for c in self[name].replace("\r\n", "\n") if c.isprintable() or c in "\n\t").strip()
        if len(kept) > MAX_TEXT:
            self.wrong[name] = f"This has {len(kept)} characters. Use at most {MAX_TEXT}."
        elif asked and not kept:
            self.wrong[name] = asked
        return kept

    def clock_time(self, name: str) -> str:
        """Return a time of day as 22:30, or nothing where the field was left empty."""
        typed = self[name].strip()
        try:
            return f"{time.fromisoformat(typed):%H:%M}" if typed else ""
        except ValueError:
            self.wrong[name] = f"“{typed[:40]}” is no time of day. Write it as 22:30."
            return ""

    def number(self, name: str, low: float, high: float, unit: str) -> float | None:
        """Return a number within ``low`` to ``high``; None where the field was left empty.

        ``unit`` may be empty, as of a price.
        """
        typed = self[name].strip()
        if not typed:
            return None
        value, wrong = read_number(typed)
        if value is None:
            write = f"a number of {unit}" if unit else "it in digits, such as 0.30"
            self.wrong[name] = f"“{typed[:40]}” {wrong}" + (f" Write {write}." if wrong == NOT_A_NUMBER else "")
            return None
        if not low <= value <= high:
            of = f" {unit}" if unit else ""
            said = f"“{typed[:40]}”" if "e" in f"{value:g}" else f"{value:g}"  # 1e+99 is no maker's writing
            self.wrong[name] = f"{said}{of} is outside {low:g} to {high:g}{of}. Check the figure."
            return None
        return value

    def thickness(self, name: str, low_mm: float, high_mm: float, unit: str) -> float | None:
        """Return a thickness [mm] within bounds, written in ``unit`` ("mm" or "inch") where it names none itself."""
        typed = self[name].strip()
        if not typed:
            return None
        value = read_mm(typed, unit)
        if value is None:
            self.wrong[name] = f"“{typed[:40]}” is not a number. Write a number of mm, or inches as 1/4\"."
            return None
        if not low_mm <= value <= high_mm:
            self.wrong[name] = f"{value:g} mm is outside {low_mm:g} to {high_mm:g} mm. Check the figure."
            return None
        return value

    def choice(self, name: str, options: Collection[str], default: str) -> str:
        """Return one of ``options``."""
        value = self.typed.get(name, default)
        if value not in options:
            self.wrong[name] = "Choose one of the list."
            return default
        return value

    def ids(self, name: str, known: Collection[int]) -> list[int]:
        """Return the chosen ids, each among ``known``."""
        found = []
        for value in dict.fromkeys(self.typed.getlist(name)):
            if not value:
                continue
            if not value.isascii() or not value.isdigit() or int(value[:12]) not in known:
                self.wrong[name] = "One of these is not kept here any more. Choose again."
                continue
            found.append(int(value))
        return found
