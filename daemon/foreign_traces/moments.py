"""The times of a logger's rows: dates, times of day, seconds, minutes, or days of a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, tzinfo
from enum import Enum
from functools import cache
from itertools import pairwise
from statistics import median
from typing import Literal, NamedTuple

from dateutil import parser as dates

from daemon.foreign_traces.cells import decimal_mark, number

DateOrder = Literal["day-first", "month-first"]


class TimeForm(Enum):
    """How a column writes its times, in the words that a maker reads."""

    DATED = "date and time"
    CLOCK = "hours, minutes and seconds"
    SHORT_CLOCK = "hours and minutes"
    MINUTES_CLOCK = "minutes and seconds"
    SECONDS = "seconds"
    MINUTES = "minutes"
    HOURS = "hours"
    MILLISECONDS = "thousandths of a second"
    SINCE_1970_S = "seconds since 1970"
    SINCE_1970_MS = "thousandths of a second since 1970"
    SPREADSHEET_DAYS = "days since 1900, as spreadsheets count them"


class Moments(NamedTuple):
    """When each row was read."""

    at_s: list[float | None]
    """Seconds from the first row that has a time; None where a row has none."""
    began: datetime | None
    """The moment of that row; None where the file tells no date."""


_DATE = re.compile(r"\d{1,4}[-./]\d{1,2}[-./]\d{1,4}"
                   r"|\d{1,2}[-. ][^\W\d_]{3,}[-. ,]*\d{2,4}|[^\W\d_]{3,} \d{1,2},? \d{4}")
_ORDER = re.compile(r"\D*(\d{1,2})[-./](\d{1,2})[-./]\d{2,4}")
_COMMA_IN_SECONDS = re.compile(r"(:\d{2}),(?=\d)")
_YEAR_FIRST = re.compile(r"\D*\d{4}")
_CLOCK = re.compile(r"(\d{1,4}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*([AaPp])?\.?[Mm]?\.?")
_DAY_S = 86_400.0
_HALF_DAY_S = 43_200.0
"""A day, and half of one [s]. [derived: 24 and 12 hours]"""
_FIRST_DATE_S = 3e8
_LAST_DATE_S = 1e10
"""Seconds since 1970 of a firing lie between [s]. [chosen: 1979 and the year 2286; no firing lasts ten years]"""
_SPREADSHEET_DAYS = (20_000.0, 80_000.0)
"""Days since 1900 of a firing lie between [days]. [derived: 1954 and 2119]"""
_SPREADSHEET_BEGAN = datetime(1899, 12, 30, tzinfo=UTC)
"""Day 0 of a spreadsheet: a leap day in 1900, which there was none, is counted. [from memory: the common
spreadsheets' serial dates]"""
_LONGEST_H = 100.0
_LONGEST_MIN = 3000.0
"""A column without a unit that ends below the first counts hours if it counts in fractions, below the second
minutes. [chosen: firings last 3 to 100 hours, so that seconds end beyond 10,000]"""

_UNITS = ((re.compile(r"milli|\bms\b|_ms\b"), TimeForm.MILLISECONDS),
          (re.compile(r"sec|\bs\b|_s\b|sek"), TimeForm.SECONDS),
          (re.compile(r"min|\bm\b"), TimeForm.MINUTES),
          (re.compile(r"hour|\bhrs?\b|\bh\b|_h\b|stunde"), TimeForm.HOURS))
"""What a column's name says of its unit."""
_UNIT_S = {TimeForm.SECONDS: 1.0, TimeForm.MINUTES: 60.0, TimeForm.HOURS: 3600.0, TimeForm.MILLISECONDS: 1e-3,
           TimeForm.SINCE_1970_S: 1.0, TimeForm.SINCE_1970_MS: 1e-3, TimeForm.SPREADSHEET_DAYS: _DAY_S}


def is_date(cell: str) -> bool:
    """Return whether a cell holds a date, with or without a time of day."""
    return _DATE.search(cell) is not None


def is_clock(cell: str) -> bool:
    """Return whether a cell holds hours and minutes and nothing else."""
    return _CLOCK.fullmatch(cell) is not None


def form_of(name: str, cells: Sequence[str]) -> tuple[TimeForm, bool] | None:
    """Return how a column writes its times, and whether that is sure; None where it holds no times.

    Parameters
    ----------
    name
        The column's name.
    cells
        Its cells; the empty ones are passed over.
    """
    filled = [cell for cell in cells if cell]
    if not filled:
        return None
    if _most(filled, is_date):
        return TimeForm.DATED, True
    if _most(filled, is_clock):
        read = [found for cell in filled if (found := _CLOCK.fullmatch(cell))]
        if any(found[3] or found[4] for found in read):
            return TimeForm.CLOCK, True
        long = max(float(found[1]) for found in read) > _LONGEST_H
        return (TimeForm.MINUTES_CLOCK if long else TimeForm.SHORT_CLOCK), False
    mark = decimal_mark(filled)
    values = [value for cell in filled if (value := number(cell, mark)) is not None]
    if len(values) < 0.9 * len(filled) or not _rises(values):
        return None
    return _counted(name, values)


def _most(cells: Sequence[str], holds: Callable[[str], bool]) -> bool:
    return sum(map(holds, cells)) > 0.9 * len(cells)


def _rises(values: Sequence[float]) -> bool:
    """Return whether numbers count up, or down throughout where the file has the newest row first."""
    steps = [b - a for a, b in pairwise(values)]
    ups, downs = sum(step > 0 for step in steps), sum(step < 0 for step in steps)
    return max(ups, downs) > 0.5 * len(steps) and min(ups, downs) <= 0.02 * len(steps)


def _counted(name: str, values: Sequence[float]) -> tuple[TimeForm, bool]:
    """Return what numbers that rise count, and whether that is sure."""
    lowest, highest = min(values), max(values)
    if lowest > _FIRST_DATE_S and highest < _LAST_DATE_S:
        return TimeForm.SINCE_1970_S, True
    if lowest > 1000 * _FIRST_DATE_S and highest < 1000 * _LAST_DATE_S:
        return TimeForm.SINCE_1970_MS, True
    called = name.lower()
    for pattern, form in _UNITS:
        if pattern.search(called):
            return form, True
    fractions = any(value != int(value) for value in values)
    if _SPREADSHEET_DAYS[0] < lowest and highest < _SPREADSHEET_DAYS[1] and fractions and highest - lowest < 30:
        return TimeForm.SPREADSHEET_DAYS, True
    if highest < _LONGEST_H and fractions:
        return TimeForm.HOURS, False
    return (TimeForm.MINUTES if highest < _LONGEST_MIN else TimeForm.SECONDS), False


def date_order(cells: Sequence[str]) -> tuple[DateOrder, bool]:
    """Return which of day and month comes first in dates such as 03/04/2026, and whether that is sure.

    A number above 12 is a day. Where there is none, the order is taken by which the rows span fewer days; where both
    span as many, the day comes first, unless the hours are written with AM and PM.
    """
    pairs = {(int(found[1]), int(found[2])) for cell in cells
             if not _YEAR_FIRST.match(cell) and (found := _ORDER.match(cell))}
    if not pairs:
        return "day-first", True
    if any(first > 12 for first, _ in pairs) != any(second > 12 for _, second in pairs):
        return ("day-first" if any(first > 12 for first, _ in pairs) else "month-first"), True
    firsts, seconds = {first for first, _ in pairs}, {second for _, second in pairs}
    if len(firsts) != len(seconds):
        return ("day-first" if len(firsts) > len(seconds) else "month-first"), True
    american = any(re.search(r"[ap]\.?m", cell, re.IGNORECASE) for cell in cells)
    return ("month-first" if american else "day-first"), False


def read_moments(cells: Sequence[str], form: TimeForm, order: DateOrder, zone: tzinfo) -> Moments:
    """Return when each row was read.

    Parameters
    ----------
    cells
        The column of times; where a file has a date and a time of day in two columns, both joined by a blank.
    form
        How it writes them.
    order
        Of day and month, in dates that do not begin with the year.
    zone
        Where the clock that wrote dates without an offset stood. An hour that comes twice in autumn is told apart by
        the order of the rows.
    """
    if form is TimeForm.DATED:
        return _dated(cells, order, zone)
    if form is TimeForm.MINUTES_CLOCK:
        clock_s = [_clock_s(cell) for cell in cells]
        return Moments(_from_first([None if value is None else value / 60 for value in clock_s]), None)
    if form in (TimeForm.CLOCK, TimeForm.SHORT_CLOCK):
        return Moments(_from_first(_unrolled([_clock_s(cell) for cell in cells])), None)
    mark = decimal_mark(cells)
    values = [number(cell, mark) for cell in cells]
    at_s = [None if value is None else value * _UNIT_S[form] for value in values]
    began = next((value for value in at_s if value is not None), None)
    if form in (TimeForm.SINCE_1970_S, TimeForm.SINCE_1970_MS) and began is not None:
        return Moments(_from_first(at_s), datetime.fromtimestamp(began, UTC))
    if form is TimeForm.SPREADSHEET_DAYS and began is not None:
        local = (_SPREADSHEET_BEGAN + timedelta(seconds=round(began))).replace(tzinfo=zone)
        return Moments(_from_first(at_s), local.astimezone(UTC))
    return Moments(_from_first(at_s), None)


def _dated(cells: Sequence[str], order: DateOrder, zone: tzinfo) -> Moments:
    read = _date_reader(order)
    found: list[datetime | None] = []
    newest_first = _newest_first([read(cell) for cell in (*cells[:1], *cells[-1:])])
    last: datetime | None = None
    for cell in reversed(cells) if newest_first else cells:
        local = read(cell)
        at = None if local is None else _placed(local, zone, last)
        found.append(at)
        last = at or last
    if newest_first:
        found.reverse()
    began = next((at for at in found if at is not None), None)
    if began is None:
        return Moments([None] * len(cells), None)
    return Moments([None if at is None else (at - began).total_seconds() for at in found], began)


def _date_reader(order: DateOrder) -> Callable[[str], datetime | None]:
    @cache
    def read(cell: str) -> datetime | None:
        if not is_date(cell):
            return None
        # With the year first, the library would still take the last number for the month.
        day_first = order == "day-first" and not _YEAR_FIRST.match(cell)
        try:
            found: datetime = dates.parse(_COMMA_IN_SECONDS.sub(r"\1.", cell), dayfirst=day_first)
        except (ValueError, OverflowError):
            return None
        return found
    return read


def _newest_first(ends: Sequence[datetime | None]) -> bool:
    first, last = (None if end is None else end.replace(tzinfo=None) for end in (ends[0], ends[-1]))
    return first is not None and last is not None and last < first


def _placed(local: datetime, zone: tzinfo, last: datetime | None) -> datetime:
    """Return a time as UTC; of an hour that comes twice, the one that does not go back behind ``last``."""
    if local.tzinfo is not None:
        return local.astimezone(UTC)
    first = local.replace(tzinfo=zone).astimezone(UTC)
    second = local.replace(tzinfo=zone, fold=1).astimezone(UTC)
    return second if last is not None and first < last <= second else first


def _clock_s(cell: str) -> float | None:
    """Return the seconds of a time of day, or of a time since the start."""
    found = _CLOCK.fullmatch(cell)
    if found is None:
        return None
    hours = float(found[1])
    if found[4] and hours <= 12:
        hours = hours % 12 + (12 if found[4] in "pP" else 0)
    return 3600 * hours + 60 * float(found[2]) + float((found[3] or "0").replace(",", "."))


def _unrolled(at_s: Sequence[float | None]) -> list[float | None]:
    """Return times of day with the midnights between them counted."""
    days, last = 0, None
    found: list[float | None] = []
    for value in at_s:
        if value is not None:
            if last is not None and value < last - _HALF_DAY_S:
                days += 1
            last = value
        found.append(None if value is None else value + days * _DAY_S)
    return found


def _from_first(at_s: Sequence[float | None]) -> list[float | None]:
    first = next((value for value in at_s if value is not None), 0.0)
    return [None if value is None else round(value - first, 3) for value in at_s]


def spread(at_s: Sequence[float]) -> list[float]:
    """Return times in which rows that share a time are spread over the time until the next one.

    A logger that writes its times in whole minutes and reads several times a minute has such rows. Nothing is
    changed where fewer than half of the rows share their time with the row before.
    """
    starts = [at for at in range(len(at_s)) if at == 0 or at_s[at] != at_s[at - 1]]
    if len(at_s) - len(starts) < 0.5 * len(at_s) or len(starts) < 2:
        return list(at_s)
    usual_s = median(at_s[b] - at_s[a] for a, b in pairwise(starts))
    found: list[float] = []
    for at, start in enumerate(starts):
        end = starts[at + 1] if at + 1 < len(starts) else len(at_s)
        room_s = min(usual_s, at_s[end] - at_s[start]) if end < len(at_s) else usual_s
        found += [at_s[start] + room_s * row / (end - start) for row in range(end - start)]
    return found
