"""The readings of a logger's file, once it is clear how to read it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import NamedTuple

from daemon.errors import BadInput
from daemon.firing.durations import duration
from daemon.firing.events import Sample
from daemon.firing.trace.csv_trace import COLDEST_C, HOTTEST_C
from daemon.foreign_traces.cells import number
from daemon.foreign_traces.columns import cells_of
from daemon.foreign_traces.moments import Moments, TimeForm, read_moments, spread
from daemon.foreign_traces.understanding import Understanding, to_c

_STRAY_BACK_S = 1200.0
"""A row may stand this much behind the row before it [s]; it is put in its place. [chosen: a logger that sends late
mixes minutes; the hour of a changed clock is longer]"""
_UNREADABLE = 0.05
"""Rows without a readable time that are passed over, at most. [chosen: a summary at the end of the file; more means
that the column was misunderstood]"""
_OPEN_WORDS = ("open", "o.c.", "burn", "unplug", "offen")
_RANGE_WORDS = ("ol", "over", "under", "range", "+", "-")


class Readings(NamedTuple):
    """What the file holds."""

    samples: list[Sample]
    """In time order, at whole seconds from the first row, temperatures in °C."""
    began: datetime | None
    """When the first row was read, in UTC; None where the file tells no date."""
    notes: tuple[str, ...]
    """A sentence for each thing that was done to the rows."""


def read(found: Understanding, source: str) -> Readings:
    """Return the readings of a file.

    Parameters
    ----------
    found
        How to read it.
    source
        What to call it in messages.

    Raises
    ------
    BadInput
        Where the times can't be read or go back too far.
    """
    notes: list[str] = []
    moments = _moments(found, source)
    rows = [(at, row) for row, at in enumerate(moments.at_s) if at is not None]
    lost = len(moments.at_s) - len(rows)
    if lost > _UNREADABLE * len(moments.at_s):
        bad = next(row for row, at in enumerate(moments.at_s) if at is None)
        raise BadInput(f"{source}, line {found.table.line_numbers[bad]}", "has a time that can't be read.",
                       "Name the column of times (--time) and what it counts (--time-form).")
    if lost:
        notes.append(f"{_rows(lost)} without a readable time {'was' if lost == 1 else 'were'} left out.")
    rows, began = _in_order(rows, moments.began, found, source, notes)
    at_s = [at for at, _ in rows]
    even_s = spread(at_s)
    if even_s != at_s:
        notes.append("Several rows share each time; they are spread evenly over it.")
    return Readings(_samples(found, rows, even_s, notes), began, tuple(notes))


def _moments(found: Understanding, source: str) -> Moments:
    if found.times is None:
        assert found.every_s is not None
        return Moments([found.every_s * row for row in range(len(found.table.rows))], None)
    moments = read_moments(cells_of(found.table, found.times.at), found.times.form, found.order, found.zone)
    if all(at is None for at in moments.at_s):
        names = " and ".join(repr(found.table.names[at]) for at in found.times.at)
        raise BadInput(source, f"no time can be read in column {names}.",
                       "Name the column of times (--time) and what it counts (--time-form).")
    return moments


def _in_order(rows: list[tuple[float, int]], began: datetime | None, found: Understanding, source: str,
              notes: list[str]) -> tuple[list[tuple[float, int]], datetime | None]:
    """Return the rows by time, counted from the earliest one."""
    steps = [b - a for (a, _), (b, _) in pairwise(rows)]
    if sum(step < 0 for step in steps) > sum(step > 0 for step in steps):
        rows = rows[::-1]
        notes.append("The newest row stands first in the file; the rows were turned round.")
    strays = 0
    latest = rows[0][0]
    for at, row in rows:
        if at < latest - _STRAY_BACK_S:
            raise BadInput(
                f"{source}, line {found.table.line_numbers[row]}", f"goes back by {duration(latest - at)}.",
                "Was the clock put back? Give the time zone (--zone), or cut the file there."
                if found.times is not None and found.times.form is TimeForm.DATED else "Cut the file there.")
        strays += at < latest
        latest = max(latest, at)
    if strays:
        notes.append(f"{_rows(strays)} stood out of order and {'was' if strays == 1 else 'were'} put in place.")
        rows = sorted(rows)
    first = rows[0][0]
    if began is not None and first:
        began += timedelta(seconds=first)
    return [(at - first, row) for at, row in rows], began


def _samples(found: Understanding, rows: Sequence[tuple[float, int]], at_s: Sequence[float],
             notes: list[str]) -> list[Sample]:
    cells = cells_of(found.table, [found.channel.at])
    samples: list[Sample] = []
    twice = 0
    for t_s, (_, row) in zip(at_s, rows, strict=True):
        sample = _sample(found, float(round(t_s)), cells[row])
        if samples and sample.t_s == samples[-1].t_s:
            twice += sample.temp_c != samples[-1].temp_c
            continue
        samples.append(sample)
    if twice:
        notes.append(f"{_rows(twice)} gave a second another temperature than the row before; the first one counts.")
    blind = sum(sample.temp_c is None for sample in samples)
    if blind:
        notes.append(f"{_rows(blind)} without a temperature {'is' if blind == 1 else 'are'} kept as blind, not as 0.")
    return samples


def _sample(found: Understanding, t_s: float, cell: str) -> Sample:
    value = number(cell, found.decimal)
    if value is None:
        return Sample(t_s, None, _fault(cell))
    temp_c = to_c(value) if found.unit == "F" else value
    if not COLDEST_C <= temp_c <= HOTTEST_C:
        return Sample(t_s, None, "range")  # loggers write a figure such as 9999 where they read nothing
    return Sample(t_s, round(temp_c, 3))


def _fault(cell: str) -> str:
    word = cell.strip().lower()
    if any(mark in word for mark in _OPEN_WORDS):
        return "open"
    return "range" if word and word.startswith(_RANGE_WORDS) and word.strip("-") else "silent"


def _rows(count: int) -> str:
    return f"{count} row" if count == 1 else f"{count:,} rows"
