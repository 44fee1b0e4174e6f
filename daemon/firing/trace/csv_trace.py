"""A trace as rows of text: ``seconds,celsius,fault``, read into samples and written from them."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from itertools import pairwise
from math import isfinite, nan
from statistics import median
from typing import NamedTuple

from daemon.errors import BadInput
from daemon.firing.events import FAULTS, Sample
from daemon.toml import shown

COLDEST_C = -270.0
HOTTEST_C = 1800.0
"""The lowest and highest temperature a thermocouple can show [°C], one with its leads the wrong way round too.
Anything else is another column or another unit.
[from memory: the tables of IEC 60584-1 begin at −270 °C; type B ends a little above 1800 °C]"""

LATEST_S = 1e10
"""Some three hundred years [s]. [derived: seconds since 1970 are well below it, milliseconds far above]"""

FIRST_DATE_S = 3e8
"""A trace that begins later than this counts its seconds from 1970 [s]. [chosen: no firing lasts ten years, and
this date is in 1979]"""

_USUAL_INTERVAL_S = 5.0
"""The interval taken where two readings are too few to tell it [s]. [derived: what the daemon itself stores]"""
_GAP_INTERVALS = 3.0
"""A gap is longer than so many usual intervals. [chosen: two rows in a row are missing]"""

_HEADER = "The first row must name the columns: seconds,celsius,fault."
_OTHER_LOGGER = " The file of another logger is turned into such rows by: lehrling trace convert."


class Trace(NamedTuple):
    """What a file of rows holds."""

    samples: list[Sample]
    """In time order, one a second of time."""
    from_1970_s: float | None = None
    """Second of the first row, where the rows count from 1970; the samples then count from that row [s]."""
    contradictions: int = 0
    """Rows that gave a second another temperature than the row before them; the first one is kept."""


def read_trace(lines: Iterable[str], source: str) -> Trace:
    """Return the samples of a trace in time order, with what was odd about its rows.

    Parameters
    ----------
    lines
        The text of a CSV (RFC 4180) with a header; ``celsius`` is empty where there is no temperature,
        ``fault`` is empty or one of FAULTS. Other columns are left alone.
    source
        What to call it in messages, usually the file's name.

    Raises
    ------
    BadInput
        Naming the row, the value and the remedy.
    """
    rows = csv.reader(lines)
    try:
        found = list(_samples(rows, source))
    except csv.Error as err:
        raise BadInput(f"{source}, row {rows.line_num}", f"not readable as CSV: {err}.", _HEADER) from None
    if not found:
        raise BadInput(source, "has no readings.", "Give a trace with at least one row below the header.")
    contradictions = sum(a.t_s == b.t_s and a[1:] != b[1:] for a, b in pairwise(found))
    samples = found[:1] + [b for a, b in pairwise(found) if b.t_s > a.t_s]
    first_s = samples[0].t_s
    if first_s < FIRST_DATE_S:
        return Trace(samples, None, contradictions)
    return Trace([sample._replace(t_s=sample.t_s - first_s) for sample in samples], first_s, contradictions)


def _samples(rows: Iterator[list[str]], source: str) -> Iterator[Sample]:
    """Yield the sample of every row that is not empty, after a look at the header."""
    header = [name.strip().lower() for name in next(rows, [])]
    if "seconds" not in header or "celsius" not in header:
        given = shown(", ".join(header)) if header else "missing"
        raise BadInput(f"{source}, row 1", f"the columns are {given}.", _HEADER + _OTHER_LOGGER)
    at_s, at_c = header.index("seconds"), header.index("celsius")
    at_fault = header.index("fault") if "fault" in header else None
    last_s: float | None = None
    for number, row in enumerate(rows, start=2):
        if not any(map(str.strip, row)):
            continue
        where = f"{source}, row {number}"
        if len(row) > len(header) and any(map(str.strip, row[len(header):])):
            raise BadInput(where, f"has {len(row)} columns, the first row {len(header)}.",
                           "Write decimals with a point, and quote what holds a comma.")
        if len(row) <= max(at_s, at_c):
            raise BadInput(where, f"has {len(row)} of {len(header)} columns.", _HEADER)
        t_s = _number(row[at_s], where, "seconds")
        if abs(t_s) > LATEST_S:
            raise BadInput(where, f"seconds {t_s:g} is further away than {LATEST_S:g}.",
                           "Write seconds, not milliseconds.")
        if last_s is not None and t_s < last_s:
            raise BadInput(where, f"seconds goes back from {last_s:g} to {t_s:g}.", "Sort the rows by time.")
        fault = row[at_fault].strip().lower() if at_fault is not None and len(row) > at_fault else ""
        yield _sample(t_s, row[at_c].strip(), fault, where)
        last_s = t_s


def _sample(t_s: float, celsius: str, fault: str, where: str) -> Sample:
    """Return the sample of one row's texts; one without a temperature and without a fault counts as silent."""
    if fault and fault not in FAULTS:
        raise BadInput(where, f"fault {shown(fault)} is unknown.", f"Known: {', '.join(FAULTS)}, or empty.")
    if fault or not celsius:
        return Sample(t_s, None, fault or "silent")
    temp_c = _number(celsius, where, "celsius")
    if not COLDEST_C <= temp_c <= HOTTEST_C:
        raise BadInput(where, f"celsius {temp_c:g} is outside {COLDEST_C:g} to {HOTTEST_C:g} °C.",
                       "Check the unit; leave it empty where there is no reading.")
    return Sample(t_s, temp_c)


def _number(text: str, where: str, column: str) -> float:
    """Return the finite number a cell holds, or raise BadInput with what to write instead."""
    try:
        value = float(text) if text.isascii() and "_" not in text else nan
    except ValueError:
        value = nan
    if not isfinite(value):
        remedy = "Write a number without a unit, with a point for decimals"
        rest = ", or leave it empty where there is no reading." if column == "celsius" else "."
        raise BadInput(where, f"{column} {shown(text)} is not a number.", remedy + rest)
    return value


def write_trace(samples: Iterable[Sample]) -> Iterator[str]:
    """Yield the lines of the trace, header first; read_trace reads the same samples back."""
    yield "seconds,celsius,fault\n"
    for sample in samples:
        celsius = "" if sample.temp_c is None else _figure(sample.temp_c)
        yield f"{_figure(sample.t_s)},{celsius},{sample.fault or ''}\n"


def _figure(value: float) -> str:
    """Return the shortest writing that reads back as the same number."""
    return repr(float(value)).removesuffix(".0")


def usual_interval_s(samples: list[Sample]) -> float:
    """Return the median time between readings [s]; the daemon's own where there are too few to tell."""
    steps = [b.t_s - a.t_s for a, b in pairwise(samples)]
    return median(steps) if steps else _USUAL_INTERVAL_S


def gaps(samples: list[Sample]) -> list[tuple[float, float]]:
    """Return (from, to) [s] of every gap: more than three times the usual interval without a row."""
    limit_s = _GAP_INTERVALS * usual_interval_s(samples)
    return [(a.t_s, b.t_s) for a, b in pairwise(samples) if b.t_s - a.t_s > limit_s]
