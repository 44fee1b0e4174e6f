"""The plan as the kiln will run it: its ramps and holds one after another, and the planned curve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile
from math import exp, inf, log
from typing import Literal

from daemon.firing.plan.plan import Plan
from daemon.glass.exposure import SQUEEZE_C
from daemon.glass.materials import Glass

ASSUMED_FREE_CLIMB_C_PER_H = 500.0
"""How fast a small studio kiln climbs with all it has [°C/h], for time estimates only. [common practice]"""
ASSUMED_COOLING_TIME_S = 2.5 * 3600
"""Time constant of a closed small kiln that falls freely [s], for time estimates only. [common practice]"""
ASSUMED_ROOM_C = 20.0
"""Temperature of the room, and of a kiln before its firing [°C]. [common practice]"""
_ABOVE_ROOM_K = 5.0
"""A free fall is timed as if the room were at least this much colder than its target [K]: an exponential never
reaches the room itself. [chosen: keeps the estimate finite]"""
BROKE_OFF, NOT_PLANNED = "broke off", "not planned"
"""What stands in a table for what was asked of a part that nobody planned: one that broke off, the fall after it."""

BEFORE_LINES = "before lines"
"""What a table calls the stretch of a part that was run before the part's line was keyed in."""


@dataclass(frozen=True, slots=True)
class PlannedPart:
    """One ramp or hold of the plan, in order; ``index`` counts them from 0."""

    index: int
    step: int
    part: Literal["ramp", "hold"]
    from_c: float
    to_c: float
    rate_c_per_h: float | None
    """Signed planned rate [°C/h]; 0 for a hold, None for a free ramp."""
    duration_s: float
    """Planned [s]; an estimate for a free ramp."""
    purpose: str | None = None
    direction: int = 0
    """+1 climbing, −1 falling, 0 holding."""
    is_made_up: bool = False
    """Whether nobody planned it: what broke off before lines were keyed in, and the fall after it (see KeyedIn)."""


def planned_parts(plan: Plan, start_c: float = ASSUMED_ROOM_C) -> tuple[PlannedPart, ...]:
    """Return the ramps and holds of ``plan`` from ``start_c`` [°C]; empty ones are left out."""
    parts: list[PlannedPart] = []
    here = start_c
    made_up = plan.keyed_in.made_up if plan.keyed_in is not None else ()
    for number, step in enumerate(plan.steps, start=1):
        if step.to_c != here:
            sign = 1 if step.to_c > here else -1
            rate = None if step.rate_c_per_h is None else sign * step.rate_c_per_h
            parts.append(PlannedPart(
                len(parts), number, "ramp", here, step.to_c, rate, ramp_s(here, step.to_c, rate), step.purpose, sign,
                number in made_up and not step.hold_s,  # the way to a hold that broke off was planned
            ))
        if step.hold_s > 0:
            parts.append(PlannedPart(
                len(parts), number, "hold", step.to_c, step.to_c, 0.0, step.hold_s, step.purpose,
                is_made_up=number in made_up,
            ))
        here = step.to_c
    return tuple(parts)


def part_before(parts: Sequence[PlannedPart], index: int) -> PlannedPart | None:
    """Return the part that the plan has before the one at ``index``; None before the first."""
    return parts[index - 1] if index > 0 else None


def part_after(parts: Sequence[PlannedPart], index: int) -> PlannedPart | None:
    """Return the part that the plan has after the one at ``index``; None after the last."""
    return parts[index + 1] if index + 1 < len(parts) else None


def fastest_c_per_h(climbs: Iterable[PlannedPart]) -> float:
    """Return the rate of the fastest of some climbs [°C/h]: infinite where one is free, 0 where there is none."""
    return max((inf if climb.rate_c_per_h is None else climb.rate_c_per_h for climb in climbs), default=0.0)


def way_to(parts: Sequence[PlannedPart], hold: PlannedPart) -> int:
    """Return how the plan comes to a hold: +1 by a climb, −1 by a fall, 0 where it begins with it or holds before."""
    before = part_before(parts, hold.index)
    return 0 if before is None else before.direction


def passing_s(parts: Sequence[PlannedPart], hold: PlannedPart, near_k: float) -> float:
    """Return how long the planned way to a hold is within ``near_k`` [K] of it already [s]; 0 where it is free."""
    before = part_before(parts, hold.index)
    rate = None if before is None else before.rate_c_per_h
    return near_k / abs(rate) * 3600 if rate else 0.0


def ramp_s(from_c: float, to_c: float, rate_c_per_h: float | None) -> float:
    """Return how long a ramp takes [s]; for a free one (None) an estimate for a small studio kiln."""
    if rate_c_per_h is not None:
        return (to_c - from_c) / rate_c_per_h * 3600
    if to_c >= from_c:
        return (to_c - from_c) / ASSUMED_FREE_CLIMB_C_PER_H * 3600
    room = min(ASSUMED_ROOM_C, to_c - _ABOVE_ROOM_K)
    ratio = (from_c - room) / (to_c - room)
    return ASSUMED_COOLING_TIME_S * log(ratio)


def temp_at(part: PlannedPart, gone_s: float) -> float:
    """Return the planned temperature ``gone_s`` [s] into a part [°C]; a free fall is an exponential to the room.

    It ends at the part's target for a ramp with a rate and a hold; a free fall is followed beyond it.
    """
    if part.rate_c_per_h is None and part.direction < 0:
        room_c = min(ASSUMED_ROOM_C, part.to_c - _ABOVE_ROOM_K)
        return room_c + (part.from_c - room_c) * exp(-gone_s / ASSUMED_COOLING_TIME_S)
    return part.from_c + (part.to_c - part.from_c) * min(1.0, gone_s / part.duration_s)


def curve(parts: tuple[PlannedPart, ...], start_s: float = 0.0) -> tuple[tuple[float, float], ...]:
    """Return the corner points (second, °C) of ``parts`` run one after another from ``start_s``."""
    if not parts:
        return ()
    points = [(start_s, parts[0].from_c)]
    for part in parts:
        points.append((points[-1][0] + part.duration_s, part.to_c))
    return tuple(points)


def at(points: tuple[tuple[float, float], ...], t_s: float) -> float | None:
    """Return the temperature [°C] of a corner-point curve at ``t_s``; None outside it."""
    for (t0, c0), (t1, c1) in pairwise(points):
        if t0 <= t_s <= t1:
            return c0 if t1 == t0 else c0 + (c1 - c0) * (t_s - t0) / (t1 - t0)
    return None


ANNEAL_BELOW_STRAIN_C = 30.0
ANNEAL_ABOVE_ANNEALING_C = 35.0
"""So far below the strain point and above the annealing point of the glass a hold may be an anneal [K].
[common practice]"""


def anneal_hold(parts: tuple[PlannedPart, ...], glass: Glass) -> PlannedPart | None:
    """Return the anneal hold: the step marked so, else the longest hold reached from above in range.

    The range is strain point − 30 to annealing point + 35 [°C].
    """
    holds = [part for part in parts if part.part == "hold"]
    marked = [part for part in holds if part.purpose == "anneal"]
    if marked:
        return marked[0]
    low = glass.strain_point_c - ANNEAL_BELOW_STRAIN_C
    high = glass.annealing_point_c + ANNEAL_ABOVE_ANNEALING_C
    fitting = [
        part for part in holds
        if low <= part.to_c <= high and part.index and parts[part.index - 1].direction < 0
    ]
    return max(fitting, key=lambda part: part.duration_s, default=None)


def top_hold(parts: tuple[PlannedPart, ...]) -> PlannedPart | None:
    """Return the hold at the top: the step marked so, else the hold at the highest target."""
    holds = [part for part in parts if part.part == "hold"]
    marked = [part for part in holds if part.purpose == "top"]
    if marked:
        return marked[0]
    highest = max((part.to_c for part in parts), default=None)
    return next((part for part in holds if part.to_c == highest), None)


SQUEEZE_BELOW_C, FUSES_ABOVE_C = 700.0, 720.0
"""A hold on the way up below the first temperature, in a plan that goes on above the second, lets air out of loose
layers [°C]. [common practice]"""


def squeezes(parts: tuple[PlannedPart, ...]) -> bool:
    """Return whether the plan squeezes, so that its layers go in loose: a step marked so, or a hold that does it."""
    if any(part.purpose == "squeeze" for part in parts):
        return True
    return any(
        hold.part == "hold" and before.direction > 0 and SQUEEZE_C[0] <= hold.to_c <= SQUEEZE_BELOW_C
        and _climbs_to_c(parts[at:]) >= FUSES_ABOVE_C
        for at, (before, hold) in enumerate(pairwise(parts), start=2)
    )


def _climbs_to_c(parts: tuple[PlannedPart, ...]) -> float:
    """Return where the climb ends that these parts begin with, also one in several steps [°C]; 0 without one."""
    return max((part.to_c for part in takewhile(lambda part: part.direction > 0, parts)), default=0.0)
