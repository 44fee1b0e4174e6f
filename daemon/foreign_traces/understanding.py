"""What a logger's file is taken to say: each guess with its reason, and each may be corrected by the maker."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from typing import NamedTuple

from daemon.errors import BadInput
from daemon.firing.plan.plan import to_unit
from daemon.foreign_traces.cells import DecimalMark, decimal_mark
from daemon.foreign_traces.columns import (
    Channel,
    TimeColumns,
    Unit,
    cells_of,
    channels,
    likeliest,
    time_columns,
    unit_in,
)
from daemon.foreign_traces.moments import DateOrder, TimeForm, date_order, form_of
from daemon.foreign_traces.table import DELIMITERS, Table

_HOT_C = 1100.0
"""Above any kiln-forming [°C]. [common practice]"""
_WARM_ROOM = (45.0, 120.0)
"""A room, or a kiln not quite cold, read in °F [°F]. [chosen: 7 to 49 °C]"""


@dataclass(frozen=True, slots=True)
class Corrections:
    """What the maker says of the file; None leaves it to be guessed."""

    time: str | None = None
    """Name or number of the column of times; ``date + time`` names two."""
    time_form: TimeForm | None = None
    temperature: str | None = None
    """Name or number of the column of temperatures."""
    unit: Unit | None = None
    decimal: DecimalMark | None = None
    dates: DateOrder | None = None
    every_s: float | None = None
    """Seconds between two rows, where the file has no times."""


class Understanding(NamedTuple):
    """How the file will be read."""

    table: Table
    times: TimeColumns | None
    """None where the rows are ``every_s`` apart."""
    every_s: float | None
    order: DateOrder
    zone: tzinfo
    channel: Channel
    channels: list[Channel]
    unit: Unit
    decimal: DecimalMark
    doubts: tuple[str, ...]
    """A sentence for each guess that the file does not settle, with the option that corrects it."""


def understand(table: Table, source: str, zone: tzinfo, said: Corrections) -> Understanding:
    """Return how a logger's file will be read.

    Parameters
    ----------
    table
        The file.
    source
        What to call it in messages.
    zone
        Time zone of dates without an offset.
    said
        What the maker corrects.

    Raises
    ------
    BadInput
        Where a column is named that is not there, or no column can be the time or the temperature.
    """
    doubts: list[str] = []
    times = None if said.every_s is not None else _times(table, source, said, doubts)
    at = () if times is None else times.at
    order: DateOrder = said.dates or "day-first"
    if times is not None and times.form is TimeForm.DATED and said.dates is None:
        order, sure = date_order(cells_of(table, times.at))
        if not sure:
            doubts.append(f"Dates could be read both ways. The {order.removesuffix('-first')} is taken to come first"
                          " (--dates).")
    found = channels(table, at)
    channel = _channel(table, found, source, said, doubts)
    if said.unit is not None and channel.unit not in (None, said.unit):
        doubts.append(f"The column {channel.name!r} names °{channel.unit}. It is read as °{said.unit}, as you said "
                      "(--unit).")
    unit = said.unit or channel.unit or _unit_above(table) or _unit_by_size(channel, doubts)
    decimal = said.decimal or decimal_mark(cells_of(table, [channel.at]))
    return Understanding(table, times, said.every_s, order, zone, channel, found, unit, decimal, tuple(doubts))


def _times(table: Table, source: str, said: Corrections, doubts: list[str]) -> TimeColumns:
    if said.time is not None:
        at = tuple(_column(table, name.strip(), source, "--time") for name in _parts(table, said.time))
        form = (TimeForm.DATED, True) if len(at) > 1 else form_of(table.names[at[0]], cells_of(table, at))
        if form is None and said.time_form is None:
            raise BadInput(source, f"column {table.names[at[0]]!r} holds no times that rise.",
                           "Name another column, or say what it counts: --time-form.")
        times = TimeColumns(at, *(form or (TimeForm.SECONDS, True)))
    else:
        guessed = time_columns(table)
        if guessed is None:
            raise BadInput(source, f"no column holds times. The columns are {', '.join(table.names)}.",
                           "Name the one that does: --time. Or say how far apart the rows are: --every-s 60.")
        times = guessed
    if said.time_form is not None:
        return times._replace(form=said.time_form, sure=True)
    if not times.sure:
        doubts.append(f"The column {table.names[times.at[0]]!r} does not name its unit. "
                      f"It is taken to count {times.form.value} (--time-form).")
    return times


def _parts(table: Table, name: str) -> list[str]:
    """Return the columns that a maker names, whose own names may hold a plus."""
    return [name] if name in table.names else name.split("+")


def _channel(table: Table, found: list[Channel], source: str, said: Corrections, doubts: list[str]) -> Channel:
    if said.temperature is not None:
        at = _column(table, said.temperature, source, "--temperature")
        for channel in found:
            if channel.at == at:
                return channel
        raise BadInput(source, f"column {table.names[at]!r} holds no numbers, or it is the time.",
                       "Name the column of the kiln's temperature.")
    guess = likeliest(found)
    if guess is None:
        raise BadInput(source, f"no column holds temperatures. The columns are {', '.join(table.names)}.",
                       "Name the one that does: --temperature.")
    first, others = guess
    if others:
        names = " and ".join(repr(other.name) for other in others)
        doubts.append(f"{names} could be the temperature too. {first.name!r} is taken (--temperature).")
    return first


def _column(table: Table, wanted: str, source: str, option: str) -> int:
    lower = [name.lower() for name in table.names]
    if wanted.lower() in lower:
        return lower.index(wanted.lower())
    if wanted.isdecimal() and 1 <= int(wanted) <= len(table.names):
        return int(wanted) - 1
    raise BadInput(f"{option} {wanted}", f"{source} has no such column.",
                   f"Give a name or a number: {', '.join(f'{at} {name}' for at, name in enumerate(table.names, 1))}.")


def _unit_above(table: Table) -> Unit | None:
    """Return the unit that the lines above the table name, where they name one only."""
    named = {unit for line in table.above for cell in line.split(table.delimiter) if (unit := unit_in(cell))}
    return named.pop() if len(named) == 1 else None


def _unit_by_size(channel: Channel, doubts: list[str]) -> Unit:
    """Return the unit that temperatures without one are likely to have."""
    low, high = _WARM_ROOM
    unit: Unit = "F" if channel.highest > _HOT_C and low <= channel.first <= high else "C"
    other: Unit = "F" if unit == "C" else "C"
    top_c = channel.highest if unit == "C" else to_c(channel.highest)
    doubts.append(f"The file names no unit. It is taken for °{unit}: highest {top_c:.0f} °C. As °{other} it would be "
                  f"{to_c(channel.highest) if other == 'F' else channel.highest:.0f} °C (--unit).")
    return unit


def to_c(value_f: float) -> float:
    """Return a temperature in °F as °C."""
    return (value_f - to_unit(0.0, "F")) / (to_unit(1.0, "F") - to_unit(0.0, "F"))


def description(found: Understanding) -> list[tuple[str, str]]:
    """Return what each thing is taken for, as pairs of a heading and words."""
    table = found.table
    mark = "comma" if found.decimal == "," else "point"
    if found.times is None:
        time = f"none; a row every {found.every_s:g} s"
    else:
        names = " and ".join(repr(table.names[at]) for at in found.times.at)
        time = f"column{'s' * (len(found.times.at) > 1)} {names}, {found.times.form.value}"
        if found.times.form is TimeForm.DATED:
            time += f", {found.order.replace('-', ' ')}" if _order_matters(found) else ""
            time += f", time zone {found.zone}"
    return [("cells", f"a {DELIMITERS[table.delimiter]} between them, a {mark} before decimals"),
            ("time", time),
            ("temperature", f"column {found.channel.name!r}, °{found.unit}")]


def _order_matters(found: Understanding) -> bool:
    assert found.times is not None
    return not all(cell[:4].isdecimal() for cell in cells_of(found.table, found.times.at) if cell)
