"""Which column of a logger's file is the time, and which ones may be the kiln's temperature."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

from daemon.firing.trace.csv_trace import COLDEST_C, HOTTEST_C
from daemon.foreign_traces.cells import decimal_mark, number
from daemon.foreign_traces.moments import TimeForm, form_of, is_clock, is_date
from daemon.foreign_traces.table import Table

Unit = Literal["C", "F"]

_NAMES_TIME = re.compile(
    r"time|date|stamp|elapsed|second|minute|hour|zeit|datum|uhr|heure|^\W*[tsh]\W*$|\bmin\b|\bsec\b", re.IGNORECASE)
_NAMES_OTHER = re.compile(
    r"set|soll|target|progr|\bsp\b|_sp\b|power|output|duty|leistung|%|humid|\brh\b|volt|\bv\b|amp|batt|current|"
    r"ambient|room|cold.?j|internal|\bcj\b|step|segment|alarm|\bno\.?\b|\bnr\.?\b|record|index|sample", re.IGNORECASE)
"""Names of columns that are no temperature of the kiln: set-points, power, the logger itself, counters."""
_NAMES_TEMPERATURE = re.compile(r"temp|°|º|\bt\d?\b|tc|thermo|probe|kiln|ofen|ch(?:annel)?\W?\d|celsius|fahrenheit",
                                re.IGNORECASE)
_UNIT_IN_WORDS = re.compile(
    r"[°º]\s*([CF])(?![A-Za-z])|deg(?:rees)?\W*([CF])(?![A-Za-z])|(?:^|[\s(\[_,/])([CF])[)\]]?\s*$|(celsius)|(fahrenheit)",
    re.IGNORECASE)
_NEAR_ALL = 0.5
"""A column is one of numbers where more than this share of its cells are. [chosen: a thermocouple that was open for
a third of a night still has a column of its own]"""


_HOTTEST_F = HOTTEST_C * 1.8 + 32
"""A larger figure is no temperature in either unit [°F]. [derived: HOTTEST_C in °F]"""


class TimeColumns(NamedTuple):
    """Where the times stand."""

    at: tuple[int, ...]
    """One column, or the date's and the clock's."""
    form: TimeForm
    sure: bool
    """Whether name or cells tell the form."""


class Channel(NamedTuple):
    """A column of numbers that may be a temperature."""

    at: int
    name: str
    first: float
    lowest: float
    highest: float
    missing: int
    """Rows without a number."""
    unit: Unit | None
    """What the file says; None where it says nothing."""

    @property
    def likely(self) -> bool:
        """Return whether its name allows that it is the temperature of the kiln."""
        return not _NAMES_OTHER.search(self.name)


def cells_of(table: Table, at: Sequence[int]) -> list[str]:
    """Return the cells of a column, or of several joined by a blank, in the order of the rows."""
    return [" ".join(filter(None, (row[column] for column in at))) for row in table.rows]


def time_columns(table: Table) -> TimeColumns | None:
    """Return the columns that tell the time; None where no column does.

    A date with its time of day counts most, then a date and a time of day in two columns, then a column of times by
    its name, and at last the first column that counts up.
    """
    dates = [at for at in range(len(table.names)) if _holds(table, at, is_date)]
    for at in dates:
        if _holds(table, at, lambda cell: ":" in cell or "T" in cell):
            return TimeColumns((at,), TimeForm.DATED, True)
    clocks = [at for at in range(len(table.names)) if _holds(table, at, is_clock)]
    if dates and clocks:
        return TimeColumns((dates[0], clocks[0]), TimeForm.DATED, True)
    found = {at: form for at in range(len(table.names)) if at not in dates
             and (form := form_of(table.names[at], cells_of(table, [at])))}
    by_name = [at for at in found if _NAMES_TIME.search(table.names[at])]
    counters = [at for at in found if _NAMES_OTHER.search(table.names[at])]
    for at in (*by_name, *clocks, *(at for at in found if at not in counters)):
        if at in found:
            return TimeColumns((at,), *found[at])
    return None


def _holds(table: Table, at: int, holds: object) -> bool:
    cells = [cell for row in table.rows if (cell := row[at])]
    return bool(cells) and callable(holds) and sum(map(holds, cells)) > 0.9 * len(cells)


def channels(table: Table, times: Sequence[int]) -> list[Channel]:
    """Return the columns of numbers that are not the time, as they stand in the file.

    Parameters
    ----------
    table
        The whole file.
    times
        The columns of the time.
    """
    found = []
    for at, name in enumerate(table.names):
        cells = cells_of(table, [at])
        mark = decimal_mark(cells)
        values = [value for cell in cells
                  if (value := number(cell, mark)) is not None and COLDEST_C <= value <= _HOTTEST_F]
        if at not in times and len(values) > _NEAR_ALL * len(cells):
            found.append(Channel(at, name, values[0], min(values), max(values), len(cells) - len(values),
                                 unit_in(name) or unit_in(next(filter(None, cells), ""))))
    return found


def unit_in(words: str) -> Unit | None:
    """Return the unit of temperature that a column's name or a cell names; None where it names none."""
    found = _UNIT_IN_WORDS.search(words)
    if found is None:
        return None
    letter = next(filter(None, found.groups()))[0].upper()
    return "F" if letter == "F" else "C"


def likeliest(found: Sequence[Channel]) -> tuple[Channel, tuple[Channel, ...]] | None:
    """Return the channel that is most likely the kiln's temperature, and the others that may be it.

    Of those whose name is no other thing's, the ones named as a temperature come first, and of these the one that
    rose furthest. None where there is no channel.
    """
    possible = [channel for channel in found if channel.likely] or list(found)
    named = [channel for channel in possible if _NAMES_TEMPERATURE.search(channel.name)] or possible
    if not named:
        return None
    first = max(named, key=lambda channel: channel.highest - channel.lowest)
    half = (first.highest - first.lowest) / 2
    return first, tuple(channel for channel in possible
                        if channel is not first and channel.highest - channel.lowest > half)
