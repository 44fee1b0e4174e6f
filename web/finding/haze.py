"""What went with a cleared haze: the firings of hazy pieces, by their peak and their time above a temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import sqlite_utils
from markupsafe import Markup

from daemon.firing.durations import duration
from daemon.firing.plan.plan import rate_to_unit, to_unit
from daemon.glass.exposure import ABOVE_C, HAZE_C
from daemon.kiln import haze_record
from daemon.kiln.haze_record import Refire, sentence
from daemon.store.finding.figures import Haze, Refired
from daemon.store.finding.refires import judged
from web import words
from web.drawing.dot_chart_svg import NARROW, WIDE, Axis
from web.drawing.scatter_svg import Mark, scatter_svg
from web.request.context import settings
from web.times import full_date

LIMITS_C = tuple(limit_c for limit_c in ABOVE_C if limit_c > HAZE_C[0] - 100.0)
"""The temperatures to choose from [°C]: those that a record counts the time above, near where haze forms.
[derived: ABOVE_C and HAZE_C]"""
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


class _One(NamedTuple):
    firing: Refired
    told: Refire


def answer(db: sqlite_utils.Database, known: Haze, limit_c: float, unit: str,
           tonight: tuple[float, float] | None = None) -> Answer:
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
    tonight
        Of a firing that is foreseen: minutes above the limit, and peak [°C]; None where none is asked about.
    """
    refired, silent = known.refired, known.silent
    found = [_One(firing, one) for firing, one in judged(db, refired[-_MOST:], limit_c, unit)]
    refires = [one.told for one in found]
    above = f"{to_unit(limit_c, unit):.0f} °{unit}"
    here = None if tonight is None else (tonight[0], round(to_unit(tonight[1], unit)))
    said = sentence(refires, limit_c, unit)
    if here is not None:
        said += " " + haze_record.tonight(refires, here[1], here[0], limit_c, unit)
    wide, narrow = (_drawn(found, above, unit, size, here) for size in (WIDE, NARROW))
    # The drawing's marks are numbered as they stand in time, and so are the rows.
    return Answer(words.bound(said.strip()),
                  _left_out(silent, len(refired[-_MOST:]) - len(found), len(refired) > _MOST),
                  [_row(one, above, unit) for one in found], wide, narrow)


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
    minutes = duration(60.0 * round(one.told.above_min)) if one.told.above_min >= 0.5 else "not"
    figure = f"peak {one.told.peak} °{unit}, {minutes} above {above}"
    return Row(one.firing.firing_id, one.firing.title, words.bound(full_date(day)), words.bound(figure),
               one.firing.cleared)


def _drawn(found: Sequence[_One], above: str, unit: str, size: tuple[int, int],
           here: tuple[float, float] | None) -> Markup:
    if not found:
        return Markup()
    marks = [Mark(one.told.above_min, float(one.told.peak), _words(one, above, unit), not one.firing.cleared)
             for one in found]
    cleared = sum(one.firing.cleared for one in found)
    return Markup(scatter_svg(
        marks, Axis(f"minutes above {above}", _SPAN_MIN, from_zero=True),
        Axis(f"peak, °{unit}", rate_to_unit(_SPAN_K, unit)),
        f"Peak against minutes above {above}, {len(found)} firings: the haze cleared in {cleared}", size, here))


def _words(one: _One, above: str, unit: str) -> str:
    row = _row(one, above, unit)
    return f"{row.date}: {row.figure}, haze {'cleared' if row.cleared else 'stayed'}"
