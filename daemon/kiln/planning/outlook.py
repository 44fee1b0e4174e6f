"""What a forecast comes to: a few moments, how hot and how long, what the glass goes through, the energy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil
from typing import NamedTuple

from daemon.firing.advice.plan_glass import figures_along
from daemon.firing.energy.estimate import Estimate
from daemon.firing.plan.schedule import PlannedPart, anneal_hold, temp_at
from daemon.firing.setup import Setup
from daemon.glass.exposure import HAZE_C, Exposure
from daemon.glass.load import Figures
from daemon.glass.materials import Glass
from daemon.glass.passage import Passage
from daemon.kiln.foresight import OPEN_C, ForeseenPart, Foresight
from daemon.kiln.planning.energy_ahead import PastEnergy, energy_of

NEAR_TOP_K = 20.0
"""So far below its peak a kiln is near the top [K]. [chosen: glass at fusing heat flows about half as fast there]"""
_STEP_S = 60.0
"""The plan's own curve is drawn in steps no longer than this [s]. [from: daemon.kiln.foresight._STEP_S]"""


Curve = Sequence[tuple[float, float]]


class Moment(NamedTuple):
    """A moment [s after the start press], and within what it lies in eight of ten firings [s]."""

    t_s: float
    margin_s: float


class Slab(NamedTuple):
    """What glass of one thickness goes through."""

    thickness_mm: float
    difference_k: float | None
    """Largest difference between core and face after the anneal hold, in the annealing range [K]; None without such a
    hold."""
    low_mpa: float
    high_mpa: float
    """Stress that stays in the core: with two cooled faces and with one [MPa]."""


class Outlook(NamedTuple):
    """What a forecast comes to; None where there is no such thing."""

    anneal_begins: Moment | None
    hold_ends: Moment | None
    """When the anneal hold is over; the kiln then cools slowly, which is still part of the anneal."""
    anneal_ends: Moment | None
    """When the kiln is below the annealing range for good."""
    opens: Moment | None
    peak_c: float
    near_top_s: float
    """How long it is within NEAR_TOP_K of its peak [s]."""
    above_haze_s: float
    """How long it is hotter than the range in which haze forms [s]."""
    haze_s: float
    """How long it is in that range [s]."""
    slabs: tuple[Slab, ...]
    """Empty where the forecast ends in the annealing range: what stays then depends on what comes after."""
    worth_min: float | None
    """Minutes at the annealing point that would relax the glass as much [min]; None without an anneal hold."""
    energy: Estimate | None


def outlook(setup: Setup, planned: Sequence[PlannedPart], found: Foresight,
            energy: PastEnergy | None = None) -> Outlook:
    """Return what a forecast comes to for a load.

    Parameters
    ----------
    setup
        The load.
    planned
        The parts of the plan.
    found
        The forecast.
    energy
        What is known of the kiln's energy; None where its rated power was not given.
    """
    hold = None if setup.is_empty else anneal_hold(tuple(planned), setup.glass)
    begins = None if hold is None or not hold.index else found.parts[hold.index - 1]
    peak_c = max(temp_c for _, temp_c in found.curve)
    seen = _exposure(found, peak_c)
    figures = None if setup.is_empty else figures_along(setup, found.curve)
    held = None if hold is None else found.parts[hold.index]
    cools_s = None if held is None else held.end_s
    return Outlook(
        None if begins is None or not begins.is_reached else Moment(begins.end_s, begins.end_margin_s),
        None if held is None or not held.is_reached else Moment(held.end_s, held.end_margin_s),
        None if hold is None else _below_for_good(found, hold.index, setup.glass),
        None if found.opens_s is None else Moment(found.opens_s, found.opens_margin_s),
        peak_c, seen.above_s[peak_c - NEAR_TOP_K], seen.above_s[HAZE_C[1]],
        seen.rising_s(HAZE_C) + seen.falling_s(HAZE_C), tuple(_slabs(figures, setup, found.curve, cools_s)),
        None if hold is None or figures is None else figures.relaxed.worth_min,
        None if energy is None else energy_of(planned, found, energy))


def near_top_s(found: Foresight, peak_c: float) -> float:
    """Return how long a forecast is within NEAR_TOP_K of a peak [s]; the record counts minutes in the same way."""
    return _exposure(found, peak_c).above_s[peak_c - NEAR_TOP_K]


def _exposure(found: Foresight, peak_c: float) -> Exposure:
    seen = Exposure([peak_c - NEAR_TOP_K])
    for (from_s, from_c), (to_s, to_c) in pairwise(found.curve):
        seen.advance(from_c, to_c, to_s - from_s)
    return seen


def _slabs(figures: Figures | None, setup: Setup, curve: Curve, cools_s: float | None) -> Iterator[Slab]:
    """Yield what each thickness goes through; ``cools_s`` is when the anneal hold ends [s], None without one."""
    if figures is None or figures.face_c >= setup.glass.band_low_c:
        return
    for slab in figures.slabs:
        low_mpa, high_mpa = sorted(max(0.0, mpa) for mpa in slab.range_core_mpa)
        difference_k = None if cools_s is None else _difference_k(setup, slab.thickness_mm, curve, cools_s)
        yield Slab(slab.thickness_mm, difference_k, low_mpa, high_mpa)


def _difference_k(setup: Setup, thickness_mm: float, curve: Curve, cools_s: float) -> float:
    """Return the largest difference after the anneal hold, while the face is in the annealing range [K].

    The fall to the hold makes a greater one, which evens out in the hold.
    """
    passage, largest_k = Passage(setup.glass, thickness_mm, setup.faces, curve[0][1]), 0.0
    for (from_s, from_c), (to_s, to_c) in pairwise(curve):
        passage.advance(from_c, to_c, to_s - from_s)
        if to_s > cools_s and to_c > setup.glass.band_low_c:
            largest_k = max(largest_k, passage.difference_k)
    return largest_k


def _below_for_good(found: Foresight, hold: int, glass: Glass) -> Moment | None:
    """Return when the kiln falls below the annealing range for the last time; None where it never does."""
    hot = max((at for at, (_, temp_c) in enumerate(found.curve) if temp_c >= glass.band_low_c), default=None)
    if hot is None or hot + 1 >= len(found.curve):
        return None
    (from_s, from_c), (to_s, to_c) = found.curve[hot:hot + 2]
    t_s = from_s + (to_s - from_s) * (from_c - glass.band_low_c) / (from_c - to_c)
    return Moment(t_s, _margin_s(found.parts, hold, t_s))


def _margin_s(parts: Sequence[ForeseenPart], hold: int, t_s: float) -> float:
    """Return within what a moment after the anneal hold lies [s], between the margins of the parts' ends."""
    before = parts[hold]
    for part in parts[hold + 1:]:
        if t_s <= part.end_s:
            share = (t_s - before.end_s) / (part.end_s - before.end_s) if part.end_s > before.end_s else 1.0
            return before.end_margin_s + max(0.0, share) * (part.end_margin_s - before.end_margin_s)
        before = part
    return before.end_margin_s


def as_planned(planned: Sequence[PlannedPart], starts_s: float) -> Foresight:
    """Return the plan by its own times as if it were a forecast, from ``starts_s`` [s after the start press] on.

    Free ramps are guessed as for any small kiln.
    """
    here_s, parts = starts_s, []
    points = [(starts_s, planned[0].from_c)]
    for part in planned:
        number = max(1, ceil(part.duration_s / _STEP_S))
        points += [(here_s + part.duration_s * n / number, temp_at(part, part.duration_s * n / number))
                   for n in range(1, number + 1)]
        parts.append(ForeseenPart(part.index, here_s, here_s + part.duration_s, 0.0, None, None, True))
        here_s += part.duration_s
    hot = max((at for at, (_, temp_c) in enumerate(points) if temp_c > OPEN_C), default=0)
    opens_s = points[hot + 1][0] if hot + 1 < len(points) else None
    return Foresight(parts, points, opens_s, 0.0)
