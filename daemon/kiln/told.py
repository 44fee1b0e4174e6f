"""What a kiln will do with a plan, in lines to read and as plain values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from daemon.firing.durations import duration, firing_clock
from daemon.firing.plan.schedule import PlannedPart, anneal_hold
from daemon.firing.units import Units
from daemon.glass.materials import Glass
from daemon.kiln.foresight import OPEN_C, ForeseenPart, Foresight
from daemon.kiln.kiln_model import KilnModel
from daemon.wall_clock import later, time_of_day

BEFORE_OPENING = ("Shelf and mould may be warmer. Read the kiln's own display before you open it, and use gloves. "
                  "The kiln's manual and local rules come first.")
"""What is said with each time at which a kiln may be opened."""
_DAY_S = 86_400.0
"""From here on a time of day alone could be of two days [s]. [derived: 24 h]"""
_WEEK_DAYS = 6
"""From so many days after the start on a day of the week alone could be of two weeks [d]. [derived: the maker asks up
to a day before the start]"""


class Clock:
    """Moments of a firing as they are said: from the start, or by the clock where it is known when that is.

    Parameters
    ----------
    starts
        When the firing starts, aware, in a zone that knows its changes to and from summer time; None where that is
        not known.
    twelve
        Whether the reader's clock counts to twelve.
    """

    def __init__(self, starts: datetime | None = None, *, twelve: bool = False) -> None:
        self._starts, self._twelve = starts, twelve

    @property
    def starts_iso(self) -> str | None:
        """Return when the firing starts, as ISO 8601 writes it; None where that is not known."""
        return None if self._starts is None else self._starts.isoformat()

    @property
    def started(self) -> str:
        """Return when the firing starts, with its day: ``Mon 21:00``; empty where that is not known."""
        return "" if self._starts is None else self.day(self._starts)

    def day(self, moment: datetime) -> str:
        """Return a moment with its day of the week: ``Mon 21:00``."""
        return f"{moment:%a} {time_of_day(moment, twelve=self._twelve)}"

    def later_s(self, other: Clock) -> float:
        """Return how much later than by another clock the firing starts [s]; 0 where one of them is not known."""
        if self._starts is None or other._starts is None:
            return 0.0
        return self._starts.timestamp() - other._starts.timestamp()

    def __call__(self, t_s: float) -> str:
        """Return a moment [s after the start press] as h:mm of the firing or of the day."""
        if self._starts is None:
            return firing_clock(t_s)
        at = later(self._starts, t_s)
        if t_s < _DAY_S:
            return time_of_day(at, twelve=self._twelve)
        if (at.date() - self._starts.date()).days < _WEEK_DAYS:
            return self.day(at)
        return f"{at:%a} {at.day} {at:%b} {time_of_day(at, twelve=self._twelve)}"

    def band(self, t_s: float, margin_s: float) -> str:
        """Return the times between which a moment lies: ``5:05 to 5:35``."""
        return f"{self(max(0.0, t_s - margin_s))} to {self(t_s + margin_s)}"

    def around(self, t_s: float, margin_s: float) -> str:
        """Return a moment with its band: ``5:20 after the start (5:05 to 5:35)``, or ``02:20 (02:05 to 02:35)``."""
        return f"{self.at(t_s)} ({self.band(t_s, margin_s)})"

    def at(self, t_s: float) -> str:
        """Return a moment without its band: ``5:20 after the start``, or ``02:20``."""
        return f"{self(t_s)}{'' if self._starts else ' after the start'}"


def foresight_lines(planned: Sequence[PlannedPart], model: KilnModel, found: Foresight, glass: Glass | None,
                    words: Units, clock: Clock, beyond: int | None = None) -> Iterator[str]:
    """Yield what the kiln will do, a line a part, then what matters of it; ``beyond`` as of ``rows``."""
    yield learned(model)
    yield ""
    yield f"{'each part ends':<34} {'by the plan':>12}  in this kiln (in 8 of 10 firings between)"
    for row in rows(planned, model, found, words, clock, beyond):
        yield f"{row.part:<34} {row.by_plan:>12}  {row.here}" + (f" ({row.band})" if row.band else "")
    yield ""
    yield from sentences(planned, model, found, glass, words, clock, beyond)


class Row(NamedTuple):
    """A part of the plan, and when it ends."""

    part: str
    by_plan: str
    here: str
    band: str


def rows(planned: Sequence[PlannedPart], model: KilnModel, found: Foresight, words: Units,
         clock: Clock, beyond: int | None = None) -> Iterator[Row]:
    """Yield when each part ends by the plan's own times and in this kiln.

    ``beyond`` is the step whose target the kiln may not reach, from 1: from there on no band is told.
    """
    by_plan_s = model.starts_s
    for part, foreseen in zip(planned, found.parts, strict=True):
        by_plan_s += part.duration_s
        here, band = "not reached" if part.step != beyond else "perhaps not reached", ""
        if foreseen.is_reached:
            here, band = clock(foreseen.end_s), clock.band(foreseen.end_s, foreseen.end_margin_s)
        if foreseen.is_reached and beyond is not None and part.step >= beyond:
            here, band = f"{here}, if {words.temp(_target_c(planned, beyond))} is reached", ""
        yield Row(_part_words(part, words), clock(by_plan_s), here, band)


def sentences(planned: Sequence[PlannedPart], model: KilnModel, found: Foresight, glass: Glass | None, words: Units,
              clock: Clock, beyond: int | None = None) -> Iterator[str]:
    """Yield when the anneal begins, when the kiln may be opened, and where it can't follow.

    ``beyond`` as of ``rows``. Without a glass nothing is said of an anneal.
    """
    if beyond is not None:
        target = words.temp(_target_c(planned, beyond))
        yield (f"This kiln reaches {target} of step {beyond} only just, or not at all. All that comes after it is so "
               "only if it does.")
    hold = None if glass is None else anneal_hold(tuple(planned), glass)
    if hold is not None and hold.index:
        before = found.parts[hold.index - 1]
        begins = clock.around(before.end_s, before.end_margin_s)
        yield (f"The anneal hold begins at about {begins}." if beyond is None else
               f"If it does, the anneal hold begins at about {clock.at(before.end_s)}.")
    if found.opens_s is not None:
        opens = clock.around(found.opens_s, found.opens_margin_s)
        about = "Cool" if beyond is None else "If it does, cool"
        yield (f"{about} enough to open, {words.temp(OPEN_C)} at the thermocouple, at about "
               f"{opens if beyond is None else clock.at(found.opens_s)}, if the lid stays shut. {BEFORE_OPENING}")
    yield from slow_lines(planned, model, found, words, beyond)


def _target_c(planned: Sequence[PlannedPart], step: int) -> float:
    return next(part.to_c for part in planned if part.step == step)


def learned(model: KilnModel) -> str:
    """Return how much the forecast rests on."""
    many = "1 firing" if model.firings == 1 else f"{model.firings} firings"
    few = " These are few: the times are rough." if model.is_rough else ""
    return f"Learned from {many} of this kiln.{few}"


def _part_words(part: PlannedPart, words: Units) -> str:
    if part.part == "hold":
        return f"step {part.step}, hold {duration(part.duration_s)} at {words.temp(part.to_c)}"
    return f"step {part.step}, {'up' if part.direction > 0 else 'down'} to {words.temp(part.to_c)}"


def slow_lines(planned: Sequence[PlannedPart], model: KilnModel, found: Foresight,
               words: Units, beyond: int | None = None) -> Iterator[str]:
    """Yield a sentence for each climb that the kiln can’t follow, but of the step ``beyond``."""
    for part, foreseen in zip(planned, found.parts, strict=True):
        if part.step == beyond:
            continue
        sentence = _slow(part, foreseen, words) if model.is_power_known else _untried(part, foreseen, words)
        if sentence:
            yield sentence


def _untried(part: PlannedPart, foreseen: ForeseenPart, words: Units) -> str:
    if foreseen.slow_from_c is None or part.direction <= 0:
        return ""
    return (f"Step {part.step} asks for more power from {words.temp(foreseen.slow_from_c)} on than any firing that "
            "is kept. Whether this kiln can follow is not known.")


def _slow(part: PlannedPart, foreseen: ForeseenPart, words: Units) -> str:
    if part.direction > 0 and not foreseen.is_reached:
        return f"This kiln can't reach {words.temp(part.to_c)} of step {part.step}."
    if foreseen.slow_from_c is None or foreseen.slow_c_per_h is None or part.rate_c_per_h is None:
        return ""
    return (f"Step {part.step}: this kiln can't follow from {words.temp(foreseen.slow_from_c)} on. It climbs at "
            f"about {words.rate(foreseen.slow_c_per_h)} there, planned {words.rate(part.rate_c_per_h)}.")


def as_json(planned: Sequence[PlannedPart], model: KilnModel, found: Foresight,
            glass: Glass | None) -> dict[str, Any]:
    """Return the same as plain values [s after the start press, °C]; None where something is not known."""
    hold = None if glass is None else anneal_hold(tuple(planned), glass)
    by_plan_s, parts = model.starts_s, []
    for part, foreseen in zip(planned, found.parts, strict=True):
        by_plan_s += part.duration_s
        parts.append({
            "step": part.step, "part": part.part, "start_s": round(foreseen.start_s), "end_s": round(foreseen.end_s),
            "end_margin_s": round(foreseen.end_margin_s), "planned_end_s": round(by_plan_s),
            "slow_from_c": foreseen.slow_from_c, "slow_c_per_h": foreseen.slow_c_per_h,
            "reached": foreseen.is_reached})
    anneal = None if hold is None or not hold.index else found.parts[hold.index - 1]
    return {
        "firings": model.firings, "band": 0.8, "parts": parts,
        "anneal_begins_s": None if anneal is None else round(anneal.end_s),
        "anneal_margin_s": None if anneal is None else round(anneal.end_margin_s),
        "opens_s": None if found.opens_s is None else round(found.opens_s),
        "opens_margin_s": None if found.opens_s is None else round(found.opens_margin_s),
        "curve": [[round(t_s), round(temp_c, 1)] for t_s, temp_c in found.curve[::5]],
        "kiln": {"thermal_per_s": list(model.thermal), "power_k_per_s": model.power_k_per_s,
                 "power_known": model.is_power_known, "waits_s_per_k": model.waits_s_per_k},
    }
