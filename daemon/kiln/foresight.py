"""What a kiln will do with a plan: its curve, when each part ends, and where it can't follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot
from typing import NamedTuple

from daemon.firing.energy.thermal import Heat, losing_k_per_s, soaked
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.situation.natural_fall import is_unpowered
from daemon.kiln.kiln_model import KilnModel, PartKind, kind_of

OPEN_C = 40.0
"""Cool enough at the probe to open [°C]. [from: daemon.glass.advice.ROOM_C]"""
_STEP_S = 60.0
"""The curve is reckoned in steps of so much [s]. [derived: a thirtieth of the shortest time constant of a kiln]"""
_LONG_STEP_S, _LEISURELY_K_PER_S = 600.0, 10.0 / 3600.0
"""Where a plan asks for no more than the second, and the kiln can, in steps of the first [s, K/s]. [chosen: less than
two kelvins a step, and a fifth of the walls' shortest time constant; the anneal of thick glass takes weeks]"""
_SLOW = 0.95
"""A climb below this share of its planned rate is one that the kiln can't follow. [tuned: kilns of the bench, seeds
1000 to 1029 of benchmarks.wear: between 0.90 and 1.00 more are found, and few more are told that follow]"""
STUCK_K_PER_S = 5.0 / 3600.0
"""A kiln that can climb no faster than this, and no faster than asked, never comes to the end of the climb [K/s].
[chosen: 5 °C/h]"""
_HARDLY_FALLS_K_PER_S = 0.2 / 3600.0
"""A kiln that can fall no faster than this, and no faster than asked, never comes to the end of the fall [K/s].
[chosen: it is at the room's temperature]"""
_LEAST_SHARE = 0.5
"""A part lasts at least this share of what the plan and the model come to. [chosen: keeps a usual difference from
making a short part vanish]"""
BAND_DEVIATIONS = 1.28
"""The band is so many deviations wide on each side: eight of ten. [source: tables of the normal distribution]"""


WIDEST_S = 3 * 3600.0
"""Nothing is said of an opening that may be off by more than this [s]. [chosen: nobody plans by a range of six hours;
falls that differ that much have taught nothing of the next one]"""


class ForeseenPart(NamedTuple):
    """A part of the plan as this kiln will run it [s after the start press]."""

    part: int
    """Which of the planned parts, from 0."""
    start_s: float
    end_s: float
    end_margin_s: float
    """The end lies within this, earlier or later, in eight of ten firings [s]."""
    slow_from_c: float | None
    """From this temperature on the kiln can't climb as planned [°C]; None where it can."""
    slow_c_per_h: float | None
    """How fast it climbs from there, in the mean [°C/h]."""
    is_reached: bool
    """Whether it comes to its end at all."""


class Foresight(NamedTuple):
    """What a kiln will do with a plan."""

    parts: list[ForeseenPart]
    curve: list[tuple[float, float]]
    """(second after the start press, temperature [°C])."""
    opens_s: float | None
    """When the chamber is at OPEN_C [s]; None where the plan or the room never lets it be, or it may be off by more
    than WIDEST_S."""
    opens_margin_s: float


@dataclass
class _Run:
    """Where the simulated firing has come to."""

    model: KilnModel
    room_c: float
    t_s: float
    heat: Heat
    curve: list[tuple[float, float]] = field(default_factory=list)

    def go(self, chamber_c: float, for_s: float) -> None:
        """Bring the chamber to ``chamber_c`` [°C] evenly in ``for_s`` [s], and let the walls follow."""
        mean_c = (self.heat.chamber_c + chamber_c) / 2
        self.heat = Heat(chamber_c, soaked(self.model.thermal, self.heat.walls_c, mean_c, for_s, self.room_c))
        self.t_s += for_s
        self.curve.append((self.t_s, chamber_c))

    def rate_k_per_s(self, wanted_k_per_s: float) -> float:
        """Return the rate nearest to the wanted one that the kiln can do [K/s]."""
        loses = losing_k_per_s(self.model.thermal, self.heat, self.room_c)
        return max(-loses, min(self.model.power_k_per_s - loses, wanted_k_per_s))


def foresee(planned: Sequence[PlannedPart], model: KilnModel, from_c: float, *, room_c: float = ASSUMED_ROOM_C,
            walls_c: float | None = None, at_s: float | None = None, index: int = 0,
            left_share: float = 1.0) -> Foresight:
    """Return what this kiln will do with a plan, or with the rest of it.

    Parameters
    ----------
    planned
        The parts of the plan.
    model
        What is known of the kiln.
    from_c
        Temperature of the chamber at the beginning [°C].
    room_c
        Temperature of the room [°C].
    walls_c
        Temperature of the walls [°C]; the chamber's where None.
    at_s
        When it begins [s after the start press]; as this kiln usually starts where None.
    index
        The first part that is still to run.
    left_share
        How much of that part is still to run, 0 to 1: so much of what such parts usually last longer is to come.
    """
    began_s = model.starts_s if at_s is None else at_s
    run = _Run(model, room_c, began_s, Heat(from_c, from_c if walls_c is None else walls_c), [(began_s, from_c)])
    off: dict[PartKind, tuple[float, float]] = {}
    parts = []
    for part in planned[index:]:
        kind, start_s, drawn = kind_of(planned, part.index), run.t_s, len(run.curve)
        slow_from_c, slow_c_per_h, is_reached = _run_part(run, part)
        _as_usual(run, kind, start_s, drawn, left_share if part.index == index else 1.0)
        _add(off, model, kind, run.t_s - start_s)
        parts.append(ForeseenPart(part.index, start_s, run.t_s, _margin_s(off), slow_from_c, slow_c_per_h,
                                  is_reached))
        if not is_reached and part.direction > 0:
            run.heat = Heat(part.to_c, run.heat.walls_c)
    return _with_opening(run, parts, off)


def _run_part(run: _Run, part: PlannedPart) -> tuple[float | None, float | None, bool]:
    """Run one part; return from where on it is slow [°C], how fast it then is [°C/h], and whether it ever ends."""
    if part.direction == 0:
        left_s = part.duration_s
        while left_s > 0:
            run.go(run.heat.chamber_c, min(_STEP_S, left_s))
            left_s -= _STEP_S
        return None, None, True
    up = part.direction > 0
    wanted = _wanted_k_per_s(run.model, part)
    slow: tuple[float, float] | None = None
    while (run.heat.chamber_c < part.to_c) if up else (run.heat.chamber_c > part.to_c):
        rate = run.rate_k_per_s(wanted)
        if abs(rate) < abs(wanted) and ((rate < STUCK_K_PER_S) if up else (rate > -_HARDLY_FALLS_K_PER_S)):
            return _slowness(run, slow, run.heat.chamber_c), _mean_c_per_h(run, slow), False
        if up and slow is None and part.rate_c_per_h is not None and rate < _SLOW * wanted:
            slow = run.heat.chamber_c, run.t_s
        left_s = (part.to_c - run.heat.chamber_c) / rate
        step_s = _LONG_STEP_S if rate == wanted and abs(rate) <= _LEISURELY_K_PER_S else _STEP_S
        if left_s <= step_s:
            run.go(part.to_c, left_s)
        else:
            run.go(run.heat.chamber_c + rate * step_s, step_s)
    return (None if slow is None else slow[0]), _mean_c_per_h(run, slow), True


def _slowness(run: _Run, slow: tuple[float, float] | None, here_c: float) -> float:
    return here_c if slow is None else slow[0]


def _mean_c_per_h(run: _Run, slow: tuple[float, float] | None) -> float | None:
    """Return how fast the kiln climbed since it was slow [°C/h]; None where it never was."""
    if slow is None or run.t_s <= slow[1]:
        return None
    return (run.heat.chamber_c - slow[0]) / (run.t_s - slow[1]) * 3600


def _wanted_k_per_s(model: KilnModel, part: PlannedPart) -> float:
    """Return the rate at which the controller leads the kiln [K/s]; its waiting makes each kelvin longer."""
    if part.rate_c_per_h is None or is_unpowered(part):
        return part.direction * 1e6
    if part.direction < 0:
        return part.rate_c_per_h / 3600
    return 1 / (3600 / part.rate_c_per_h + model.waits_s_per_k)


def _as_usual(run: _Run, kind: PartKind, start_s: float, drawn: int, share: float) -> None:
    """Let the part that ends now last as much longer or shorter as such a ``share`` of a part of its kind does here.

    Its points of the curve, those from ``drawn`` on, are moved with its end.
    """
    usual, took_s = run.model.differences.get(kind), run.t_s - start_s
    if usual is None or took_s <= 0.0:
        return
    times = max(_LEAST_SHARE, 1 + share * usual.longer_s / took_s)
    run.curve[drawn:] = [(start_s + times * (t_s - start_s), temp_c) for t_s, temp_c in run.curve[drawn:]]
    run.t_s = start_s + times * took_s


def _add(off: dict[PartKind, tuple[float, float]], model: KilnModel, kind: PartKind, took_s: float) -> None:
    """Add a part's deviations: those in proportion are the same for all parts of a kind, the rest are independent."""
    usual = model.differences.get(kind)
    if usual is not None:
        share_s, fixed_s = off.get(kind, (0.0, 0.0))
        off[kind] = share_s + usual.off_share * took_s, hypot(fixed_s, usual.off_s)


def _deviation(off: dict[PartKind, tuple[float, float]]) -> float:
    return hypot(*(each for pair in off.values() for each in pair)) if off else 0.0


def _margin_s(off: dict[PartKind, tuple[float, float]]) -> float:
    """Return half the width of the band [s]."""
    return BAND_DEVIATIONS * _deviation(off)


def _with_opening(run: _Run, parts: list[ForeseenPart], off: dict[PartKind, tuple[float, float]]) -> Foresight:
    """Let the kiln fall on after the plan until it may be opened, and return all."""
    began_s = run.t_s
    while run.heat.chamber_c > OPEN_C:
        rate = run.rate_k_per_s(-1e6)
        if rate > -_HARDLY_FALLS_K_PER_S:
            return Foresight(parts, run.curve, None, 0.0)
        run.go(run.heat.chamber_c + rate * _STEP_S, _STEP_S)
    hot = max((at for at, (_, temp_c) in enumerate(run.curve) if temp_c > OPEN_C), default=0)
    opens_s = run.curve[min(hot + 1, len(run.curve) - 1)][0]
    if run.t_s > began_s:
        _add(off, run.model, PartKind.LAST_FALL, run.t_s - began_s)
    margin_s = _margin_s(off)
    return Foresight(parts, run.curve, opens_s if margin_s <= WIDEST_S else None, margin_s)
