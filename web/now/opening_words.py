"""When the anneal hold begins and when the kiln may be opened, in words: a time, a range, or that it is not known."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from math import ceil, floor

from daemon.firing.durations import duration
from daemon.firing.verdict.cooldown_forecast import OPEN_C
from web import words
from web.times import local, near_time_words

_QUARTER_S = 900.0
"""The ends of a range are rounded to this, and a smaller margin is said as it is [s]. [chosen: no clock time is
needed more closely]"""
_FEW = 3
"""Fewer firings than this are said to be few. [from: daemon.kiln.kiln_model.FEW]"""
_FIVE_S = 300.0
"""The ends of the anneal's range are rounded to this [s]. [chosen: nobody gets up to the minute]"""
_WIDEST_S = 3 * 3600.0
"""With a larger margin than this the time is not known yet [s]. [chosen: nobody plans by a range of six hours]"""
_WARMER = "shelf and mould may be warmer"
BEFORE_OPENING = "Read the kiln’s own display before you open it, and use gloves."
"""What is said with each time at which the kiln may be opened."""


def opening_words(at_s: float, margin_s: float | None, now_s: float, starts: datetime, unit: str) -> tuple[str, str]:
    """Return the time for the margin of the log, empty where there is no single one, and the sentence beside it.

    Parameters
    ----------
    at_s, margin_s
        The forecast [s of firing], give or take so much [s]; None where no margin is known.
    now_s
        The present [s of firing].
    starts
        Wall time of second 0 of the firing, in the owner's zone.
    unit
        "C" or "F".
    """
    cool = f"ool enough to open, {words.temp(OPEN_C, unit)} °{unit}"
    if margin_s is None or margin_s < _QUARTER_S:
        about = f", perhaps {duration(margin_s)} earlier or later" if margin_s else ""
        return near_time_words(starts, at_s, now_s), f"C{cool}{about}; {_WARMER}"
    first_s, last_s = _to_whole(starts, at_s - margin_s, floor), _to_whole(starts, at_s + margin_s, ceil)
    first, last = (near_time_words(starts, t_s, now_s) for t_s in (first_s, last_s))
    if margin_s > _WIDEST_S:
        hardly = f": hardly before {first}" if first_s > now_s else ""
        return "", f"When it is c{cool}, is not known yet{hardly}"
    when = f"probably between {first} and {last}" if first_s > now_s else f"probably by {last}"
    return "", f"C{cool}, {when}; {_WARMER}"


def anneal_words(at_s: float, margin_s: float, now_s: float, starts: datetime, learned: int | None = None) -> str:
    """Return the sentence beside the time at which the anneal hold begins; arguments as in opening_words.

    ``learned`` is from how many past firings it is known, said where they are few.
    """
    first_s = _to_whole(starts, at_s - margin_s, floor, _FIVE_S)
    last_s = _to_whole(starts, at_s + margin_s, ceil, _FIVE_S)
    first, last = (near_time_words(starts, t_s, now_s) for t_s in (first_s, last_s))
    when = f"probably between {first} and {last}" if first_s > now_s else f"probably by {last}"
    few = "" if learned is None or learned >= _FEW else (
        f"; learned from {'one firing' if learned == 1 else f'{learned} firings'} only")
    return f"The anneal hold begins, {when}{few}"


def safely_by(at_s: float, margin_s: float | None, starts: datetime) -> datetime | None:
    """Return the end of the range in which the kiln will probably be cool enough, on a quarter of an hour.

    None where the margin is so wide that ``opening_words`` says the time is not known yet. The arguments are its.
    """
    if margin_s is not None and margin_s > _WIDEST_S:
        return None
    return local(starts, _to_whole(starts, at_s + (margin_s or 0.0), ceil))


def _to_whole(starts: datetime, t_s: float, whole: Callable[[float], int], unit_s: float = _QUARTER_S) -> float:
    """Return a second of the firing, moved to a whole ``unit_s`` of the clock by ``floor`` or ``ceil``.

    Every time zone of today is a whole number of quarters from UTC.
    """
    began_s = starts.timestamp()
    return whole((began_s + t_s) / unit_s) * unit_s - began_s
