"""What was different between firings, in words: each against the first. It went with; it did not cause. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of all firings; the first cell is the firing the others are held against."""

    name: str
    cells: tuple[str, ...]
    differ: tuple[str, ...]
    """Against the first; empty where there is no difference worth naming."""


_K, _SHARE, _LEAST_S = 3.0, 0.1, 180.0
"""A difference below 3 K, a tenth of a rate or a time, or three minutes is not worth naming: one probe's noise,
and how closely a boundary is known."""


def rows(found: Sequence[Compared], unit: str) -> tuple[Row, ...]:
    """Return the table of differences; a figure that no firing shows is left out."""
    table: list[Row] = []
    for name, kind, figure in _figures(unit):
        values = [figure(one) for one in found]
        if any(value is not None for value in values):
            table.append(Row(name, tuple(_cell(kind, value, unit) for value in values),
                             tuple(_differ(kind, values[0], value, unit) for value in values)))
    return tuple(table)


def sentences(found: Sequence[Compared], unit: str) -> tuple[str, ...]:
    """Return for each firing after the first what was different, the weightiest three."""
    table = rows(found, unit)
    said = []
    for number, one in enumerate(found[1:], start=1):
        differences = [f"{row.differ[number]} {_TAILS.get(row.name, row.name)}".strip()
                       for row in table if row.differ[number] and row.name in _TAILS][:3]
        text = f"{one.title}: {', '.join(differences) or 'no difference worth naming by these figures'}."
        if one.outcome:
            text += f" It went with {one.outcome}"
            text += f"; {found[0].title} with {found[0].outcome}." if found[0].outcome else "."
        said.append(words.bound(text))
    return tuple(said)


_TAILS = {
    "Highest": "at the top", "Within 5 °C of it": "at the top", "Above 760 °C": "above 760 °C",
    "Above 700 °C": "above 700 °C", "Haze range, rising": "in the haze range, rising",
    "Haze range, falling": "in the haze range, falling", "Climb from 100 to 540 °C": "below 540 °C, climbing",
    "Anneal hold, how hot": "in the anneal hold", "Anneal hold, how long": "in the anneal hold",
    "First 55 °C below it": "just below the anneal",
}


def _figures(unit: str) -> list[tuple[str, str, Callable[[Compared], float | None]]]:
    del unit

    def measured(take: Callable[[Measures], float | None]) -> Callable[[Compared], float | None]:
        return lambda one: None if one.measures is None else take(one.measures)

    return [
        ("Highest", "temp", measured(lambda m: m.peak_c)),
        ("Within 5 °C of it", "time", measured(lambda m: m.at_top_s)),
        ("Above 760 °C", "time", measured(lambda m: m.above_s[760.0])),
        ("Haze range, rising", "time", measured(lambda m: m.haze_rising_s)),
        ("Haze range, falling", "time", measured(lambda m: m.haze_falling_s)),
        ("Above 700 °C", "time", measured(lambda m: m.above_s[700.0])),
        ("Climb from 100 to 540 °C", "rate", measured(lambda m: m.climb_c_per_h)),
        ("Anneal hold, how hot", "temp", lambda one: one.anneal_c),
        ("Anneal hold, how long", "time", lambda one: one.anneal_s),
        ("First 55 °C below it", "rate", measured(lambda m: m.first_fall_c_per_h)),
        ("Next 55 °C", "rate", measured(lambda m: m.next_fall_c_per_h)),
        ("Above 620 °C", "time", measured(lambda m: m.above_s[620.0])),
        ("Above 540 °C", "time", measured(lambda m: m.above_s[540.0])),
        ("In all", "time", measured(lambda m: m.length_s)),
    ]


def _cell(kind: str, value: float | None, unit: str) -> str:
    if value is None:
        return "–"
    if kind == "temp":
        return words.bound(f"{to_unit(value, unit):.0f} °{unit}")
    if kind == "time" and value < 1.0:
        return "none"
    return words.bound(words.rate(value, unit) if kind == "rate" else duration(value))


def _differ(kind: str, first: float | None, value: float | None, unit: str) -> str:
    if first is None or value is None:
        return ""
    off, size = value - first, abs(_as_shown(kind, value, unit) - _as_shown(kind, first, unit))
    if kind == "temp":
        return "" if abs(off) < _K else f"{size:.0f} °{unit} {'higher' if off > 0 else 'lower'}"
    if abs(off) < _SHARE * max(abs(first), abs(value)):
        return ""
    if kind == "rate":
        return f"{size:.0f} °{unit}/h {'faster' if off > 0 else 'slower'}"
    return "" if abs(off) < _LEAST_S else f"{duration(size)} {'longer' if off > 0 else 'shorter'}"


def _as_shown(kind: str, value: float, unit: str) -> float:
    """Return a figure as its cell rounds it, so that the difference is that of the two cells."""
    if kind == "time":
        return 60.0 * round(value / 60.0)
    return round(rate_to_unit(value, unit) if kind == "rate" else to_unit(value, unit))
