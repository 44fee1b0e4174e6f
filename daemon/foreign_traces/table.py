"""A logger's text file as a table: the lines above it, the names of its columns, its rows."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import clevercsv

from daemon.errors import BadInput
from daemon.foreign_traces.encoding import Unreadable

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", " ": "space"}
"""What may stand between two cells, and what it is called."""
_LOOKED_AT = 200
"""Rows from which the delimiter is told. [chosen: a few hundredths of a second; the sniffer's time grows with it]"""
_LOOKED_AT_SIGNS = 40_000
"""The same in signs. [chosen: 200 rows of 200 signs; rows of remarks would take minutes]"""
_ABOVE = 200
"""Lines above the table, at most. [chosen: loggers write a page about themselves, not a book]"""
_COLUMNS = 200
"""Columns, at most. [chosen: bounds the memory; no logger has as many channels]"""
_FIGURE = re.compile(r"[+-]?[\d.,:/\-T\s]*\d[\d.,:/\-TZ\s]*(?:°?[CF])?", re.IGNORECASE)
"""A number, a date or a time of day, with or without a unit."""


class Table(NamedTuple):
    """What stands in the file."""

    delimiter: str
    names: list[str]
    """One a column: as the file has it, or ``column 3`` where it names none."""
    named: bool
    """Whether the file names its columns."""
    rows: list[list[str]]
    """The cells, stripped; each row is as long as ``names``."""
    line_numbers: list[int]
    """The line of the file on which each row ends, the first line being 1."""
    above: list[str]
    """The lines above the table."""


def read_table(text: str, source: str, delimiter: str | None = None) -> Table:
    """Return the table that stands in a text.

    The table begins at the first row with as many cells as most rows have, and with a figure among them. The one or
    two rows above it, if they have as many cells, name the columns.

    Parameters
    ----------
    text
        The whole file.
    source
        What to call it in messages.
    delimiter
        One of DELIMITERS; None to tell it from the rows.

    Raises
    ------
    BadInput
        Where no table can be found in it.
    """
    lines = text.splitlines()
    if not any(map(str.strip, lines)):
        raise Unreadable(source, "is empty.", "Give the file that the logger wrote.")
    if delimiter is None:
        delimiter = _delimiter(lines)
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=delimiter == " ")
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader if any(map(str.strip, row))]
    except csv.Error as err:
        raise BadInput(f"{source}, line {reader.line_num}", f"can't be read as a table: {err}.",
                       "Save it as CSV text, not as a workbook.") from None
    width = _usual_width([row for _, row in rows])
    if not 2 <= width <= _COLUMNS:
        raise BadInput(source, f"has {width} column{'s' * (width != 1)}, cut at each {DELIMITERS[delimiter]}.",
                       "A time and a temperature are needed. Say what stands between the cells: --delimiter.")
    first = next((at for at, (_, row) in enumerate(rows) if len(row) >= width and _is_data(row)), None)
    if first is None:
        raise Unreadable(source, "has no row of figures.", "Give the file that the logger wrote, as CSV text.")
    if first > _ABOVE:
        raise BadInput(source, f"has {first} lines above its first row of figures.", "Cut them off.")
    heads = _heads([row for _, row in rows[:first]], width)
    return Table(delimiter, _names(heads, width), bool(heads),
                 [(row + [""] * width)[:width] for _, row in rows[first:]],
                 [number for number, _ in rows[first:]],
                 [delimiter.join(row) for _, row in rows[:first - len(heads)]])


def _delimiter(lines: Sequence[str]) -> str:
    """Return what most likely stands between the cells.

    The last rows are looked at: the lines that a logger writes about itself stand above them and follow no pattern.
    A blank counts only where nothing else stands between cells, since dates have blanks in them.
    """
    looked_at = [line for line in lines if line.strip()][-_LOOKED_AT:]
    while len(looked_at) > 2 and sum(map(len, looked_at)) > _LOOKED_AT_SIGNS:
        looked_at = looked_at[len(looked_at) // 2:]
    for among in ([mark for mark in DELIMITERS if mark != " "], [" "]):
        dialect = clevercsv.Sniffer().sniff("\n".join(looked_at) + "\n", delimiters="".join(among))
        if dialect is not None and dialect.delimiter in among and dialect.delimiter in looked_at[-1]:
            return dialect.delimiter
    return ","


def _usual_width(rows: Sequence[list[str]]) -> int:
    """Return how many cells most rows have, an empty cell at the end not counted."""
    widths = Counter(len(row) - (row[-1] == "") for row in rows)
    return widths.most_common(1)[0][0] if widths else 0


def _is_data(row: Sequence[str]) -> bool:
    """Return whether at least two cells of a row, or half of them, are figures."""
    figures = sum(bool(_FIGURE.fullmatch(cell)) for cell in row)
    return figures >= 2 or 2 * figures >= sum(map(bool, row)) > 0


def _heads(above: Sequence[list[str]], width: int) -> list[list[str]]:
    """Return the rows that name the columns: the last one or two above the data that are wide enough."""
    found: list[list[str]] = []
    for row in reversed(above[-2:]):
        if len(row) < width - 1 or sum(map(bool, row)) < 2:
            break
        found.insert(0, row)
    return found


def _names(heads: Sequence[list[str]], width: int) -> list[str]:
    """Return a name for each column, made of the rows that name them."""
    names = []
    for at in range(width):
        words = [row[at] for row in heads if at < len(row) and row[at]]
        names.append(" ".join(dict.fromkeys(words)) or f"column {at + 1}")
    return names
