"""Lengths of time in words: by themselves, as minutes to be compared, as h:mm, and what is left to act."""

from __future__ import annotations

_IN_SECONDS_S = 120.0
"""Below this a length is said in seconds where half a minute matters [s]. [chosen: rounded to minutes, a shorter one
would be said up to half as long again]"""

_NO_TIME_S = 60.0
"""Below this there is no time left worth a figure [s]. [chosen: nobody is at the kiln within a minute]"""


def duration(seconds: float) -> str:
    """Return a length of time [s]: ``45 s``, ``12 min``, ``3 h 05 min``, ``2 days 4 h``; below 0 is ``0 s``."""
    seconds = max(0.0, seconds)
    if seconds < 60:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60:02d} min"
    return f"{minutes // 1440} days {minutes % 1440 // 60} h"


def whole_minutes(seconds: float) -> str:
    """Return a length of time [s] in minutes however long it is, so that two can be compared: ``90 min``."""
    return f"{seconds / 60:.0f} min"


def minutes_of(part_s: float, whole_s: float) -> str:
    """Return how much of a length of time is over [s], in minutes: ``58 of 60 min``."""
    return f"{part_s / 60:.0f} of {whole_minutes(whole_s)}"


def seconds_or_minutes(seconds: float) -> str:
    """Return a length of time [s] in seconds below two minutes, then in minutes: ``90 s``, ``90 min``."""
    return f"{seconds:.0f} s" if seconds < _IN_SECONDS_S else whole_minutes(seconds)


def hours_minutes(seconds: float) -> str:
    """Return a length of time [s] as h:mm, rounded to the minute, as plans are written: ``1:30``."""
    minutes = round(seconds / 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


def firing_clock(seconds: float) -> str:
    """Return a moment of a firing [s since its start] as h:mm, cut to the minute as a clock is: ``-0:05``."""
    sign = "-" if seconds < 0 else ""
    minutes = int(abs(seconds) // 60)
    return f"{sign}{minutes // 60}:{minutes % 60:02d}"


def in_speech(seconds: float) -> str:
    """Return a length of time [s] as one says it at night: ``30 s``, ``12 min``, ``24 hours``, ``3 h 05 min``."""
    if seconds < _IN_SECONDS_S:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest:02d} min" if rest else f"{hours} hour{'s' if hours > 1 else ''}"


def deadline(before: str, left_s: float) -> str:
    """Return until when to act, as a sentence with that time of day; with less than a minute left it is now."""
    return f"Do this before {before}." if left_s >= _NO_TIME_S else "Do this now."


def time_left(seconds: float) -> str:
    """Return how long there is to act [s] as a sentence, where no time of day is known; under a minute it is now."""
    return f"About {duration(seconds)} left." if seconds >= _NO_TIME_S else "Do this now."
