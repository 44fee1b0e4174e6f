"""A faulty firing in the making: where in its plan the fault is placed, by chance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from daemon.firing.plan.plan import Plan
from simulations.cases import Expected
from simulations.random_plans import Program

FALLS = ("firing-stopped", "sudden-drop", "cooling-too-fast", "hold-cut-short", "not-climbing", "hold-off-target")
"""Kinds of alert that are near enough where the reading falls away for whatever cause."""
FIRST_STOP_S = 12 * 3600.0
"""Before its first stop nothing tells a wrong plan, unit or probe; a thick plate keyed in °F comes there in 10 h [s].
[derived: that, and a margin]"""
_ROOM_C, _FREE_C_PER_H = 20.0, 600.0
"""Where a plan begins, and how fast a free ramp is taken to run [°C, °C/h], only to place a fault within it.
[chosen: about what kilns do]"""


@dataclass(frozen=True, slots=True)
class Draft:
    """The program of a faulty firing, and the chance that places its fault."""

    rng: Random
    program: Program

    @property
    def plan(self) -> Plan:
        """Return the maker's plan."""
        return self.program.plan

    def minutes(self, low: float, high: float) -> str:
        """Return a length between two numbers of minutes, as faults spell it."""
        return f"{self.rng.uniform(low, high) * 60:.0f}s"

    def into(self, step: int, part: str, low: float = 0.05, high: float = 0.8) -> str:
        """Return a place within a part of the plan, between two shares of its planned length, as faults spell it."""
        steps = self.plan.steps
        here = steps[step - 1]
        if part == "hold":
            length_s = here.hold_s
        else:
            from_c = steps[step - 2].to_c if step > 1 else _ROOM_C
            length_s = abs(here.to_c - from_c) / (here.rate_c_per_h or _FREE_C_PER_H) * 3600
        return f"step{step}:{part}+{self.rng.uniform(low, high) * length_s:.0f}s"


RowResult = tuple[tuple[str, ...], tuple[Expected, ...]]
"""Faults as they are spelt (see simulations.faults), and what a watcher must say of them."""
Row = Callable[[Draft], RowResult]
"""A kind of faulty firing: takes a draft, says what goes wrong in it."""


def hot_place(d: Draft) -> str:
    """Return a place where losing the kiln costs the piece: at the top or in the anneal hold."""
    return d.into(d.rng.choice((d.program.top, d.program.anneal)), "hold", 0.1, 0.6)
