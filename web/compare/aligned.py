"""One firing of a comparison with all that is read of it, and the moment at which it is laid over the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.store.firings import Firing
from web.compare.cooling import with_steps
from web.compare.figures import Compared
from web.compare.measures import Stretch, crossing_s, falling_s, measures, process_c
from web.compare.written import Load, load_of
from web.firings.record import read_whole

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
    measured, peak_c = measures(trace, anneal_c), record.picture.peak_c
    if measured is not None and peak_c is not None:
        measured = replace(measured, peak_c=peak_c)  # the columns' means smooth a short top
    if measured is not None and anneal is not None:
        measured = with_steps(measured, record.course, planned, anneal)
    return One(load, trace, legs[0].start_s if legs else None,
               Compared(firing.title, measured, anneal_c, held_s, load.outcome_words))


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
