"""When a thermocouple is to be compared again: by the calendar, or by its firings, whichever comes first.

A suggestion of the trade; no reading and no alert depends on it.
"""

from __future__ import annotations

from datetime import date

COMPARE_FIRINGS = 50
"""After so many firings a base-metal thermocouple is compared again, and after a year in any case.
[common practice]"""


def a_year_after(day: date) -> date:
    """Return the same day of the next year; 28 February for 29 February."""
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)


def comparison_due(since: date, fired: date | None) -> date:
    """Return the day on which a thermocouple is to be compared again.

    Parameters
    ----------
    since
        The day of the last comparison in a hold, or of the change that brought it in. A comparison in ice or boiling
        water does not count: drift shows only when hot.
    fired
        The day on which COMPARE_FIRINGS firings since then were reached; None where they were not.
    """
    year = a_year_after(since)
    return year if fired is None else min(year, fired)
