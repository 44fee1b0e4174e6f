"""Moments by the clock on the wall of a time zone, right also in the nights in which it is changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, time, timedelta, tzinfo
from pathlib import Path

_DAY = timedelta(days=1)


def later(moment: datetime, seconds: float) -> datetime:
    """Return the moment so much later [s], in the same zone: in a night with a change the clock shows an hour else.

    Parameters
    ----------
    moment
        Aware, in a zone that knows its changes. (A datetime plus a timedelta is what the clock would show without
        the change.)
    seconds
        How much later [s]; below 0 earlier.
    """
    return datetime.fromtimestamp(moment.timestamp() + seconds, tz=moment.tzinfo)


def next_time(at: time, now: datetime) -> datetime:
    """Return when the clock next shows a time of day, aware, in the zone of ``now``.

    Where the clock shows it twice that night, it is the first time. Where the clock leaves it out, it is as if the
    clock had not been changed yet: 02:30 is what the clock then shows as 03:30.

    Parameters
    ----------
    at
        The time of day.
    now
        Aware, in the zone whose clock is meant.
    """
    return next(moment for moment in _each_day(at, now, (0,)) if moment.timestamp() > now.timestamp())


def deadlines(at: time, now: datetime) -> Iterator[datetime]:
    """Yield the moments, a day after another, by which something is done that must be done by a time of day.

    As ``next_time``; but where the clock shows the time twice, or leaves it out, it is the earlier of the two moments
    that can be meant, so that nobody waits.
    """
    return (moment for moment in _each_day(at, now, (0, 1)) if moment.timestamp() > now.timestamp())


def _each_day(at: time, now: datetime, folds: Sequence[int]) -> Iterator[datetime]:
    """Yield the moment of each day from today on, the earliest of those that ``folds`` stand for."""
    day = now.date()
    while True:
        yield min(datetime.combine(day, at.replace(fold=fold), now.tzinfo).astimezone(UTC)
                  for fold in folds).astimezone(now.tzinfo)
        day += _DAY


def clock_face(moment: datetime | time, *, twelve: bool = False, seconds: bool = False) -> str:
    """Return a time of day as a clock shows it: ``02:14``, or ``2:14 am`` where it counts to ``twelve``."""
    tail = f":{moment:%S}" if seconds else ""
    if not twelve:
        return f"{moment:%H:%M}{tail}"
    return f"{(moment.hour - 1) % 12 + 1}:{moment:%M}{tail} {'am' if moment.hour < 12 else 'pm'}"


def time_of_day(moment: datetime, *, twelve: bool = False) -> str:
    """Return a time of day as ``clock_face`` does; with its zone where the clock shows it twice that night.

    ``moment`` is aware, in the zone whose clock is meant.
    """
    zone = f" {moment:%Z}" if moment.utcoffset() != moment.replace(fold=1 - moment.fold).utcoffset() else ""
    return clock_face(moment, twelve=twelve) + zone


def machine_zone() -> tzinfo:
    """Return the computer's own time zone, with its changes to summer time; UTC where it has none."""
    from zoneinfo import ZoneInfo

    try:
        with Path("/etc/localtime").open("rb") as file:
            return ZoneInfo.from_file(file)
    except (OSError, ValueError):
        return ZoneInfo("UTC")
