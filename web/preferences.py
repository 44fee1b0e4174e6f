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
class Preferences:
    """How one reader likes figures, times and the page's light."""

    unit: str = "C"
    twelve: bool = False
    """Whether the clock counts to twelve."""
    light: str = ""


_TWELVE: ContextVar[bool] = ContextVar("lehrling-twelve-hours", default=False)
"""Of the request being answered; set anew for each."""


def read_preferences(cookie: str, owner_unit: str) -> Preferences:
    """Return the preferences in a browser's cookie; where one can't be read, the owner's unit and the defaults."""
    try:
        kept = parse_qs(cookie[:200], strict_parsing=False, max_num_fields=8)
    except ValueError:
        kept = {}
    unit, light = kept.get("unit", [""])[0], kept.get("light", [""])[0]
    return Preferences(unit if unit in UNITS else owner_unit, kept.get("hours", [""])[0] == "12",
                 light if light in LIGHTS else "")


def write_preferences(chosen: Preferences) -> str:
    """Return preferences as the text of a cookie."""
    return urlencode({"unit": chosen.unit, "hours": "12" if chosen.twelve else "24", "light": chosen.light})


def use(chosen: Preferences) -> None:
    """Write times of day by these preferences for the rest of this request."""
    _TWELVE.set(chosen.twelve)


def twelve() -> bool:
    """Return whether the reader's clock counts to twelve."""
    return _TWELVE.get()
