"""A trace as rows of text: ``seconds,celsius,fault``, read into samples and written from them."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from itertools import pairwise
from math import isfinite
from statistics import median

from daemon.errors import BadInput
from daemon.firing.events import FAULTS, Sample

COLDEST_C = -60.0
HOTTEST_C = 1800.0
"""What a thermocouple beside a kiln can say; anything else is another column or another unit."""

_HEADER = "The first row must name the columns: seconds,celsius,fault."


def read_trace(lines: Iterable[str], source: str) -> list[Sample]:
    """Return the samples of a trace in time order.

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
        return list(_samples(rows, source))
    except csv.Error as err:
        raise BadInput(f"{source}, row {rows.line_num}", f"not readable as CSV: {err}.", _HEADER) from None


def _samples(rows: Iterator[list[str]], source: str) -> Iterator[Sample]:
    header = [name.strip().lower() for name in next(rows, [])]
    if "seconds" not in header or "celsius" not in header:
        raise BadInput(f"{source}, row 1", f"the columns are {', '.join(header) or 'missing'}.", _HEADER)
    at_s, at_c = header.index("seconds"), header.index("celsius")
    at_fault = header.index("fault") if "fault" in header else None
    last_s: float | None = None
    for number, row in enumerate(rows, start=2):
        if not row:
            continue
        where = f"{source}, row {number}"
        if len(row) <= max(at_s, at_c):
            raise BadInput(where, f"has {len(row)} of {len(header)} columns.", _HEADER)
        t_s = _number(row[at_s], where, "seconds")
        if last_s is not None and t_s < last_s:
            raise BadInput(where, f"seconds goes back from {last_s:g} to {t_s:g}.", "Sort the rows by time.")
        fault = row[at_fault].strip().lower() if at_fault is not None and len(row) > at_fault else ""
        sample = _sample(t_s, row[at_c].strip(), fault, where)
        if t_s == last_s:
            continue  # the same second twice says nothing new
        last_s = t_s
        yield sample
    if last_s is None:
        raise BadInput(source, "has no readings.", "Give a trace with at least one row below the header.")


def _sample(t_s: float, celsius: str, fault: str, where: str) -> Sample:
    if fault and fault not in FAULTS:
        raise BadInput(where, f"fault {fault!r} is unknown.", f"Known: {', '.join(FAULTS)}, or empty.")
    if fault or not celsius:
        return Sample(t_s, None, fault or "silent")
    temp_c = _number(celsius, where, "celsius")
    if not COLDEST_C <= temp_c <= HOTTEST_C:
        raise BadInput(where, f"celsius {temp_c:g} is outside {COLDEST_C:g} to {HOTTEST_C:g} °C.",
                       "Check the unit; leave it empty where there is no reading.")
    return Sample(t_s, temp_c)


def _number(text: str, where: str, column: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise BadInput(where, f"{column} {text!r} is not a number.", "Write a number without a unit.") from None
    if not isfinite(value):
        raise BadInput(where, f"{column} {text!r} is not a number.",
                       "Leave celsius empty where there is no reading.")
    return value


def write_trace(samples: Iterable[Sample]) -> Iterator[str]:
    """Yield the lines of the trace, header first; read_trace reads the same samples back."""
    yield "seconds,celsius,fault\n"
    for sample in samples:
        celsius = "" if sample.temp_c is None else f"{sample.temp_c:.10g}"
        yield f"{sample.t_s:.10g},{celsius},{sample.fault or ''}\n"


def usual_interval_s(samples: list[Sample]) -> float:
    """Return the median time between readings [s]; 5 where there are too few to tell."""
    steps = [b.t_s - a.t_s for a, b in pairwise(samples)]
    return median(steps) if steps else 5.0


def gaps(samples: list[Sample]) -> list[tuple[float, float]]:
    """Return (from, to) [s] of every gap: more than three times the usual interval without a row."""
    limit_s = 3 * usual_interval_s(samples)
    return [(a.t_s, b.t_s) for a, b in pairwise(samples) if b.t_s - a.t_s > limit_s]
