"""What has to be said of a recorded trace before its figures are believed: too coarse, or perhaps in other units.

One that must be two firings is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from daemon.errors import BadInput
from daemon.firing.durations import duration, seconds_or_minutes, whole_minutes
from daemon.firing.events import Sample
from daemon.firing.plan.plan import MAX_RATE_C_PER_H, Plan, to_unit
from daemon.firing.trace.csv_trace import Trace, usual_interval_s

COARSE_S = 60.0
"""A reading more seldom than this [s] is too seldom to tell a hold's minutes or a lid that was opened. [chosen: a
lid is open for a minute or less]"""
LONGEST_GAP_S = 48 * 3600.0
"""Longer without a row is no gap of one firing [s]. [chosen: two days; nobody goes on with a kiln that has long been
cold, and the glass is reckoned straight across a gap, minute by minute]"""
_HIGH_C = 1100.0
"""Above any kiln-forming, and what many studio kilns reach at all [°C]. [common practice]"""
_CLIMB_C = 200.0
"""A climb by less than this tells nothing of the unit of time [°C]. [chosen: far beyond any noise or drift of a
room]"""
_ROOM_F = (40.0, 110.0)
"""A room or a kiln not quite cold, read in °F. [chosen: 4 to 43 °C]"""
_NEAR_F = 40.0
"""A peak in °F lies this near a plan's top, the plan read in °F [°F]. [chosen: probe and controller differ by
less]"""


def caveats(trace: Trace, plan: Plan | None) -> tuple[str, ...]:
    """Return what to bear in mind of a trace, a sentence or two each; mostly nothing.

    Parameters
    ----------
    trace
        As it was read.
    plan
        The plan it was fired by, where that is known.
    """
    return (*_rows(trace), *_coarse(trace.samples), *_other_units(trace.samples, plan))


def refuse_two_firings(trace: Trace, source: str) -> None:
    """Refuse a trace with a gap that no single firing has.

    Raises
    ------
    BadInput
        Naming the second of the row after the first such gap, and what to do.
    """
    for before, after in pairwise(trace.samples):
        if after.t_s - before.t_s > LONGEST_GAP_S:
            raise BadInput(
                f"{source}, the row of second {after.t_s + (trace.from_1970_s or 0.0):.0f}",
                f"comes {duration(after.t_s - before.t_s)} after the row before it. Beyond "
                f"{LONGEST_GAP_S / 3600:.0f} h it is another firing.",
                "Cut the file before that row, and replay each part by itself.")


def _rows(trace: Trace) -> Iterator[str]:
    if trace.from_1970_s is not None:
        day = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=trace.from_1970_s)
        yield (f"The seconds count from 1970. The first row, {day:%Y-%m-%d %H:%M} UTC, is taken for the moment start "
               "was pressed.")
    if trace.contradictions:
        rows = "1 row gives a second" if trace.contradictions == 1 else f"{trace.contradictions} rows give a second"
        yield f"{rows} another temperature than the row before; the first one counts."


def _coarse(samples: list[Sample]) -> Iterator[str]:
    every_s = usual_interval_s(samples)
    if every_s <= COARSE_S:
        return
    yield (f"A reading every {seconds_or_minutes(every_s)} is coarse. Holds are known to about "
           f"{whole_minutes(2 * every_s)}: minutes that seem to be missing may not be. What came and went between "
           "two readings was not seen.")


def _other_units(samples: list[Sample], plan: Plan | None) -> Iterator[str]:
    seen = [(sample.t_s, sample.temp_c) for sample in samples if sample.temp_c is not None]
    if not seen:
        return
    (first_s, first_c), (peak_s, peak_c) = seen[0], max(seen, key=lambda row: row[1])
    climb_c, took_s = peak_c - first_c, peak_s - first_s
    if climb_c >= _CLIMB_C and climb_c * 3600 > MAX_RATE_C_PER_H * took_s:
        yield (f"It climbs {climb_c:.0f} °C in {took_s:.0f} s, faster than a kiln can. Perhaps the seconds are "
               "minutes: multiply them by 60.")
    hot = peak_c > _HIGH_C if plan is None else abs(peak_c - to_unit(plan.highest_c, "F")) < _NEAR_F
    if hot and _ROOM_F[0] <= first_c <= _ROOM_F[1]:
        yield (f"It begins at {first_c:.0f} and peaks at {peak_c:.0f}. Perhaps these are °F: turn them into °C, "
               "(°F − 32) × 5/9.")
