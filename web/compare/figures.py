"""The measured figures of compared firings: how each is said, and whether two differ by more than one probe can tell.

Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from daemon.firing.durations import duration
from daemon.firing.units import Units
from daemon.glass.exposure import HAZE_C
from web import words
from web.compare.measures import AT_TOP_K, CLIMB_FROM_C, CLIMB_TO_C, Measures


@dataclass(frozen=True, slots=True)
class Compared:
    """One firing of the comparison, as far as it is judged here."""

    title: str
    measures: Measures | None
    anneal_c: float | None
    """Mean of its anneal hold."""
    anneal_s: float | None
    outcome: tuple[str, ...] = ()
    """The fixed words that its pieces came out with; empty where none was said."""


class Size(Enum):
    """What a figure measures: how it is said, and how two are held against each other."""

    TEMPERATURE = auto()
    TIME = auto()
    RATE = auto()


class Topic(Enum):
    """What of a firing a figure is about: which figures come first follows from it, not from their words."""

    HAZE_RANGE = auto()
    """The time in the range where haze forms."""
    PEAK = auto()
    TIME_AT_TOP = auto()
    ABOVE_HAZE_RANGE = auto()
    CLIMB = auto()
    ANNEAL = auto()
    """The anneal hold and the cooling below it."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a firing that is compared.

    Attributes
    ----------
    name
        Returns its name in a unit: ``Above 760 °C``.
    size
        What it measures.
    of
        Takes it from a firing [°C, s or °C/h]; None where the firing does not show it.
    verb, deed
        What a firing did, the verb and then, in a unit, the rest around a figure or a difference in braces: ``spent``
        and ``{} above 760 °C``. None for a figure that says little by itself; it stands among the figures only.
    topic
        What it is about; None where no outcome is asked about by it.
    """

    name: Callable[[Units], str]
    size: Size
    of: Callable[[Compared], float | None]
    verb: str = ""
    deed: Callable[[Units], str] | None = None
    topic: Topic | None = None


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure of all firings; the first is the firing that the others are held against."""

    figure: Figure
    name: str
    values: tuple[float | None, ...]
    cells: tuple[str, ...]
    differ: tuple[str, ...]
    """Against the first; empty where there is no difference worth naming."""
    is_same: bool
    """Whether no two of them differ by more than one probe can tell."""
    span: str
    """All of them in one: ``516 °C``, or ``514 to 517 °C``."""


_K, _SHARE, _LEAST_S = 3.0, 0.1, 180.0
"""A difference below 3 K, a tenth of a rate or a time, or three minutes is not worth naming: one probe's noise, and
how closely a boundary is known. [chosen: decision 021]"""
NOT_SEEN = "not seen"
"""What stands where a firing doesn't show a figure."""


def figure_rows(found: Sequence[Compared], unit: str) -> tuple[FigureRow, ...]:
    """Return the figures of the firings in the order of their weight; one that no firing shows is left out."""
    units, table = Units(unit), []
    for figure in FIGURES:
        values = tuple(figure.of(one) for one in found)
        seen = [value for value in values if value is not None]
        if not seen:
            continue
        table.append(FigureRow(
            figure, words.bound(figure.name(units)), values,
            tuple(NOT_SEEN if value is None else shown(figure.size, value, units) for value in values),
            tuple(difference(figure.size, values[0], value, units) for value in values),
            len(seen) == len(values) and not difference(figure.size, min(seen), max(seen), units),
            span(figure.size, seen, units)))
    return tuple(table)


def shown(size: Size, value: float, units: Units) -> str:
    """Return a figure as it is said."""
    if size is Size.TEMPERATURE:
        return words.bound(units.temp(value))
    if size is Size.TIME and value < 1.0:
        return "none"
    return words.bound(units.rate(value) if size is Size.RATE else duration(value))


def span(size: Size, values: Sequence[float], units: Units) -> str:
    """Return several figures as one: from the least to the most, or the one that all are shown as."""
    least, most = shown(size, min(values), units), shown(size, max(values), units)
    if least == most:
        return least
    (figure, _, unit), (other, _, other_unit) = (text.rpartition("\u00a0") for text in (least, most))
    is_unit_once = unit == other_unit and figure.isdigit() and other.isdigit()
    return f"{figure if is_unit_once else least} to {most}"


def difference(size: Size, first: float | None, value: float | None, units: Units) -> str:
    """Return how a figure differs from the first: ``12 min more``; empty where that is not worth naming.

    It is the difference of the two as they are shown, so that the reader's sum is right.
    """
    if first is None or value is None:
        return ""
    off = value - first
    if size is Size.TEMPERATURE:
        return "" if abs(off) < _K else words.bound(
            f"{units.between(value, first)} {'higher' if off > 0 else 'lower'}")
    if abs(off) < _SHARE * max(abs(first), abs(value)):
        return ""
    if size is Size.RATE:
        return words.bound(f"{units.rate_between(value, first)} {'faster' if off > 0 else 'slower'}")
    minutes_s = 60.0 * abs(round(value / 60.0) - round(first / 60.0))
    return "" if abs(off) < _LEAST_S else words.bound(f"{duration(minutes_s)} {'more' if off > 0 else 'less'}")


def _measured(take: Callable[[Measures], float | None]) -> Callable[[Compared], float | None]:
    """Return what takes a figure from a firing's measures; None for a firing without a reading."""
    return lambda one: None if one.measures is None else take(one.measures)


def _haze(units: Units) -> str:
    return f"{units.bare(HAZE_C[0])} to {units.temp(HAZE_C[1])}"


FIGURES = (
    Figure(lambda u: "Highest", Size.TEMPERATURE, _measured(lambda m: m.peak_c), "was", lambda u: "{} at the top",
           Topic.PEAK),
    Figure(lambda u: f"Within {u.difference(AT_TOP_K)} of its top", Size.TIME, _measured(lambda m: m.at_top_s),
           "spent", lambda u: f"{{}} within {u.difference(AT_TOP_K)} of its top", Topic.TIME_AT_TOP),
    Figure(lambda u: f"Above {u.temp(760.0)}", Size.TIME, _measured(lambda m: m.above_s[760.0]),
           "spent", lambda u: f"{{}} above {u.temp(760.0)}", Topic.ABOVE_HAZE_RANGE),
    Figure(lambda u: f"Haze range going up, {_haze(u)}", Size.TIME, _measured(lambda m: m.haze_rising_s),
           "spent", lambda u: "{} in the haze range going up", Topic.HAZE_RANGE),
    Figure(lambda u: f"Haze range coming down, {_haze(u)}", Size.TIME, _measured(lambda m: m.haze_falling_s),
           "spent", lambda u: "{} in the haze range coming down", Topic.HAZE_RANGE),
    Figure(lambda u: f"Above {u.temp(700.0)}", Size.TIME, _measured(lambda m: m.above_s[700.0])),
    Figure(lambda u: f"Climb from {u.bare(CLIMB_FROM_C)} to {u.temp(CLIMB_TO_C)}", Size.RATE,
           _measured(lambda m: m.climb_c_per_h), "climbed", lambda u: f"{{}} to {u.temp(CLIMB_TO_C)}", Topic.CLIMB),
    Figure(lambda u: "Anneal hold, how hot", Size.TEMPERATURE, lambda one: one.anneal_c,
           "was", lambda u: "{} in the anneal hold", Topic.ANNEAL),
    Figure(lambda u: "Anneal hold, how long", Size.TIME, lambda one: one.anneal_s,
           "spent", lambda u: "{} in the anneal hold", Topic.ANNEAL),
    Figure(lambda u: "Cooling, first step below the anneal", Size.RATE,
           _measured(lambda m: m.first_fall_c_per_h), "cooled", lambda u: "{} just below the anneal", Topic.ANNEAL),
    Figure(lambda u: "Cooling, next step", Size.RATE, _measured(lambda m: m.next_fall_c_per_h)),
    Figure(lambda u: f"Above {u.temp(620.0)}", Size.TIME, _measured(lambda m: m.above_s[620.0])),
    Figure(lambda u: f"Above {u.temp(540.0)}", Size.TIME, _measured(lambda m: m.above_s[540.0])),
    Figure(lambda u: "The whole firing", Size.TIME, _measured(lambda m: m.length_s)),
)
"""What is compared, the weightiest for glass first."""
