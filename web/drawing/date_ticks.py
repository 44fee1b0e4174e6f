"""The few ticks of an axis of dates: days, or beginnings of months."""

from __future__ import annotations

from datetime import date, timedelta

from web.times import MONTHS

_STEPS_DAYS = (1, 2, 5, 10)
_STEPS_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120)
"""Steps between ticks: so many days, or so many months counted from January. [chosen: round ones]"""
_LONGEST_IN_DAYS = 45
"""A span up to this is told in days [days]. [chosen: a month and a half]"""


def date_ticks(first: date, last: date, room: int) -> list[tuple[date, str]]:
    """Return at most ``room`` ticks (at least two where the span has them) from ``first`` to ``last``, with words.

    ``3 Mar`` where days are told, else ``Mar``; a January, and the first tick, with its year: ``Jan 2026``.
    """
    span = (last - first).days
    if span <= _LONGEST_IN_DAYS:
        step = next((days for days in _STEPS_DAYS if span // days + 1 <= room), max(1, -(-span // max(1, room - 1))))
        days = [first + timedelta(days=n) for n in range(0, span + 1, step)]
        return [(day, f"{day.day} {MONTHS[day.month - 1]}") for day in days]
    for step in _STEPS_MONTHS:
        months = _months(first, last, step)
        if len(months) <= room:
            break
    return [(month, f"{MONTHS[month.month - 1]} {month.year}" if at == 0 or month.month == 1 else
             MONTHS[month.month - 1]) for at, month in enumerate(months)]


def _months(first: date, last: date, step: int) -> list[date]:
    """Return the beginnings of every ``step``-th month, counted from a January, within a span."""
    found = []
    at = first.year * 12 + first.month - 1
    while (month := date(at // 12, at % 12 + 1, 1)) <= last:
        if month >= first and at % step == 0:
            found.append(month)
        at += 1
    return found
