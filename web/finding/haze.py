"""What went with a cleared haze: the firings of hazy pieces, by their peak and their time above a temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlite_utils
from markupsafe import Markup

from daemon.firing.durations import duration
from daemon.firing.plan.plan import rate_to_unit, to_unit
from daemon.glass.exposure import ABOVE_C, HAZE_C
from daemon.store.finding import figures
from daemon.store.finding.figures import Haze
from web import words
from web.drawing.dot_chart_svg import NARROW, WIDE, Axis
from web.drawing.scatter_svg import Mark, scatter_svg
from web.request.context import settings
from web.times import full_date

LIMITS_C = tuple(limit_c for limit_c in ABOVE_C if limit_c > HAZE_C[0] - 100.0)
"""The temperatures to choose from [°C]: those that a record counts the time above, near where haze forms.
[derived: ABOVE_C and HAZE_C]"""
LEAST = 6
"""From so many firings on the hotter and the cooler ones are counted. [chosen: three in each half at least]"""
_MOST = 120
"""The latest firings that are shown. [chosen: bounds the weight of the page]"""
_SPAN_K, _SPAN_MIN = 20.0, 10.0
"""What the axes span at least [K, min]. [chosen: so that a hair's difference looks like one]"""


@dataclass(frozen=True, slots=True)
class Row:
    """One firing: its date, its figures and what came of the haze, in words."""

    number: int
    title: str
    date: str
    figure: str
    cleared: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer: a sentence, who is left out, the firings (the latest first), and their drawing; empty without."""

    sentence: str
    left_out: str
    rows: Sequence[Row]
    wide: Markup
    narrow: Markup


@dataclass(frozen=True, slots=True)
class _One:
    firing: figures.Refired
    peak: int
    """As it is shown, in the owner's unit."""
    above_min: float


def answer(db: sqlite_utils.Database, known: Haze, limit_c: float, unit: str) -> Answer:
    """Return the answer.

    Parameters
    ----------
    db
        The record.
    known
        What is known of a glass.
    limit_c
        One of LIMITS_C.
    unit
        "C" or "F".
    """
    refired, silent = known.refired, known.silent
    judged = figures.figures_of(db, [one.firing_id for one in refired[-_MOST:]])
    found = []
    for one in refired[-_MOST:]:
        kept = judged.get(one.firing_id)
        above_s = None if kept is None else kept.above_s.get(f"{limit_c:g}")
        if kept is not None and kept.peak_c is not None and above_s is not None:
            found.append(_One(one, round(to_unit(kept.peak_c, unit)), above_s / 60))
    above = f"{to_unit(limit_c, unit):.0f} °{unit}"
    wide, narrow = (_drawn(found, above, unit, size) for size in (WIDE, NARROW))
    # The drawing's marks are numbered as they stand in time, and so are the rows.
    return Answer(words.bound(_sentence(found, unit)),
                  _left_out(silent, len(refired[-_MOST:]) - len(found), len(refired) > _MOST),
                  [_row(one, above, unit) for one in found], wide, narrow)


def _sentence(found: Sequence[_One], unit: str) -> str:
    """Return how often the haze cleared in the hotter and in the cooler half.

    The firings are halved by their peaks, between two different ones nearest to the middle. So what came of them has
    no part in where the line is drawn; a line that parts cleared from hazy best would find one in pure chance, too.
    """
    if not found:
        return "No hazy piece of this glass was fired again yet, with “clear” or “haze” noted afterwards."
    cleared = sum(one.firing.cleared for one in found)
    if len(found) < LEAST:
        how = f"cleared in {cleared}" if len(found) > 1 else "cleared" if cleared else "stayed"
        times = f"{len(found)} times" if len(found) > 1 else "once"
        return (f"So far hazy pieces of this glass were fired again {times}; the haze {how}. "
                f"From {LEAST} firings on, the hotter ones are compared with the cooler ones here.")
    by_peak = sorted(found, key=lambda one: one.peak)
    between = [n for n in range(1, len(by_peak)) if by_peak[n - 1].peak != by_peak[n].peak]
    if not between:
        return f"All {len(found)} peaked at {by_peak[0].peak} °{unit}; the haze cleared in {cleared}."
    cut = min(between, key=lambda n: abs(n - len(by_peak) / 2))
    cooler, hotter = by_peak[:cut], by_peak[cut:]
    return (f"The haze cleared in {_of(hotter)} with a peak of {hotter[0].peak} °{unit} or more, and in "
            f"{_of(cooler)} with {cooler[-1].peak} °{unit} or less. That is what went together, not why.")


def _of(found: Sequence[_One]) -> str:
    return f"{sum(one.firing.cleared for one in found)} of {len(found)}"


def _left_out(silent: int, unknown: int, is_cut: bool) -> str:
    """Return which firings are not counted, in words; empty where all are."""
    said = [f"The latest {_MOST} are shown."] if is_cut else []
    if silent:
        said.append(f"Not counted: {silent} after which neither “clear” nor “haze” was noted.")
    if unknown:
        said.append(f"Not counted: {unknown} without a known peak or time.")
    return " ".join(said)


def _row(one: _One, above: str, unit: str) -> Row:
    day = one.firing.started_utc.astimezone(settings().zone).date()
    minutes = duration(60.0 * round(one.above_min)) if one.above_min >= 0.5 else "not"
    figure = f"peak {one.peak} °{unit}, {minutes} above {above}"
    return Row(one.firing.firing_id, one.firing.title, words.bound(full_date(day)), words.bound(figure),
               one.firing.cleared)


def _drawn(found: Sequence[_One], above: str, unit: str, size: tuple[int, int]) -> Markup:
    if not found:
        return Markup()
    marks = [Mark(one.above_min, float(one.peak), _words(one, above, unit), not one.firing.cleared) for one in found]
    cleared = sum(one.firing.cleared for one in found)
    return Markup(scatter_svg(
        marks, Axis(f"minutes above {above}", _SPAN_MIN, from_zero=True),
        Axis(f"peak, °{unit}", rate_to_unit(_SPAN_K, unit)),
        f"Peak against minutes above {above}, {len(found)} firings: the haze cleared in {cleared}", size))


def _words(one: _One, above: str, unit: str) -> str:
    row = _row(one, above, unit)
    return f"{row.date}: {row.figure}, haze {'cleared' if row.cleared else 'stayed'}"
