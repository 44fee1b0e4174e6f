"""Rows of faulty firings: where each fault is placed, and how it is labelled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from simulations.cases import Expected
from simulations.faults import Fault
from simulations.random_plans import Program
from simulations.second_plant import labels
from simulations.second_plant.labels import FALLS, Known, said
from simulations.second_plant.programmer import AfterCut

ROOM_C = 20.0
"""Where a plan begins, only to place a fault within it [°C]. [chosen: a room]"""
FIRST_STOP_S = 12 * 3600.0
"""A wrong plan need not be told before its first stop, which a slow one reaches by then [s].
[derived: 670 K at 60 K/h, and a margin]"""
_BLIND = ("sensor-fault", "readings-missing")


@dataclass(frozen=True, slots=True)
class Draft:
    """The program of a faulty firing, and the chance that places its fault."""

    rng: Random
    program: Program

    def place(self, name: str, step: int, part: str, low: float, high: float, size: float | None = None,
              length_s: float | None = None) -> Fault:
        """Return a fault within a part, between two shares of its planned length; in a free ramp, of its way."""
        steps, share = self.program.plan.steps, self.rng.uniform(low, high)
        here = steps[step - 1]
        from_c = steps[step - 2].to_c if step > 1 else ROOM_C
        if part == "hold":
            return Fault(name, size, length_s, None, step, part, share * here.hold_s)
        if here.rate_c_per_h is None:
            return Fault(name, size, length_s, passing_c=from_c + share * (here.to_c - from_c),
                         rising=here.to_c > from_c)
        after_s = share * abs(here.to_c - from_c) / here.rate_c_per_h * 3600
        return Fault(name, size, length_s, None, step, part, after_s)

    def hot(self, name: str, size: float | None = None, length_s: float | None = None, *,
            low: float = 0.1, high: float = 0.6) -> Fault:
        """Return a fault in the hold at the top or in that of the anneal."""
        step = self.rng.choice((self.program.top, self.program.anneal))
        return self.place(name, step, "hold", low, high, size, length_s)

    def minutes(self, low: float, high: float) -> float:
        """Return a length between two numbers of minutes [s]."""
        return 60 * self.rng.uniform(low, high)


@dataclass(frozen=True, slots=True)
class Row:
    """A kind of faulty firing.

    Attributes
    ----------
    place
        Takes a draft, returns what goes wrong in it.
    label
        Takes a firing that happened, returns what must be said of it.
    after_cut
        What the controller does when the mains is back; None is any.
    cool_c_per_h
        Range of the cooling after the anneal that the plan must have [°C/h]; None is any.
    """

    place: Callable[[Draft], tuple[Fault, ...]]
    label: Callable[[Known], tuple[Expected, ...]]
    after_cut: AfterCut | None = None
    cool_c_per_h: tuple[float, float] | None = None


def _cooling(times: float) -> Row:
    """Return the row whose fall after the anneal runs ``times`` as fast as written."""
    rank = "look" if times < 1.4 else "wake"
    return Row(
        lambda d: (d.place("cooling", d.program.cool, "ramp", 0.0, d.rng.choice((0.0, 0.4)), times),),
        said(Expected(("cooling-too-fast",), rank, "cooling", ("firing-stopped", "hold-cut-short"), "band")),
        cool_c_per_h=(50.0, 60.0),
    )


def _before_top(d: Draft) -> tuple[Fault, ...]:
    """Return a power cut on the way to the top."""
    return (d.place("power-cut", d.program.top, "ramp", 0.2, 0.9),)


def _short_top(d: Draft) -> tuple[Fault, ...]:
    """Return a top cut short by at least three minutes and a third of its hold."""
    hold_s = d.program.plan.steps[d.program.top - 1].hold_s
    share = d.rng.uniform(0.1, 0.65)
    return (Fault("hold-short", min(share, max(0.0, 1 - 200 / hold_s)), None, None, d.program.top, "hold", 0.0),)


def _long_top(d: Draft) -> tuple[Fault, ...]:
    """Return a top that lasts several times as long as written."""
    hold_s = d.program.plan.steps[d.program.top - 1].hold_s
    return (Fault("hold-long", d.rng.uniform(2.6, 6) + 900 / hold_s, None, None, d.program.top, "hold", 0.0),)


def _at_anneal(name: str, low: float, high: float) -> Callable[[Draft], tuple[Fault, ...]]:
    """Return what places a fault of some size at the beginning of the anneal hold."""
    return lambda d: (Fault(name, d.rng.uniform(low, high), None, None, d.program.anneal, "hold", 0.0),)


_RESTARTED = Expected(("restarted",), "wake", "restart", (
    "over-temperature", "hold-overrun", "not-cooling", *FALLS), "climbs-again")
_STALLED = Expected(("not-climbing",), "look", "stuck", ("hold-overrun", "firing-stopped", "hold-off-target"),
                    is_wake_fine=True)

ROWS: dict[str, Row] = {
    "cooling-1.3": _cooling(1.3), "cooling-1.6": _cooling(1.6), "cooling-2.5": _cooling(2.5),
    "cooling-4": _cooling(4.0),
    "power-gone": Row(lambda d: (d.hot("power-cut", low=0.05, high=0.9),), labels.cut),
    "power-gone-climbing": Row(_before_top, labels.cut),
    "power-gone-cold": Row(lambda d: (d.place("power-cut", 1, "ramp", 0.2, 0.6),), labels.cut),
    "power-goes-on": Row(lambda d: (d.hot("power-cut", None, d.minutes(25, 60)),), labels.cut, "goes-on"),
    "power-begins-again": Row(lambda d: (d.hot("power-cut", None, d.minutes(15, 60)),), labels.cut, "begins-again"),
    "lid-stays-open": Row(
        lambda d: (d.hot("ajar", d.rng.uniform(0.3, 1.0), d.minutes(10, 40)),), labels.lid_open),
    "lid-ajar": Row(lambda d: (d.place("ajar", d.program.cool, "ramp", 0.05, 0.5, d.rng.uniform(0.08, 0.4)),),
                    labels.ajar),
    "runaway": Row(lambda d: (d.place("welded", d.program.top, "ramp", 0.5, 0.95, None, d.minutes(90, 150)),),
                   said(Expected(("over-temperature",), "wake", "welded", onset="crossing"))),
    "welded-falling": Row(
        lambda d: (d.place("welded", d.program.cool, "ramp", 0.05, 0.6, None, d.minutes(30, 60)),),
        said(Expected(("not-cooling", "over-temperature"), "wake", "welded", ("restarted",), within_s=1800))),
    "element-out": Row(
        lambda d: (d.place("element-out", d.program.top, "ramp", 0.1, 0.6),),
        said(Expected(("not-climbing",), "look", "element-out", ("firing-stopped",), "slow", within_s=5400,
                      is_wake_fine=True))),
    "stall": Row(lambda d: (d.place("stuck", d.program.top, "ramp", 0.2, 0.8, None, d.minutes(90, 180)),),
                 said(_STALLED)),
    "stuck-falling": Row(
        lambda d: (d.place("stuck", d.program.cool, "ramp", 0.1, 0.6, None, d.minutes(90, 180)),),
        said(Expected(("not-cooling",), "look", "stuck", ("hold-overrun", "hold-off-target")))),
    "anneal-skipped": Row(
        lambda d: (Fault("skip-hold", None, None, None, d.program.anneal, "hold", 0.0),),
        labels.anneal("skip-hold", "hold-cut-short", "fault", ("cooling-too-fast", "firing-stopped"))),
    "anneal-short": Row(
        _at_anneal("hold-short", 0.15, 0.6),
        labels.anneal("hold-short", "hold-cut-short", "part-end", ("cooling-too-fast", "firing-stopped"))),
    "anneal-low": Row(
        _at_anneal("hold-off", -22.0, -14.0),
        labels.anneal("hold-off", "hold-off-target", "fault", (
            "hold-cut-short", "cooling-too-fast", "firing-stopped"))),
    "anneal-warm": Row(
        _at_anneal("hold-off", 14.0, 20.0),
        said(Expected(("hold-off-target",), "look", "hold-off", ("hold-cut-short", "not-cooling")))),
    "top-short": Row(_short_top, labels.top_short),
    "top-overrun": Row(_long_top, labels.top_overrun),
    "open": Row(lambda d: (d.hot("open"),), said(Expected(_BLIND, "wake", "open", wake_after_s=60))),
    "frozen": Row(lambda d: (d.hot("frozen"),), said(Expected(
        ("reading-frozen",), "wake", "frozen", ("hold-overrun", "not-cooling", *FALLS), wake_after_s=240))),
    "flickers": Row(lambda d: (d.hot("flickers"),), said(Expected(
        ("reading-flickers",), "look", "flickers", _BLIND, is_wake_fine=True))),
    "zeros": Row(lambda d: (d.hot("zeros"),), said(Expected(
        ("sensor-fault", "reading-flickers"), "look", "zeros", ("readings-missing",), is_wake_fine=True))),
    "probe-fallen": Row(lambda d: (d.hot("fallen", d.rng.uniform(0.4, 0.9)),), labels.fallen),
    "rows-missing": Row(lambda d: (d.hot("gap", None, d.minutes(20, 60)),), said(Expected(
        ("readings-missing",), "look", "gap", ("sensor-fault",), "end", is_wake_fine=True))),
    "wrong-plan": Row(lambda d: (), said(Expected(("wrong-plan",), "look", "keyed", (
        "over-temperature", "heating-too-fast", "hold-overrun", "not-cooling", *FALLS), within_s=FIRST_STOP_S,
        is_wake_fine=True))),
    "restart": Row(lambda d: (d.hot("restart"),), said(_RESTARTED)),
}
"""Every row by name, in the order of the table."""
