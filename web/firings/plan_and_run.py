"""The course of a firing against its plan: what each part asked and got, as cells, rows and corner points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from daemon.firing.durations import duration, minutes_of
from daemon.firing.events import Part
from daemon.firing.plan.schedule import BEFORE_LINES, BROKE_OFF, NOT_PLANNED, PlannedPart
from web import words
from web.drawing.decimation import Column
from web.drawing.step_strip_svg import Cell

State = Literal["been", "now", "to come"]


@dataclass(frozen=True, slots=True)
class Leg:
    """One part of the plan, run, running or to come, with the times it has or is expected to have."""

    planned: PlannedPart
    run: Part | None
    start_s: float
    end_s: float
    state: State
    broke_off: bool = False
    """Whether the firing broke off here and has not been taken up again."""
    begin_c: float | None = None
    """Where the kiln was as this part began [°C], where it was gone to out of turn; None where the plan begins it."""
    end_c: float | None = None
    """Where the kiln was as this free part was left [°C]; None where it led to its target."""
    is_before_lines: bool = False
    """Whether this is what was run before the part's line was keyed in: nothing was asked then."""

    @property
    def free(self) -> bool:
        """Return whether the plan asks for no rate here."""
        return self.is_before_lines or (self.planned.part == "ramp" and self.planned.rate_c_per_h is None)


def legs(planned: Sequence[PlannedPart], run: Sequence[Part], now_s: float, *, ended: bool = False,
         next_at_s: float | None = None) -> tuple[Leg, ...]:
    """Return the parts in the order they were and will be run.

    Parameters
    ----------
    planned
        The plan's parts.
    run
        The parts the follower found, in time order; a restarted part appears again.
    now_s
        Second of the firing up to which is known.
    ended
        Whether the firing is over; nothing is to come then.
    next_at_s
        When the part under way is expected to end, where that is known.
    """
    found: list[Leg] = []
    for part in run:
        if not 0 <= part.index < len(planned):
            continue
        plan = planned[part.index]
        open_ended = part.end_s is None
        end_s = now_s if part.end_s is None else part.end_s
        if open_ended and not ended:
            end_s = max(now_s, next_at_s if next_at_s is not None else part.start_s + plan.duration_s)
        state: State = "now" if open_ended and not ended else "been"
        found.append(Leg(plan, part, part.start_s, max(part.start_s, end_s), state))
    if ended:
        return tuple(found)
    here_s = found[-1].end_s if found else now_s if run else 0.0
    after = found[-1].planned.index + 1 if found else 0
    for plan in planned[after:]:
        found.append(Leg(plan, None, here_s, here_s + plan.duration_s, "to come"))
        here_s += plan.duration_s
    return tuple(found)


def corner_points(course: Sequence[Leg]) -> tuple[tuple[float, float], ...]:
    """Return the plan laid along the parts as they were run: corner points (second, °C).

    Each part begins where the kiln began it and goes at the rate the plan asks, so that a kiln that runs
    ahead or lags is seen to leave the plan. A ramp the kiln left early ends there, short of its target,
    and the next part begins at the same second; one the kiln took longer for waits at its target. A part gone to out
    of turn begins where the kiln was, as in a controller that began anew.
    """
    points: list[tuple[float, float]] = []
    for leg in course:
        for point in _corners(leg):
            if not points or points[-1] != point:
                points.append(point)
    return tuple(points)


def _corners(leg: Leg) -> list[tuple[float, float]]:
    """Return the plan's corner points over one part, as it was run."""
    asked, took_s, from_c = leg.planned, leg.end_s - leg.start_s, begins_c(leg)
    begin, reached = (leg.start_s, from_c), (leg.end_s, asked.to_c)
    if leg.free:
        return [begin, reached if leg.end_c is None else (leg.end_s, leg.end_c)]
    planned_s = lasts_s(leg)
    if asked.part == "hold" or planned_s <= 0:
        return [begin, reached]
    if took_s < planned_s:
        return [begin, (leg.end_s, from_c + (asked.to_c - from_c) * took_s / planned_s)]
    return [begin, (leg.start_s + planned_s, asked.to_c), reached]


def begins_c(leg: Leg) -> float:
    """Return where the plan, as it is laid along the parts that were run, begins a part [°C]."""
    return leg.planned.from_c if leg.begin_c is None else leg.begin_c


def lasts_s(leg: Leg) -> float:
    """Return how long a part takes at the plan's rate from where it began [s]; of a hold, as planned."""
    asked = leg.planned
    if leg.begin_c is None or not asked.rate_c_per_h:
        return asked.duration_s
    return max(0.0, (asked.to_c - leg.begin_c) / asked.rate_c_per_h) * 3600


def free_spans(course: Sequence[Leg]) -> tuple[tuple[float, float], ...]:
    """Return the spans of time [s] in which the plan asks for no rate."""
    return tuple((leg.start_s, leg.end_s) for leg in course if leg.free)


def cells(course: Sequence[Leg], now_s: float, unit: str, anneal_step: int | None = None) -> tuple[Cell, ...]:
    """Return the cells of the strip, with their words in the owner's unit."""
    return tuple(
        Cell(
            leg.start_s, leg.end_s, leg.state, _lines(leg, now_s, unit),
            words.temp(leg.planned.to_c, unit),
            leg.planned.part == "hold" and not leg.is_before_lines and (
                leg.planned.purpose == "anneal" or leg.planned.step == anneal_step),
            leg.planned.part == "hold",
            now_s if leg.state == "now" else None,
            leg.broke_off,
        )
        for leg in course
    )


def _lines(leg: Leg, now_s: float, unit: str) -> tuple[str, ...]:
    target = words.temp(leg.planned.to_c, unit)
    if leg.planned.is_made_up or leg.is_before_lines:
        run_s = (now_s if leg.state == "now" else leg.end_s) - leg.start_s
        return (_asked(leg, unit), *_got_rate(leg, unit), duration(max(0.0, run_s)))
    if leg.planned.part == "hold":
        lines = (f"asked {target}", *_got_hold(leg, now_s, unit))
        return lines if leg.run else (f"hold {target}", duration(leg.planned.duration_s))
    return (f"to {target}", asked_rate(leg, unit), *_got_rate(leg, unit))


def _got_hold(leg: Leg, now_s: float, unit: str) -> tuple[str, ...]:
    got = () if leg.run is None or leg.run.mean_c is None else (f"got {words.temp(leg.run.mean_c, unit)}",)
    run_s = (now_s if leg.state == "now" else leg.end_s) - leg.start_s
    return (*got, minutes_of(max(0.0, run_s), leg.planned.duration_s))


def _got_rate(leg: Leg, unit: str) -> tuple[str, ...]:
    if leg.run is None or leg.run.rate_c_per_h is None or leg.free:
        return ()  # of a free ramp the mean says nothing: it starts fast and ends slow
    return (f"got {words.rate(leg.run.rate_c_per_h, unit).removesuffix(f' °{unit}/h')}/h",)


def asked_rate(leg: Leg, unit: str) -> str:
    """Return what a ramp asks: ``asked 55/h``, or ``free``."""
    if leg.planned.rate_c_per_h is None:
        return "free"
    return f"asked {words.rate(leg.planned.rate_c_per_h, unit).removesuffix(f' °{unit}/h')}/h"


NOT_SEEN = "not seen"
"""What a part got that may have been run while nothing was read."""
PASSED_OVER = {"hold": "not held", "ramp": "not run"}
"""What a part got that the kiln was seen to pass over: skipped, or lost to a power cut."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table planned against measured."""

    start_s: float | None
    state: State
    part: str
    asked: str
    got: str
    time: str
    anneal: bool = False


def rows(course: Sequence[Leg], now_s: float, unit: str, planned: Sequence[PlannedPart] = (),
         columns: Sequence[Column] = ()) -> tuple[Row, ...]:
    """Return the table planned against measured, in words.

    A part of ``planned`` that the kiln passed over has its row too: what did not happen is worth seeing. Where
    ``columns``, the trace, have a hole beside it, it may have happened unseen.
    """
    table: list[Row] = []
    before: Leg | None = None
    for leg in course:
        if before is not None and before.run is not None and leg.run is not None:
            is_hidden = any(mid_c is None and before.start_s <= t_s <= leg.end_s for t_s, _, mid_c, _ in columns)
            table += [Row(None, "been", words.part(part.step, part.part), asked_words(part, unit),
                          NOT_SEEN if is_hidden else PASSED_OVER[part.part], "", part.purpose == "anneal")
                      for part in planned[before.planned.index + 1:leg.planned.index]]
        table.append(_row(leg, now_s, unit))
        before = leg
    return tuple(table)


def _asked(leg: Leg, unit: str) -> str:
    """Return what was asked of a part as it was run."""
    return NOT_PLANNED if leg.is_before_lines else asked_words(leg.planned, unit)


def asked_words(planned: PlannedPart, unit: str) -> str:
    """Return what a part asks, in words: ``to 460 °C at 55 °C/h``, ``516 °C for 1 h 00 min``.

    Of a part that nobody planned it says that it broke off, or that it was not planned.
    """
    if planned.is_made_up:
        return NOT_PLANNED if planned.direction < 0 else BROKE_OFF
    target = f"{words.temp(planned.to_c, unit)} °{unit}"
    if planned.part == "hold":
        return words.bound(f"{target} for {duration(planned.duration_s)}")
    if planned.rate_c_per_h is None:
        return words.bound(f"to {target}, as fast as it goes")
    return words.bound(f"to {target} at {words.rate(planned.rate_c_per_h, unit)}")


def _row(leg: Leg, now_s: float, unit: str) -> Row:
    hold = leg.planned.part == "hold"
    got = ""
    if leg.run is not None and hold and leg.run.mean_c is not None:
        got = f"{words.temp(leg.run.mean_c, unit)} °{unit}"
    elif leg.run is not None and not hold and leg.run.rate_c_per_h is not None:
        got = words.rate(leg.run.rate_c_per_h, unit)
    run_s = (now_s if leg.state == "now" else leg.end_s) - leg.start_s
    return Row(
        leg.start_s, leg.state,
        BEFORE_LINES if leg.is_before_lines else words.part(leg.planned.step, leg.planned.part),
        _asked(leg, unit), words.bound(got), words.bound(duration(run_s)) if leg.run else "",
        hold and leg.planned.purpose == "anneal" and not leg.is_before_lines,
    )
