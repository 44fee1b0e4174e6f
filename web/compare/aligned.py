"""One firing of a comparison with all that is read of it, and the moment at which it is laid over the others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.service.state_reader import number
from daemon.store import judgements
from daemon.store.firings import Firing
from web.compare.cooling import with_steps
from web.compare.figures import Compared
from web.compare.measures import Measures, Stretch, crossing_s, falling_s, measures, process_c
from web.compare.written import Load, load_of
from web.firings.record import read_whole
from web.request.context import database

WAYS = {"process": "where the process begins", "anneal": "the start of the anneal", "clock": "the hour of the day",
        "start": "the start"}
"""What firings can be laid together at."""
_MINUTES = 2000
"""Columns that a compared trace is read in. [chosen: more than the drawing is wide]"""
_NOON_S = 12 * 3600
"""Noon as a second of the day. [derived: 12 h]"""


@dataclass(frozen=True)
class One:
    """One firing as it is compared."""

    load: Load
    trace: tuple[Stretch, ...]
    anneal_start_s: float | None
    compared: Compared

    @property
    def firing(self) -> Firing:
        """Return the firing itself."""
        return self.load.firing


def read_one(firing: Firing) -> One:
    """Return one firing with its trace by the minute, its anneal hold, its figures and its load."""
    record = read_whole(firing, _MINUTES)
    load = load_of(record)
    trace = tuple((t, mid) for t, _, mid, _ in record.picture.columns if mid is not None)
    anneal, planned = None, () if record.plan is None else planned_parts(record.plan.parsed())
    if record.glass is not None:
        anneal = anneal_hold(planned, record.glass)
    legs = [leg for leg in record.course if leg.run is not None and anneal is not None
            and leg.planned.index == anneal.index]
    held_s = sum(leg.end_s - leg.start_s for leg in legs) or None
    means = [leg.run.mean_c for leg in legs if leg.run is not None and leg.run.mean_c is not None]
    anneal_c = sum(means) / len(means) if means else None
    measured = measures(trace, anneal_c)
    if measured is not None:
        measured = _as_judged(measured, firing)
    if measured is not None and anneal is not None:
        measured = with_steps(measured, record.course, planned, anneal)
    return One(load, trace, legs[0].start_s if legs else None,
               Compared(firing.title, measured, anneal_c, held_s, load.outcome_words))


def _as_judged(measured: Measures, firing: Firing) -> Measures:
    """Return figures with those that the judgement of an ended firing has in their place, as its own page says them.

    The trace by the minute, which they are taken from else, smooths a short top.
    """
    kept = judgements.judgement(database(), firing.firing_id) if firing.ended_s is not None else None
    if kept is None:
        return measured
    glass = kept.told.get("glass")
    told = glass if isinstance(glass, Mapping) else {}
    haze, above = told.get("haze_range_s"), told.get("time_above_s")
    rising, falling = (None, None) if not isinstance(haze, Mapping) else (
        number(haze, "rising"), number(haze, "falling"))
    above_s = {} if not isinstance(above, Mapping) else {
        limit_c: s for limit_c in measured.above_s if (s := number(above, f"{limit_c:g}")) is not None}
    peak_c = number(kept.told, "peak_c")
    return replace(
        measured, peak_c=measured.peak_c if peak_c is None else peak_c,
        haze_rising_s=measured.haze_rising_s if rising is None else rising,
        haze_falling_s=measured.haze_falling_s if falling is None else falling,
        above_s={**measured.above_s, **above_s})


def level_c(found: Sequence[One]) -> float:
    """Return the temperature at which the process of all these firings has begun [°C]; 0 where nothing was read."""
    peaks = [one.compared.measures.peak_c for one in found if one.compared.measures is not None]
    return process_c(peaks) if peaks else 0.0


def zero_s(one: One, by: str, process_from_c: float) -> float | None:
    """Return the second of the firing that is laid at the common zero; None where it has none.

    Parameters
    ----------
    one
        The firing.
    by
        One of WAYS.
    process_from_c
        Where the process begins [°C].
    """
    if by == "process":
        return crossing_s(one.trace, process_from_c)
    if by == "anneal":
        glass = one.load.record.glass
        if one.anneal_start_s is not None:
            return one.anneal_start_s
        return None if glass is None else falling_s(one.trace, glass.annealing_point_c)
    if by == "clock":
        starts = one.load.record.starts
        return float(_NOON_S - (starts.hour * 3600 + starts.minute * 60 + starts.second))
    return 0.0
