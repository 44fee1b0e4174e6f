"""When a firing must be started at the latest, so that something is done before the maker leaves.

A start changes nothing of a forecast but its clock. So the latest start is the deadline, less the time after which
the forecast has it done in nine of ten nights: its moment and its margin, the upper end of the band of eight of ten.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from enum import StrEnum
from typing import Any, NamedTuple

from daemon.firing.units import Units
from daemon.glass.materials import Glass
from daemon.kiln.foresight import OPEN_C
from daemon.kiln.kiln_model import FEW
from daemon.kiln.planning.outlook import Moment, Outlook
from daemon.wall_clock import clock_face, deadlines, later, time_of_day

NIGHTS = 0.9
"""In such a share of nights it is done by then [1]. [derived: half of those outside the band of eight of ten are
early]"""
LEAVE_ALONE = "Leave a hot kiln alone only as its manual and the rules where you live allow."


class Done(StrEnum):
    """What must be done before the maker leaves."""

    HOLD = "hold"
    """The anneal hold is over."""
    ANNEALED = "annealed"
    """The kiln is below the annealing range, so that the anneal is over."""
    OPEN = "open"
    """The kiln is cool enough to open."""


class DoneBy(NamedTuple):
    """What must be done by which time of day."""

    done: Done
    at: time
    now: datetime
    """Aware, in the zone whose clock the time of day is of."""
    twelve: bool = False
    """Whether the reader's clock counts to twelve."""


class LatestStart(NamedTuple):
    """The latest start that is early enough in nine of ten nights."""

    by: datetime
    """The deadline: the next time of the clock that a start from now on can meet."""
    start: datetime
    """To the whole minute."""
    moment: Moment
    """When it is done after a start [s after the start press]."""
    too_soon: datetime | None
    """The next time of the clock, where no start from now on meets it; None where one does."""
    is_rough: bool = False
    """Whether the kiln is known from so few firings that it can't be said in how many nights it is done by then."""
    is_firing: bool = False
    """Whether a firing runs in the kiln now: it can't be started now, and must cool first."""


def latest_start(asked: DoneBy, found: Outlook, *, is_out_of_reach: bool = False,
                 is_rough: bool = False) -> LatestStart | None:
    """Return the latest start; None where the forecast never has it done.

    Parameters
    ----------
    asked
        What must be done, and by when.
    found
        What the forecast comes to.
    is_out_of_reach
        Whether the kiln may not reach a target of the plan: all that comes after it is then not known.
    is_rough
        Whether few firings of the kiln are known.
    """
    moment = moment_of(asked.done, found)
    if moment is None or is_out_of_reach:
        return None
    this_minute, first = asked.now.replace(second=0, microsecond=0), None
    for by in deadlines(asked.at, asked.now):
        start = later(by, -moment.t_s - moment.margin_s).replace(second=0, microsecond=0)
        if start.timestamp() >= this_minute.timestamp():
            return LatestStart(by, start, moment, first, is_rough)
        first = first or by
    return None


def moment_of(done: Done, found: Outlook) -> Moment | None:
    """Return when it is done in a forecast; None where it never is."""
    return {Done.HOLD: found.hold_ends, Done.ANNEALED: found.anneal_ends, Done.OPEN: found.opens}[done]


def latest_lines(asked: DoneBy, latest: LatestStart | None, found: Outlook, glass: Glass | None,
                 words: Units) -> Iterator[str]:
    """Yield the answer in sentences: the latest start, how sure that is, and what goes on after it.

    Parameters
    ----------
    asked, found
        As of ``latest_start``.
    latest
        What it found.
    glass
        The glass of the load; None where the kiln is empty.
    words
        In whose unit temperatures are said.
    """
    if latest is None:
        yield _why_none(asked.done, found, glass, words)
        return
    is_done = _is_done(asked.done, glass, words)
    too_late = "" if latest.too_soon is None else f"It is too late for {_when(latest.too_soon, asked)}. "
    yield f"{too_late}Start at {_when(latest.start, asked)} at the latest."
    if latest.is_rough:
        likely = _near(later(latest.start, latest.moment.t_s), latest.by, asked)
        yield (f"Then {is_done} most likely at about {likely}. This is rough: Lehrling knows few firings of this "
               f"kiln. After {FEW} firings it can say how sure the time is; until then start earlier.")
    else:
        yield (f"In nine of ten nights {is_done} by {_when(latest.by, asked)}; most likely at about "
               f"{_around(latest.start, latest.moment, latest.by, asked)}.")
    if (latest.by.hour, latest.by.minute) != (asked.at.hour, asked.at.minute):
        skipped, taken = clock_face(asked.at, twelve=asked.twelve), time_of_day(latest.by, twelve=asked.twelve)
        yield f"The clock goes forward that night and skips {skipped}, so {taken} is taken, to be in time."
    if latest.is_firing:
        yield ("A firing is running in this kiln now. These times are for a kiln that has cooled down before the "
               "start, so wait until it has.")
    elif too_late:
        around = _around(asked.now, latest.moment, asked.now, asked)
        if latest.is_rough:
            around = _near(later(asked.now, latest.moment.t_s), asked.now, asked)
        yield f"If you start now, {is_done} at about {around}."
    below = found.anneal_ends
    if asked.done is Done.HOLD and below is not None and glass is not None:
        yield (f"The kiln cools slowly after the hold. That is part of the anneal, so leave the kiln on. It is below "
               f"{words.temp(glass.band_low_c)}, and the anneal over, at about "
               f"{_near(later(latest.start, below.t_s), latest.by, asked)}.")
    yield LEAVE_ALONE


def new_plan_lines(asked: DoneBy | None, written: LatestStart | None, latest: LatestStart | None) -> Iterator[str]:
    """Yield the latest start of the plan that is proposed instead of the ``written`` one; nothing without one."""
    if asked is None or latest is None:
        return
    start = _when(latest.start, asked)
    if latest.too_soon is None or (written is not None and written.by == latest.by):
        yield f"With the new plan, start at {start} at the latest."
    else:
        yield (f"With the new plan it is too late for {_when(latest.too_soon, asked)}. For "
               f"{_when(latest.by, asked)}, start at {start} at the latest.")


def _is_done(done: Done, glass: Glass | None, words: Units) -> str:
    if glass is None or done is Done.OPEN:
        return f"the kiln is cool enough to open, {words.temp(OPEN_C)} at the thermocouple,"
    return {Done.HOLD: "the anneal hold is over",
            Done.ANNEALED: f"the kiln is below {words.temp(glass.band_low_c)} and the anneal is over"}[done]


def _why_none(done: Done, found: Outlook, glass: Glass | None, words: Units) -> str:
    return f"No latest start can be said: {_reason(done, found, glass, words)}"


def _reason(done: Done, found: Outlook, glass: Glass | None, words: Units) -> str:
    if moment_of(done, found) is not None:
        return "this kiln may not reach a target of the plan."
    if done is Done.OPEN:
        return f"when the kiln cools to {words.temp(OPEN_C)}, at which it may be opened, is not known well enough."
    if glass is None:
        return "no glass is in the kiln, so nothing is annealed. Ask when the kiln may be opened instead."
    if done is Done.HOLD or found.hold_ends is None:
        return "no step of this plan is an anneal hold. Ask when the kiln may be opened instead."
    return f"by this forecast the kiln never falls below {words.temp(glass.band_low_c)}, where the anneal is over."


def _when(moment: datetime, asked: DoneBy) -> str:
    """Return a moment with its day: ``08:00 tomorrow``; midnight with the days that it lies between."""
    if (moment.hour, moment.minute) == (0, 0):
        return f"midnight between {moment - timedelta(days=1):%A} and {moment:%A}"
    days = (moment.date() - asked.now.date()).days
    day = {0: "today", 1: "tomorrow"}.get(days) or (f"on {moment:%A}" if 0 < days < 7 else f"on {moment:%Y-%m-%d}")
    return f"{time_of_day(moment, twelve=asked.twelve)} {day}"


def _near(moment: datetime, other: datetime, asked: DoneBy) -> str:
    """Return a moment by the clock, with its day where that is another one than ``other``'s."""
    return time_of_day(moment, twelve=asked.twelve) if moment.date() == other.date() else _when(moment, asked)


def _around(start: datetime, moment: Moment, other: datetime, asked: DoneBy) -> str:
    """Return when it is done after a start, with the band of eight of ten nights, each day said once."""
    at, low, high = (later(start, max(0.0, moment.t_s + off_s))
                     for off_s in (0.0, -moment.margin_s, moment.margin_s))
    return f"{_near(at, other, asked)} ({_near(low, at, asked)} to {_near(high, at, asked)} in eight of ten)"


def latest_json(asked: DoneBy, latest: LatestStart | None) -> dict[str, Any]:
    """Return it as plain values; ``start`` and all that comes of it None where none can be said."""
    if latest is None:
        return {"done": asked.done.value, "nights": NIGHTS,
                **dict.fromkeys(("by", "start", "likely", "between", "too_late_for"))}
    moment = latest.moment
    return {
        "done": asked.done.value, "nights": None if latest.is_rough else NIGHTS,
        "by": latest.by.isoformat(), "start": latest.start.isoformat(),
        "likely": later(latest.start, moment.t_s).isoformat(timespec="seconds"),
        "between": [later(latest.start, max(0.0, moment.t_s + off_s)).isoformat(timespec="seconds")
                    for off_s in (-moment.margin_s, moment.margin_s)],
        "too_late_for": None if latest.too_soon is None else latest.too_soon.isoformat(),
    }
