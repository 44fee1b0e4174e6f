"""Where things stand on a drawing: its frame, and the few ticks of its two axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from daemon.firing.plan.plan import to_unit
from web.preferences import twelve
from web.times import date_words, local, time_words

_STEPS_MIN = (5, 15, 30, 60, 120, 180, 240, 360, 720, 1440, 2880, 7200, 14400)
"""Steps between ticks of the clock [min]. [chosen: round ones]"""
_QUARTER_S = 900
"""Ticks stand at whole quarters of an hour, or closer [s]. [derived: a quarter of 3600 s]"""


@dataclass(frozen=True, slots=True)
class Frame:
    """The plot's rectangle in a drawing [px], and the spans of time [s] and temperature [°C] it shows.

    Time begins at ``from_s`` [s of firing] at the left edge.
    """

    left: float
    top: float
    right: float
    bottom: float
    span_s: float
    top_c: float
    low_c: float = 0.0
    from_s: float = 0.0

    def x(self, t_s: float) -> float:
        """Return where ``t_s`` stands across [px], kept inside the frame."""
        share = min(1.0, max(0.0, (t_s - self.from_s) / self.span_s))
        return self.left + (self.right - self.left) * share

    def y(self, temp_c: float) -> float:
        """Return where ``temp_c`` stands down [px], kept inside the frame."""
        share = min(1.0, max(0.0, (temp_c - self.low_c) / (self.top_c - self.low_c)))
        return self.bottom - (self.bottom - self.top) * share


@dataclass(frozen=True, slots=True)
class TimeTick:
    """A tick of the time axis: where [s of firing], its words, and whether a day begins there."""

    t_s: float
    words: str
    day: bool = False


@dataclass(frozen=True, slots=True)
class TempTick:
    """A tick of the temperature axis: where [°C] and its words, in the owner's unit."""

    temp_c: float
    words: str


def time_ticks(starts: datetime | None, span_s: float, room: int) -> tuple[TimeTick, ...]:
    """Return at most ``room`` ticks for a firing of ``span_s`` seconds.

    With ``starts`` (aware, in the owner's zone) they fall on the clock's round hours, through changes to
    and from summer time; without it they count the hours since the start.
    """
    step_s = next((m * 60 for m in _STEPS_MIN if span_s / (m * 60) <= room), _STEPS_MIN[-1] * 60)
    if starts is None:
        return tuple(
            TimeTick(t, f"{t / 3600:g} h") for t in range(0, int(span_s) + 1, step_s)
        )
    grain_s = min(step_s, _QUARTER_S)
    t_s = -(starts.timestamp() % grain_s) % grain_s
    found = []
    while t_s <= span_s:
        moment = local(starts, t_s)
        minute = moment.hour * 60 + moment.minute
        if _falls_on(moment, minute, step_s):
            found.append(TimeTick(t_s, _tick_words(moment), day=minute == 0))
        t_s += grain_s
    return tuple(found)


def _tick_words(moment: datetime) -> str:
    """Return a tick's time, short: a full hour of a twelve-hour clock is ``2 am``."""
    words = time_words(moment)
    return words.replace(":00 ", " ") if twelve() else words


def _falls_on(moment: datetime, minute: int, step_s: int) -> bool:
    days = step_s // 86400
    if days <= 1:
        return minute % (step_s // 60) == 0
    return minute == 0 and moment.toordinal() % days == 0


def day_marks(starts: datetime, span_s: float) -> tuple[TimeTick, ...]:
    """Return the start of each day of the firing, the first at second 0: ``day 2, Wed 4 Mar``."""
    marks = [TimeTick(0.0, f"day 1, {date_words(starts)}")]
    number, midnight = 1, starts
    while number < 60:
        number += 1
        midnight = (midnight + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0)
        t_s = midnight.timestamp() - starts.timestamp()
        if t_s > span_s:
            break
        marks.append(TimeTick(t_s, f"day {number}, {date_words(midnight)}", day=True))
    return tuple(marks)


def temp_ticks(top_c: float, unit: str, low_c: float | None = None) -> tuple[TempTick, ...]:
    """Return the few hairlines up to ``top_c`` [°C], from ``low_c`` if given, round in the owner's unit."""
    top = to_unit(top_c, unit)
    low = 0.0 if low_c is None else to_unit(low_c, unit)
    step = next((s for s in (5, 10, 20, 50, 100, 200, 400, 500) if (top - low) / s <= 5.5), 1000)
    first = step if low_c is None else -int(-low // step) * step
    return tuple(
        TempTick((value - 32) * 5 / 9 if unit == "F" else float(value), f"{value}")
        for value in range(first, int(top) + 1, step)
    )


def top_of(temps_c: Sequence[float]) -> float:
    """Return the upper end of the temperature axis [°C]: a little above the highest of ``temps_c``."""
    return max(60.0, *temps_c) * 1.06 if temps_c else 60.0
