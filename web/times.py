"""Dates and times of day in words, as the reader's clock counts."""

from __future__ import annotations

from datetime import date, datetime

from daemon.wall_clock import clock_face, later
from web.preferences import twelve

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WHOLE_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
                 "November", "December")

_NEAR_S = 18 * 3600.0
"""Nearer to now than this a time of day needs no date [s]. [chosen: the morning after an evening]"""


def time_words(moment: datetime, *, seconds: bool = False) -> str:
    """Return a time of day: ``02:14``, or ``2:14 am`` where the reader's clock counts to twelve."""
    return clock_face(moment, twelve=twelve(), seconds=seconds)


def date_words(moment: datetime) -> str:
    """Return a date: ``Tue 3 Mar``."""
    return f"{WEEKDAYS[moment.weekday()]} {moment.day} {MONTHS[moment.month - 1]}"


def month_words(moment: datetime) -> str:
    """Return a month with its year: ``March 2026``."""
    return f"{_WHOLE_MONTHS[moment.month - 1]} {moment.year}"


def local(starts: datetime, t_s: float) -> datetime:
    """Return the wall time at second ``t_s`` of a firing, in the zone of ``starts``."""
    return later(starts, t_s)


def near_time_words(starts: datetime, t_s: float, now_s: float) -> str:
    """Return the time of day at a second of a firing, with the date where it is far from now and on another day."""
    there, here = local(starts, t_s), local(starts, now_s)
    clock = time_words(there)
    return clock if abs(t_s - now_s) < _NEAR_S or there.date() == here.date() else f"{date_words(there)} {clock}"


def full_date(day: date) -> str:
    """Return a date with its year: ``Tue 3 Mar 2026``."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"
