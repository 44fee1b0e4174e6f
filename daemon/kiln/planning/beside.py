"""Forecasts beside each other in words: a row a question, a value for each of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

from daemon.firing.durations import whole_minutes
from daemon.firing.energy.energy_words import cost_words, kwh_words
from daemon.firing.energy.estimate import Basis, Estimate
from daemon.firing.energy.heat_balance import LONGEST_S
from daemon.firing.plan.schedule import anneal_hold
from daemon.firing.units import Units
from daemon.firing.verdict.verdict_words import megapascals
from daemon.glass.exposure import HAZE_C
from daemon.glass.materials import Glass
from daemon.kiln.foresight import OPEN_C, WIDEST_S
from daemon.kiln.planning.latest_start import LatestStart
from daemon.kiln.planning.outlook import NEAR_TOP_K, Moment, Outlook, Slab
from daemon.kiln.planning.what_if import Column
from daemon.kiln.told import Clock

NOT_SO, NO_ANNEAL = "–", "no anneal"
"""What stands for a value that there is not, and for one of an anneal hold that there is not."""


class Tariff(NamedTuple):
    """What energy costs; None where nobody said."""

    price_per_kwh: float | None = None
    currency: str = ""


class Row(NamedTuple):
    """A question, and its answer for each forecast."""

    what: str
    values: tuple[str, ...]
    heads: bool = False
    """Whether the rows below can't be read without it, so that it is shown also where all are the same."""

    @property
    def differs(self) -> bool:
        """Return whether the forecasts differ in it."""
        return len(set(self.values)) > 1


def rows_beside(columns: Sequence[Column], glass: Glass | None, words: Units, tariff: Tariff) -> list[Row]:
    """Return all rows that at least one forecast has a value for: first moments, then heat, glass and energy.

    Where the kiln may not reach a target, that stands first. Without a glass nothing is said of one.
    """
    return [row for row in (*_reach(columns, words), *_latest(columns), *_moments(columns, glass, words),
                            *_heat(columns, glass, words), *_glass(columns, glass, words), *_energy(columns, tariff))
            if any(value != NOT_SO for value in row.values)]


def glass_rows(columns: Sequence[Column], glass: Glass | None, words: Units, tariff: Tariff) -> list[Row]:
    """Return the rows that tell no moment; ``glass`` as of ``rows_beside``."""
    return [row for row in (*_reach(columns, words), *_heat(columns, glass, words), *_glass(columns, glass, words),
                            *_energy(columns, tariff))
            if any(value != NOT_SO for value in row.values)]


def brief(one: Column) -> str:
    """Return what a maker asks first of a forecast, in few words: its latest start, and when it is done."""
    found = []
    if one.latest is not None and one.latest.too_soon is not None:
        found = [f"too late for {one.clock.day(one.latest.too_soon)}"]
    elif one.latest is not None:
        found = [f"start by {one.clock.day(one.latest.start)}"]
    for what, moment in (("anneal over", one.outlook.anneal_ends), ("to open", one.outlook.opens)):
        if moment is not None and not found:
            found.append(f"{what} {one.clock(moment.t_s)}")
    return ", ".join(found)


def times_of(one: Column) -> str:
    """Return which start the times of a forecast are of, as a sentence; empty where it is not known."""
    return "" if one.clock.starts_iso is None else f"All other times are of a start at {one.clock(0.0)}."


def _reach(columns: Sequence[Column], words: Units) -> Iterator[Row]:
    """Yield whether the kiln comes to the plan's targets, where it may not; all other rows are so only if it does."""
    yield Row("only if the kiln reaches", tuple(
        NOT_SO if one.beyond is None else words.temp(one.beyond.to_c) for one in columns))


def _latest(columns: Sequence[Column]) -> Iterator[Row]:
    """Yield the latest start, where one is asked; a forecast of which none can be said has none."""
    by = next((one.clock.day(one.latest.by) for one in columns if one.latest is not None), "")
    yield Row(f"latest start, for {by}", tuple(
        NOT_SO if one.latest is None else _start(one.latest, one.clock, by) for one in columns))
    if by and all(column.clock.started for column in columns):
        yield Row("if started at", tuple(column.clock.started for column in columns), heads=True)


def _start(one: LatestStart, clock: Clock, by: str) -> str:
    """Return a latest start; where it is of another day than that of the plan as it is written, that day as well."""
    own, start = clock.day(one.by), clock.day(one.start)
    if own == by:
        return start
    if one.too_soon is not None and clock.day(one.too_soon) == by:
        return f"too late; for {own}: {start}"
    return f"for {own}: {start}"


def _moments(columns: Sequence[Column], glass: Glass | None, words: Units) -> Iterator[Row]:
    def at(moments: Sequence[Moment | None], *, latest: bool = False) -> tuple[str, ...]:
        return tuple(NOT_SO if moment is None else column.clock(moment.t_s + (moment.margin_s if latest else 0.0))
                     for moment, column in zip(moments, columns, strict=True))

    outlooks = [column.outlook for column in columns]
    ends = [one.anneal_ends for one in outlooks]
    yield Row("anneal hold begins", at([one.anneal_begins for one in outlooks]))
    if glass is not None:
        yield Row(f"below {words.temp(glass.band_low_c)}, anneal over", at(ends))
        if not any(column.is_rough for column in columns):
            yield Row("anneal over in 9 of 10 nights by", at(ends, latest=True))
    yield Row(f"cool enough to open, {words.temp(OPEN_C)}", at([one.opens for one in outlooks]))


def _heat(columns: Sequence[Column], glass: Glass | None, words: Units) -> Iterator[Row]:
    outlooks = [column.outlook for column in columns]
    yield Row("peak", tuple(words.temp(one.peak_c) for one in outlooks))
    yield Row(f"within {words.difference(NEAR_TOP_K)} of the peak",
              tuple(whole_minutes(one.near_top_s) for one in outlooks))
    if glass is not None and any(one.peak_c > HAZE_C[0] for one in outlooks):
        yield Row(f"above {words.temp(HAZE_C[1])}", tuple(whole_minutes(one.above_haze_s) for one in outlooks))
        yield Row(f"{words.bare(HAZE_C[0])} to {words.temp(HAZE_C[1])}, haze range",
                  tuple(whole_minutes(one.haze_s) for one in outlooks))


def _glass(columns: Sequence[Column], glass: Glass | None, words: Units) -> Iterator[Row]:
    if glass is None:
        return
    outlooks = [column.outlook for column in columns]
    if any(anneal_hold(tuple(column.planned), glass) is not None for column in columns):
        yield Row(f"anneal hold, as if at {words.temp(glass.annealing_point_c)}", tuple(
            NOT_SO if one.worth_min is None else whole_minutes(60 * one.worth_min) for one in outlooks))
    for at, slab in enumerate(next((one.slabs for one in outlooks if one.slabs), ())):
        name = f"{slab.thickness_mm:g} mm"
        yield Row(f"{name}: difference while annealing",
                  tuple(_of_slab(one, at, lambda s: _difference(s.difference_k, words)) for one in outlooks))
        yield Row(f"{name}: stress that stays, about",
                  tuple(_of_slab(one, at, _stays) for one in outlooks))


def _of_slab(one: Outlook, at: int, say: Callable[[Slab], str]) -> str:
    return say(one.slabs[at]) if at < len(one.slabs) else NOT_SO


def _stays(slab: Slab) -> str:
    return megapascals(slab.low_mpa, slab.high_mpa).removeprefix("about ")


def _difference(kelvin: float | None, words: Units) -> str:
    if kelvin is None:
        return NO_ANNEAL
    return f"{kelvin * (9 / 5 if words.unit == 'F' else 1):.1f} °{words.unit}"


def _energy(columns: Sequence[Column], tariff: Tariff) -> Iterator[Row]:
    spent = [column.outlook.energy for column in columns]
    yield Row("energy, about", tuple(NOT_SO if one is None else f"{_said(one, kwh_words)} kWh" for one in spent))
    if tariff.price_per_kwh is not None:
        sign = f" {tariff.currency}".rstrip()
        yield Row("cost, about", tuple(
            NOT_SO if one is None else f"{_said(one, lambda kwh: _bare(kwh, tariff))}{sign}" for one in spent))


def _bare(kwh: float, tariff: Tariff) -> str:
    return cost_words(kwh, tariff.price_per_kwh, tariff.currency, bare=True)


def _said(spent: Estimate, say: Callable[[float], str]) -> str:
    """Return an estimate as one figure; as two where nothing shows which of all between is the likely one."""
    if spent.basis is Basis.USUAL:
        return f"{say(spent.low_kwh)} to {say(spent.high_kwh)}"
    return say(spent.likely_kwh)


def energy_line(spent: Estimate | None, tariff: Tariff) -> str:
    """Return between what the energy and its cost lie, as a sentence; empty where none was reckoned."""
    if spent is None:
        return ""
    if spent.basis is Basis.USUAL:
        return ("Energy is a rough estimate: Lehrling never saw this kiln with all its power. One reading of a meter "
                "makes it narrow.")
    cost = ""
    if tariff.price_per_kwh is not None:
        cost = f", {_bare(spent.low_kwh, tariff)} to {_bare(spent.high_kwh, tariff)} {tariff.currency}".rstrip()
    return (f"Energy is an estimate: as written, likely {kwh_words(spent.low_kwh)} to {kwh_words(spent.high_kwh)} kWh"
            f"{cost}.")


def shown(rows: Sequence[Row]) -> list[Row]:
    """Return the rows that stand in the table: those in which forecasts differ, and what these are read with."""
    return [row for row in rows if row.differs or row.heads]


def not_changed(rows: Sequence[Row]) -> str:
    """Return which rows are the same in all forecasts, as a sentence; empty where none is."""
    same = [f"{row.what} ({row.values[0]})" for row in rows if not row.differs and not row.heads]
    return f"The same in all: {'; '.join(same)}." if same else ""


def missing(columns: Sequence[Column]) -> Iterator[str]:
    """Yield a sentence for each value that a forecast does not have though others may, with the reason."""
    for one in columns:
        if one.found.opens_s is None and one.found.opens_margin_s > WIDEST_S:
            hours = f"{WIDEST_S / 3600:g} h"
            yield f"When it is cool enough to open is not said of “{one.name}”: it could be more than {hours} off."
        elif one.found.opens_s is None:
            yield f"When it is cool enough to open is not known of “{one.name}”: by this forecast it hardly cools."
    if any(one.outlook.energy is not None for one in columns):
        for one in columns:
            if one.outlook.energy is None:
                yield f"The energy of “{one.name}” can't be reckoned{_why_no_energy(one)}."


def _why_no_energy(one: Column) -> str:
    if one.found.curve[-1][0] > LONGEST_S:
        return f": it lasts longer than {LONGEST_S / 86_400:g} days"
    return " from this forecast"


def table_lines(columns: Sequence[Column], rows: Sequence[Row]) -> Iterator[str]:
    """Yield rows as a table of text, each column as wide as it needs to be."""
    first = max((len(row.what) for row in rows), default=0)
    wide = [max(len(column.name), *(len(row.values[at]) for row in rows), 1) for at, column in enumerate(columns)]
    yield " " * first + "".join(f"  {column.name:>{w}}" for column, w in zip(columns, wide, strict=True))
    for row in rows:
        yield f"{row.what:<{first}}" + "".join(f"  {value:>{w}}" for value, w in zip(row.values, wide, strict=True))


def beyond_json(one: Column) -> dict[str, float] | None:
    """Return the target that the kiln may not reach as plain values [step from 1, °C]; None where it reaches all."""
    return None if one.beyond is None else dict(one.beyond._asdict())


def outlook_json(one: Outlook) -> dict[str, Any]:
    """Return an outlook as plain values [s after the start press, °C, min, MPa, kWh]; None where there is none."""
    def moment(at: Moment | None) -> dict[str, int] | None:
        return None if at is None else {"at_s": round(at.t_s), "margin_s": round(at.margin_s)}

    def figure(value: float, digits: int = 1) -> float:
        return round(value, digits)

    return {
        "anneal_begins": moment(one.anneal_begins), "hold_over": moment(one.hold_ends),
        "anneal_over": moment(one.anneal_ends),
        "opens": moment(one.opens), "peak_c": figure(one.peak_c), "near_top_min": figure(one.near_top_s / 60),
        "above_haze_min": figure(one.above_haze_s / 60), "haze_min": figure(one.haze_s / 60),
        "hold_worth_min": None if one.worth_min is None else figure(one.worth_min),
        "slabs": [{"thickness_mm": slab.thickness_mm, 
                   "difference_k": None if slab.difference_k is None else figure(slab.difference_k, 2),
                   "stays_mpa": [figure(slab.low_mpa, 2), figure(slab.high_mpa, 2)]} for slab in one.slabs],
        "kwh": None if one.energy is None else {
            "low": figure(one.energy.low_kwh), "likely": figure(one.energy.likely_kwh),
            "high": figure(one.energy.high_kwh), "from": one.energy.basis.value},
    }
