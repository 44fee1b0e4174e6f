"""How the one who looks likes to read: unit, clock and light; kept by their browser, sent to nobody else."""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from urllib.parse import parse_qs, urlencode

COOKIE = "lehrling-reads"
UNITS = ("C", "F")
LIGHTS = ("", "day", "night")
"""By the device, always day, always night."""


@dataclass(frozen=True, slots=True)
class Taste:
    """One reader's taste."""

    unit: str = "C"
    twelve: bool = False
    """Whether the clock counts to twelve."""
    light: str = ""


_TWELVE: ContextVar[bool] = ContextVar("lehrling-twelve-hours", default=False)
"""Of the request being answered; set anew for each."""


def read_taste(cookie: str, owner_unit: str) -> Taste:
    """Return the taste a browser keeps; what can't be read is as the owner has it."""
    try:
        kept = parse_qs(cookie[:200], strict_parsing=False, max_num_fields=8)
    except ValueError:
        kept = {}
    unit, light = kept.get("unit", [""])[0], kept.get("light", [""])[0]
    return Taste(unit if unit in UNITS else owner_unit, kept.get("hours", [""])[0] == "12",
                 light if light in LIGHTS else "")


def write_taste(taste: Taste) -> str:
    """Return a taste as a browser keeps it."""
    return urlencode({"unit": taste.unit, "hours": "12" if taste.twelve else "24", "light": taste.light})


def use(taste: Taste) -> None:
    """Say times by this taste from here on, in this request."""
    _TWELVE.set(taste.twelve)


def twelve() -> bool:
    """Return whether the reader's clock counts to twelve."""
    return _TWELVE.get()
