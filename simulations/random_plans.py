"""Plans a maker might write, made up at random: the usual firings of a small studio.

Figures are common practice for kiln-formed glass; nobody's own plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from random import Random
from typing import cast

from daemon.firing.plan.plan import Plan, Purpose, Step, Unit
from daemon.glass.materials import FAMILIES

GLASSES = ("90", "90", "90", "96", "104", "float")


@dataclass(frozen=True, slots=True)
class Program:
    """A plan with what it is for.

    Attributes
    ----------
    squeeze, top, anneal, cool
        Numbers of the steps that do this, counted from 1; ``squeeze`` is None where there is none.
    """

    plan: Plan
    glass: str
    thickness_mm: float
    squeeze: int | None
    top: int
    anneal: int
    cool: int


def on_paper(title: str, text: str, unit: Unit = "C", *, tell: Mapping[int, str] | None = None) -> Plan:
    """Return a plan written as on paper: steps ``rate/target/hold purpose`` with commas between.

    Rates are degrees an hour or "free", holds minutes; hold and purpose may be left out. ``tell`` has what is
    said when a step begins, by its number.
    """
    steps = []
    for number, step in enumerate(text.split(", "), start=1):
        figures, _, purpose = step.partition(" ")
        rate, to, *hold = figures.split("/")
        to_c = (float(to) - 32) * 5 / 9 if unit == "F" else float(to)
        rate_c = None if rate == "free" else float(rate) * (5 / 9 if unit == "F" else 1)
        steps.append(Step(rate_c, to_c, 60 * float(hold[0]) if hold else 0.0, cast("Purpose", purpose) or None,
                          (tell or {}).get(number)))
    return Plan(title, unit, tuple(steps))


def in_the_other_unit(plan: Plan) -> Plan:
    """Return what a controller set to °F makes of figures meant as °C: all too cool and too slow."""
    return replace(plan, steps=tuple(
        Step(None if s.rate_c_per_h is None else s.rate_c_per_h * 5 / 9, max(25.0, (s.to_c - 32) * 5 / 9), s.hold_s)
        for s in plan.steps
    ))


class _Writer:
    """Writes steps with rounded figures, in the unit of the plan."""

    def __init__(self, rng: Random, glass: str) -> None:
        self.rng = rng
        self.unit = "F" if rng.random() < 0.15 else "C"
        self.says_purpose = rng.random() < 0.7
        self.glass = FAMILIES[glass]
        self.steps: list[Step] = []

    def add(self, rate: float | None, to_c: float, hold_min: float = 0.0, purpose: Purpose | None = None) -> int:
        """Add a step and return its number."""
        to_c = _round(to_c, 9, 32.0) if self.unit == "F" else 5.0 * round(to_c / 5)
        if rate is not None:
            rate = _round(rate, 9, 0.0) if self.unit == "F" and rate > 40 else float(max(1, round(rate)))
        kept = purpose if self.says_purpose else None
        self.steps.append(Step(rate, to_c, 60.0 * round(hold_min), kept))
        return len(self.steps)

    def between(self, low: float, high: float) -> float:
        """Return a figure in between."""
        return self.rng.uniform(low, high)


def _round(value_c: float, to_f: float, zero_f: float) -> float:
    """Return a figure that is a round number of °F, in °C."""
    in_f = value_c * 9 / 5 + zero_f
    return (to_f * round(in_f / to_f) - zero_f) * 5 / 9


def random_program(rng: Random, cool_c_per_h: float | None = None, kinds: tuple[str, ...] = ()) -> Program:
    """Return a plan at random.

    Parameters
    ----------
    rng
        Where the chance comes from.
    cool_c_per_h
        The cooling after the anneal hold goes through the whole band at this rate [°C/h]; None as usual for
        the thickness.
    kinds
        Names in WRITERS to choose from; empty means all, as often as they are fired.
    """
    glass = rng.choice(GLASSES)
    kind = rng.choice(kinds or _USUAL)
    w = _Writer(rng, glass)
    thickness_mm, squeeze, top = WRITERS[kind](w)
    anneal_c = w.glass.annealing_point_c + w.between(-3, 6)
    minutes = {True: w.between(30, 75), False: w.between(90, 180)}[thickness_mm <= 9]
    if kind == "casting":
        minutes = w.between(300, 480)
    anneal = w.add(None, anneal_c, minutes, "anneal")
    _cooling(w, anneal_c, thickness_mm, cool_c_per_h)
    title = f"{kind.replace('-', ' ')}, {thickness_mm:g} mm, invented"
    plan = Plan(title, "F" if w.unit == "F" else "C", tuple(w.steps))
    return Program(plan, glass, thickness_mm, squeeze, top, anneal, anneal + 1)


@cache
def shelf() -> tuple[Plan, ...]:
    """Return the plans an invented studio has written down: one of each kind."""
    return tuple(random_program(Random(f"shelf {kind}"), kinds=(kind,)).plan for kind in WRITERS)


def _cooling(w: _Writer, anneal_c: float, thickness_mm: float, cool_c_per_h: float | None) -> None:
    """Write the fall after the anneal hold: by thickness in two steps, or in one at the rate asked; then to 40 °C."""
    if cool_c_per_h is not None:
        w.add(cool_c_per_h, w.glass.band_low_c - 15)
    else:
        first = max(8.0, min(90.0, 3240 / thickness_mm**2) * w.between(0.8, 1.1))
        w.add(first, anneal_c - 55)
        w.add(first * w.between(1.7, 2.0), anneal_c - w.between(110, 145))
    if thickness_mm > 20:
        w.add(w.between(25, 40), 40)
    else:
        w.add(None if w.rng.random() < 0.6 else w.between(120, 300), 40)


def _full_fuse(w: _Writer) -> tuple[float, int | None, int]:
    """Write a climb with a slow end below the squeeze, the squeeze and the top."""
    w.add(w.between(150, 250), 620)
    squeeze = w.add(w.between(50, 90), w.between(660, 677), w.between(20, 40), "squeeze")
    return 6.0, squeeze, w.add(w.between(200, 300), w.between(785, 815), w.between(8, 20), "top")


def _plain_fuse(w: _Writer) -> tuple[float, int | None, int]:
    """Write a climb straight to the squeeze, and the top."""
    squeeze = w.add(w.between(150, 222), w.between(650, 677), w.between(20, 45), "squeeze")
    return 6.0, squeeze, w.add(w.between(200, 333), w.between(790, 810), w.between(8, 15), "top")


def _tack(w: _Writer) -> tuple[float, int | None, int]:
    """Write a gentle climb to squeeze and tack of uneven work."""
    squeeze = w.add(w.between(120, 200), w.between(600, 640), w.between(15, 30), "squeeze")
    return 9.0, squeeze, w.add(w.between(120, 220), w.between(700, 755), w.between(8, 20), "top")


def _refire(w: _Writer) -> tuple[float, int | None, int]:
    """Write the climb of a fused piece: slow until it no longer breaks, then fast."""
    w.add(w.between(100, 150), 540)
    return 6.0, None, w.add(w.between(200, 330), w.between(775, 800), w.between(6, 12), "top")


def _slump(w: _Writer) -> tuple[float, int | None, int]:
    """Write one slow climb to the slump."""
    return 6.0, None, w.add(w.between(90, 150), w.between(630, 665), w.between(10, 30), "top")


def _decal(w: _Writer) -> tuple[float, int | None, int]:
    """Write a climb with an end of burning off, and the top."""
    w.add(w.between(120, 160), 593, 0.0, "burn-off")
    return 6.0, None, w.add(w.between(140, 200), w.between(720, 770), w.between(8, 12), "top")


def _low_fire(w: _Writer) -> tuple[float, int | None, int]:
    """Write one climb to a low top."""
    return 6.0, None, w.add(w.between(100, 160), w.between(575, 595), w.between(8, 15), "top")


def _thick(w: _Writer) -> tuple[float, int | None, int]:
    """Write the climb of 12 mm."""
    squeeze = w.add(w.between(60, 90), 670, w.between(45, 75), "squeeze")
    return 12.0, squeeze, w.add(w.between(120, 250), w.between(790, 805), w.between(10, 25), "top")


def _casting(w: _Writer) -> tuple[float, int | None, int]:
    """Write the climb of a casting of 25 mm, which dries first."""
    w.add(w.between(40, 70), 150, w.between(90, 180))
    squeeze = w.add(w.between(60, 100), w.between(600, 680), w.between(45, 90), "squeeze")
    return 25.0, squeeze, w.add(w.between(100, 180), w.between(800, 830), w.between(60, 120), "top")


WRITERS = {
    "full-fuse": _full_fuse, "plain-fuse": _plain_fuse, "tack": _tack, "refire": _refire, "slump": _slump,
    "decal": _decal, "low-fire": _low_fire, "thick": _thick, "casting": _casting,
}
"""Every kind of firing by name: writes the climb; returns thickness [mm] and the steps of squeeze and top."""
_USUAL = (
    "full-fuse", "full-fuse", "full-fuse", "full-fuse", "plain-fuse", "plain-fuse", "plain-fuse", "tack", "tack",
    "refire", "refire", "slump", "slump", "slump", "decal", "low-fire", "thick", "thick", "casting",
)
