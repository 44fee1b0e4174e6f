"""A time of day as somebody typed it, read in one way by the page and the commands.

Read are 21:30, 9:30, 21.30, 21h30, 21h, 2130, 21, 9pm, 9:30 p.m., noon and midnight. A figure alone up to 12 may be
morning or evening, and 12 am or 12 pm noon or midnight: both are refused, with what to write instead.
"""

from __future__ import annotations

import re
from datetime import time

HOW = "Write it as 21:30 or 9:30 pm."
"""How a time of day is written, as the last sentence of what is wrong."""
_NOT_ONE = f"is no time of day. {HOW}"
_HALF = r"([ap])\.?\s?m\.?"
_OF_24 = [re.compile(form, re.ASCII | re.IGNORECASE) for form in (
    r"(\d{1,2})[:.](\d\d)(?::00)?(?:\s?h)?",
    r"(\d\d)(\d\d)(?:\s?h)?",
    r"(\d{1,2})\s?h(?:\s?(\d\d)(?:\s?m(?:in)?)?)?",
)]
_OF_12 = re.compile(rf"(\d{{1,2}})(?:[:.](\d\d))?\s?{_HALF}", re.ASCII | re.IGNORECASE)
_HOUR = re.compile(r"\d{1,2}", re.ASCII)
_WORDS = {"noon": time(12), "midday": time(12), "midnight": time(0)}
_BELONGS = re.compile(rf"(?<=\d)\s+(?=(?:{_HALF}|h)(?![a-z]))", re.ASCII | re.IGNORECASE)
"""The blank between a figure and what belongs to it."""
_APART = re.compile(r"[\s,;+]+")
_NOON = 12
"""The hour of noon, and how many the smaller clock has. [derived: a day has 24 hours]"""


def read_time(text: str) -> tuple[time | None, str]:
    """Return the time of day that a text spells, and what is wrong.

    Parameters
    ----------
    text
        As typed, such as ``21:30``, ``9 pm`` or ``21h``.

    Returns
    -------
    tuple
        The time and an empty text; or None and what is wrong, as the end of a sentence that begins with the text.
    """
    text = " ".join(text.split())
    if text.lower() in _WORDS:
        return _WORDS[text.lower()], ""
    if found := _OF_12.fullmatch(text):
        return _of_12(int(found[1]), int(found[2] or 0), is_pm=found[3] in "pP")
    if found := next(filter(None, (form.fullmatch(text) for form in _OF_24)), None):
        return _of_24(int(found[1]), int(found[2] or 0))
    if not _HOUR.fullmatch(text):
        return None, _NOT_ONE
    if int(text) > _NOON:
        return _of_24(int(text), 0)
    return None, f"could be morning or evening. Write {int(text):02d}:00 or {(int(text) + _NOON) % 24:02d}:00."


def _of_24(hour: int, minute: int) -> tuple[time | None, str]:
    """Return a time by the clock of 24 hours; 24:00 is midnight (as in ISO 8601)."""
    if (hour, minute) == (24, 0):
        return time(0), ""
    try:
        return time(hour, minute), ""
    except ValueError:
        return None, _NOT_ONE


def _of_12(hour: int, minute: int, *, is_pm: bool) -> tuple[time | None, str]:
    """Return a time by the clock of 12 hours; at 12 sharp am and pm mean different things to different people."""
    if not 1 <= hour <= _NOON:
        return None, _NOT_ONE
    if (hour, minute) == (_NOON, 0):
        return None, "could be noon or midnight. Write 12:00 for noon, 00:00 for midnight."
    return _of_24(hour % _NOON + _NOON * is_pm, minute)


def times_in(text: str) -> list[str]:
    """Return the times of day of a line, each as typed: ``9 pm, 23:00`` holds two."""
    return [one for one in _APART.split(_BELONGS.sub("", text.strip())) if one]
