"""What was different between firings, in words: each against the first. It went with; it did not cause. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from daemon.firing.durations import duration
from daemon.firing.plan.plan import rate_to_unit, to_unit
from web import words
from web.compare.measures import Measures


@dataclass(frozen=True, slots=True)
class Compared:
    """One firing of the comparison."""

    title: str
    measures: Measures | None
    anneal_c: float | None
    """Mean of its anneal hold."""
    anneal_s: float | None
    outcome: str = ""


class Size(Enum):
    """What a figure measures: how it is said, and how two are held against each other."""

    TEMPERATURE = auto()
    TIME = auto()
    RATE = auto()


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a firing that is compared.

    Attributes
    ----------
    name
        Its name in the table.
    size
        What it measures.
    of
        Takes it from a firing [°C, s or °C/h]; None where the firing does not show it.
    tail
        Where it was, to end a sentence: ``at the top``; empty for a figure that only stands in the table.
    """

    name: str
    size: Size
    of: Callable[[Compared], float | None]
    tail: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of all firings; the first cell is the firing the others are held against."""

    figure: Figure
    cells: tuple[str, ...]
    differ: tuple[str, ...]
    """Against the first; empty where there is no difference worth naming."""

    @property
    def name(self) -> str:
        """Return the figure's name."""
        return self.figure.name


_K, _SHARE, _LEAST_S = 3.0, 0.1, 180.0
"""A difference below 3 K, a tenth of a rate or a time, or three minutes is not worth naming: one probe's noise, and
how closely a boundary is known. [chosen: decision 021]"""
_MOST_SAID = 3
"""So many differences are said of a firing, the weightiest first. [chosen: more are not read]"""


def rows(found: Sequence[Compared], unit: str) -> tuple[Row, ...]:
    """Return the table of differences; a figure that no firing shows is left out."""
    table: list[Row] = []
    for figure in _FIGURES:
        values = [figure.of(one) for one in found]
        if any(value is not None for value in values):
            table.append(Row(figure, tuple(_cell(figure.size, value, unit) for value in values),
                             tuple(_differ(figure.size, values[0], value, unit) for value in values)))
    return tuple(table)


def sentences(found: Sequence[Compared], unit: str) -> tuple[str, ...]:
    """Return for each firing after the first what was different, the weightiest three."""
    table = rows(found, unit)
    said = []
    for number, one in enumerate(found[1:], start=1):
        differences = [f"{row.differ[number]} {row.figure.tail}"
                       for row in table if row.differ[number] and row.figure.tail][:_MOST_SAID]
        text = f"{one.title}: {', '.join(differences) or 'no difference worth naming by these figures'}."
        if one.outcome:
            text += f" It went with {one.outcome}"
            text += f"; {found[0].title} with {found[0].outcome}." if found[0].outcome else "."
        said.append(words.bound(text))
    return tuple(said)


def _measured(take: Callable[[Measures], float | None]) -> Callable[[Compared], float | None]:
    """Return what takes a figure from a firing's measures; None for a firing without a reading."""
    return lambda one: None if one.measures is None else take(one.measures)


_FIGURES = (
    Figure("Highest", Size.TEMPERATURE, _measured(lambda m: m.peak_c), "at the top"),
    Figure("Within 5 °C of it", Size.TIME, _measured(lambda m: m.at_top_s), "at the top"),
    Figure("Above 760 °C", Size.TIME, _measured(lambda m: m.above_s[760.0]), "above 760 °C"),
    Figure("Haze range, rising", Size.TIME, _measured(lambda m: m.haze_rising_s), "in the haze range, rising"),
    Figure("Haze range, falling", Size.TIME, _measured(lambda m: m.haze_falling_s), "in the haze range, falling"),
    Figure("Above 700 °C", Size.TIME, _measured(lambda m: m.above_s[700.0]), "above 700 °C"),
    Figure("Climb from 100 to 540 °C", Size.RATE, _measured(lambda m: m.climb_c_per_h), "below 540 °C, climbing"),
    Figure("Anneal hold, how hot", Size.TEMPERATURE, lambda one: one.anneal_c, "in the anneal hold"),
    Figure("Anneal hold, how long", Size.TIME, lambda one: one.anneal_s, "in the anneal hold"),
    Figure("First 55 °C below it", Size.RATE, _measured(lambda m: m.first_fall_c_per_h), "just below the anneal"),
    Figure("Next 55 °C", Size.RATE, _measured(lambda m: m.next_fall_c_per_h)),
    Figure("Above 620 °C", Size.TIME, _measured(lambda m: m.above_s[620.0])),
    Figure("Above 540 °C", Size.TIME, _measured(lambda m: m.above_s[540.0])),
    Figure("In all", Size.TIME, _measured(lambda m: m.length_s)),
)


def _cell(size: Size, value: float | None, unit: str) -> str:
    """Return a figure as its cell shows it; an en dash where there is none."""
    if value is None:
        return "–"
    if size is Size.TEMPERATURE:
        return words.bound(f"{to_unit(value, unit):.0f} °{unit}")
    if size is Size.TIME and value < 1.0:
        return "none"
    return words.bound(words.rate(value, unit) if size is Size.RATE else duration(value))


def _differ(size: Size, first: float | None, value: float | None, unit: str) -> str:
    """Return how a figure differs from the first firing's: ``12 min longer``; empty where it is not worth naming."""
    if first is None or value is None:
        return ""
    off, shown = value - first, abs(_as_shown(size, value, unit) - _as_shown(size, first, unit))
    if size is Size.TEMPERATURE:
        return "" if abs(off) < _K else f"{shown:.0f} °{unit} {'higher' if off > 0 else 'lower'}"
    if abs(off) < _SHARE * max(abs(first), abs(value)):
        return ""
    if size is Size.RATE:
        return f"{shown:.0f} °{unit}/h {'faster' if off > 0 else 'slower'}"
    return "" if abs(off) < _LEAST_S else f"{duration(shown)} {'longer' if off > 0 else 'shorter'}"


def _as_shown(size: Size, value: float, unit: str) -> float:
    """Return a figure as its cell rounds it, so that the difference is that of the two cells."""
    if size is Size.TIME:
        return 60.0 * round(value / 60.0)
    return round(rate_to_unit(value, unit) if size is Size.RATE else to_unit(value, unit))
