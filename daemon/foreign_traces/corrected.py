"""A logger's file read with what the maker says of it, by the words that the command line and the page share."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import tzinfo
from typing import Literal, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import tzlocal

from daemon.errors import BadInput
from daemon.foreign_traces.encoding import text_of
from daemon.foreign_traces.moments import TimeForm
from daemon.foreign_traces.readings import Readings, read
from daemon.foreign_traces.table import read_table
from daemon.foreign_traces.understanding import Corrections, Understanding, understand

_Known = TypeVar("_Known")
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|", "space": " "}
FORMS = {
    "seconds": TimeForm.SECONDS, "minutes": TimeForm.MINUTES, "hours": TimeForm.HOURS,
    "milliseconds": TimeForm.MILLISECONDS, "hours-minutes": TimeForm.SHORT_CLOCK,
    "minutes-seconds": TimeForm.MINUTES_CLOCK, "date": TimeForm.DATED,
}
DECIMALS: dict[str, Literal[".", ","]] = {"point": ".", "comma": ","}
DATES: dict[str, Literal["day-first", "month-first"]] = {"day-first": "day-first", "month-first": "month-first"}
UNITS: dict[str, Literal["C", "F"]] = {"C": "C", "F": "F"}
_MOST_S = 3600.0
"""Two rows are at most so far apart [s]. [chosen: fewer rows an hour tell nothing of a firing]"""


def understood(data: bytes, source: str, asked: Mapping[str, str]) -> tuple[Understanding, Readings]:
    """Return how a file is read, and its readings.

    Parameters
    ----------
    data
        The file.
    source
        What to call it in messages.
    asked
        What the maker says, by the names of the options: ``delimiter``, ``decimal``, ``time``, ``time_form``,
        ``dates``, ``zone``, ``every_s``, ``temperature``, ``unit``. What is missing or empty is guessed.

    Raises
    ------
    BadInput
        Where the file can't be read, or what is said can't be used.
    """
    table = read_table(text_of(data, source), source, _one(asked, "delimiter", DELIMITERS))
    found = understand(table, source, _zone(asked.get("zone", "")), _corrections(asked))
    return found, read(found, source)


def _corrections(asked: Mapping[str, str]) -> Corrections:
    return Corrections(
        time=asked.get("time") or None, time_form=_one(asked, "time_form", FORMS),
        temperature=asked.get("temperature") or None, unit=_one(asked, "unit", UNITS),
        decimal=_one(asked, "decimal", DECIMALS), dates=_one(asked, "dates", DATES),
        every_s=_every_s(asked.get("every_s", "")))


def _one(asked: Mapping[str, str], name: str, known: Mapping[str, _Known]) -> _Known | None:
    """Return what a word stands for; None where nothing was said."""
    word = asked.get(name, "")
    if not word:
        return None
    if word not in known:
        raise BadInput(f"--{name.replace('_', '-')} {word}", "is not known.", f"Write one of {', '.join(known)}.")
    return known[word]


def _every_s(typed: str) -> float | None:
    if not typed:
        return None
    try:
        every_s = float(typed.replace(",", "."))
    except ValueError:
        every_s = 0.0
    if not 0 < every_s <= _MOST_S:
        raise BadInput(f"--every-s {typed}", f"is not between 0 and {_MOST_S:.0f} s.",
                       "Write the seconds between two rows.")
    return every_s


def _zone(name: str) -> tzinfo:
    try:
        return ZoneInfo(name) if name else tzlocal.get_localzone()
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput(f"--zone {name}", "is no time zone that is known here.",
                       "Write one such as Europe/Berlin or America/New_York.") from None
