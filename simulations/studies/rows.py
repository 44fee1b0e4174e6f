"""Every line of the study's table: what goes wrong, how often it differs, and what a watcher must say.

A row is a function that takes chance and says what goes wrong in one firing; ``faulty.py`` makes the firing of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from daemon.firing.plan.plan import Plan
from simulations.cases import Expected
from simulations.programs import Program

_COOLING = ("cooling-too-fast",)
_BLIND = ("sensor-fault", "readings-missing")
_FALLS = ("firing-stopped", "sudden-drop", "cooling-too-fast", "hold-cut-short", "not-climbing", "hold-off-target")


@dataclass(frozen=True, slots=True)
class Draft:
    """A faulty firing in the making: its program and chance."""

    rng: Random
    program: Program

    @property
    def plan(self) -> Plan:
        """Return the maker's plan."""
        return self.program.plan

    def minutes(self, low: float, high: float) -> str:
        """Return a length between the two, as spelt."""
        return f"{self.rng.uniform(low, high) * 60:.0f}s"

    def into(self, step: int, part: str, low: float = 0.05, high: float = 0.8) -> str:
        """Return a place within a part of the plan, between two shares of its planned length, as spelt."""
        steps = self.plan.steps
        here = steps[step - 1]
        if part == "hold":
            length_s = here.hold_s
        else:
            from_c = steps[step - 2].to_c if step > 1 else 20.0
            length_s = abs(here.to_c - from_c) / (here.rate_c_per_h or 600.0) * 3600
        return f"step{step}:{part}+{self.rng.uniform(low, high) * length_s:.0f}s"


_FIRST_STOP_S = 12 * 3600.0
"""Before its first stop nothing tells a wrong plan, unit or probe; a thick plate keyed in °F comes there in 10 h."""

Made = tuple[tuple[str, ...], tuple[Expected, ...]]
Row = Callable[[Draft], Made]


def _cooling(times: float) -> Row:
    def make(d: Draft) -> Made:
        rank = "look" if times < 1.4 else "wake"
        cool = d.program.cool
        # Half of them have the wrong figure from the ramp's first second, half change under way.
        when = f"step{cool}:ramp" if d.rng.random() < 0.5 else d.into(cool, "ramp", 0.05, 0.4)
        return (f"cooling={times:g}@{when}",), (
            Expected(_COOLING, rank, "cooling", ("firing-stopped", "hold-cut-short"), "band"),)
    return make


def _hot_place(d: Draft) -> str:
    """Return a place where losing the kiln costs the piece: at the top or in the anneal hold."""
    return d.into(d.rng.choice((d.program.top, d.program.anneal)), "hold", 0.1, 0.6)


def _lid(d: Draft) -> Made:
    return (f"lid={d.minutes(0.3, 0.7)}@{_hot_place(d)}",), (
        Expected(("sudden-drop",), "look", "lid", ("firing-stopped", "hold-off-target"), within_s=900),)


def _lid_stays(d: Draft) -> Made:
    return (f"ajar={d.rng.uniform(0.3, 1):.2f},{d.minutes(10, 40)}@{_hot_place(d)}",), (
        Expected(("sudden-drop",), "wake", "ajar", _FALLS, wake_after_s=120),)


def _ajar(d: Draft) -> Made:
    when = d.into(d.program.cool, "ramp", 0.1, 0.5)
    return (f"ajar={d.rng.uniform(0.15, 0.4):.2f}@{when}",), (
        Expected(("sudden-drop", "cooling-too-fast"), "wake", "ajar", _FALLS),)


def _blind(name: str) -> Row:
    def make(d: Draft) -> Made:
        return (f"{name}@{_hot_place(d)}",), (Expected(_BLIND, "wake", name, wake_after_s=60),)
    return make


def _blind_cold(d: Draft) -> Made:
    return (f"open@{d.into(1, 'ramp', 0.1, 0.5)}",), (Expected(_BLIND, "look", "open"),)


def _power_gone(d: Draft) -> Made:
    return (f"power-cut@{_hot_place(d)}",), (
        Expected(("firing-stopped",), "wake", "power-cut", _FALLS, within_s=1800),)


def _power_gone_climbing(d: Draft) -> Made:
    # On the climb to the top, or late in the hold before it, where a climb is what should come next.
    before = d.program.top - 1
    late = d.plan.steps[before - 1].hold_s > 0 and d.rng.random() < 0.4
    when = d.into(before, "hold", 0.6, 1.0) if late else d.into(d.program.top, "ramp", 0.3, 0.9)
    return (f"power-cut@{when}",), (
        Expected(("firing-stopped",), "wake", "power-cut", _FALLS, within_s=1800),)


def _power_gone_cold(d: Draft) -> Made:
    # Below the band nothing can be lost that night: a stop there is noted.
    return (f"power-cut@{d.into(1, 'ramp', 0.2, 0.6)}",), (
        Expected(("firing-stopped",), "log", "power-cut", _FALLS, within_s=1800),)


def _power_back(d: Draft) -> Made:
    return (f"power-cut={d.minutes(30, 50)}@{_hot_place(d)}",), (
        Expected(("firing-stopped",), "wake", "power-cut", _FALLS, within_s=1800),
        Expected(("restarted",), "wake", "power-cut", onset="end"),
    )


def _restart(d: Draft) -> Made:
    # From the top the first step's target lies below: the kiln comes down to it before it climbs again.
    return (f"restart={d.minutes(0.3, 5)}@{_hot_place(d)}",), (
        Expected(("restarted",), "wake", "restart", ("over-temperature", "hold-overrun", "not-cooling", *_FALLS),
                 "again"),)


def _runaway(d: Draft) -> Made:
    when = d.into(d.program.top, "ramp", 0.5, 0.95)
    return (f"runaway={d.minutes(90, 150)}@{when}",), (
        Expected(("over-temperature",), "wake", "runaway", onset="crossing"),)


def _stall(d: Draft) -> Made:
    return (f"stuck={d.minutes(90, 180)}@{d.into(d.program.top, 'ramp', 0.2, 0.8)}",), (
        Expected(("not-climbing",), "look", "stuck", ("hold-overrun", "firing-stopped", "hold-off-target"),
                 is_wake_fine=True),)


def _element_out(d: Draft) -> Made:
    return (f"sag={d.rng.uniform(0.3, 0.55):.2f}@{d.into(d.program.top, 'ramp', 0.1, 0.6)}",), (
        Expected(("not-climbing",), "look", "sag", ("firing-stopped",), "slow", within_s=5400, is_wake_fine=True),)


def _anneal_low(d: Draft) -> Made:
    return (f"hold-off=-{d.rng.uniform(14, 17):.0f}@step{d.program.anneal}",), (
        Expected(("hold-off-target",), "wake", "hold-off", ("hold-cut-short", "cooling-too-fast", "firing-stopped")),)


def _anneal_warm(d: Draft) -> Made:
    return (f"hold-off={d.rng.uniform(12, 18):.0f}@step{d.program.anneal}",), (
        Expected(("hold-off-target",), "look", "hold-off", ("hold-cut-short", "not-cooling")),)


def _hold_low(d: Draft) -> Made:
    # The first hold of a firing can't tell a cold hold from an offset; a later one can.
    return (f"hold-off=-{d.rng.uniform(11, 18):.0f}@step{d.program.top}",), (
        Expected(("hold-off-target",), "look", "hold-off", ("not-climbing", "hold-cut-short")),)


def _anneal_skipped(d: Draft) -> Made:
    return (f"skip-hold@step{d.program.anneal}",), (
        Expected(("hold-cut-short",), "wake", "skip-hold", ("cooling-too-fast", "firing-stopped")),)


def _anneal_short(d: Draft) -> Made:
    return (f"hold-short={d.rng.uniform(0.2, 0.6):.2f}@step{d.program.anneal}",), (
        Expected(("hold-cut-short",), "wake", "hold-short", ("cooling-too-fast", "firing-stopped"), "part-end"),)


def _top_overrun(d: Draft) -> Made:
    hold_s = d.plan.steps[d.program.top - 1].hold_s
    return (f"hold-long={d.rng.uniform(2.6, 6) + 900 / hold_s:.2f}@step{d.program.top}",), (
        Expected(("hold-overrun",), "wake", "hold-long", ("not-cooling",), "hold-over",
                 wake_after_s=max(900.0, hold_s / 2)),)


def _stuck_falling(d: Draft) -> Made:
    return (f"stuck={d.minutes(90, 180)}@{d.into(d.program.cool, 'ramp', 0.1, 0.6)}",), (
        Expected(("not-cooling",), "look", "stuck", ("hold-overrun", "hold-off-target")),)


def _welded_falling(d: Draft) -> Made:
    return (f"runaway={d.minutes(30, 60)}@{d.into(d.program.cool, 'ramp', 0.1, 0.6)}",), (
        # A contact that welds in the fall climbs as no step of the plan does: it will be too hot, and that is told.
        Expected(("not-cooling", "over-temperature"), "wake", "runaway", ("restarted",), within_s=1800),)


def _heating(d: Draft) -> Made:
    return (f"heating={d.rng.uniform(2.1, 2.8):.2f}@{d.into(1, 'ramp', 0.1, 0.5)}",), (
        Expected(("heating-too-fast",), "look", "heating", ("wrong-plan",), "fast", is_wake_fine=True),)


def _never_started(d: Draft) -> Made:
    return ("never-started",), (Expected(("not-started",), "look", "never-started", within_s=2.5 * 3600),)


def _fallen(d: Draft) -> Made:
    return (f"fallen={d.rng.uniform(0.25, 0.6):.2f}@{_hot_place(d)}",), (
        Expected(("sudden-drop",), "wake", "fallen", _FALLS, wake_after_s=120),)


def _pulled(d: Draft) -> Made:
    return (f"pulled={d.rng.uniform(0.25, 0.6):.2f}@{_hot_place(d)}",), (
        Expected(("sudden-drop", "hold-off-target", "firing-stopped"), "look", "pulled", _FALLS, is_wake_fine=True),)


def _moved(d: Draft) -> Made:
    # A step that stays two minutes in or above the band is a wake: only the kiln's own display tells it from a lid.
    return (f"moved=-{d.rng.uniform(14, 30):.0f}@{_hot_place(d)}",), (
        Expected(("sudden-drop", "hold-off-target"), "look", "moved", _FALLS, is_wake_fine=True),)


def _wired(name: str, *kinds: str, rank: str = "look") -> Row:
    def make(d: Draft) -> Made:
        return (name,), (
            Expected(kinds, rank, name, ("hold-off-target", "not-climbing", "not-started", "over-temperature",
                                         "heating-too-fast", "wrong-plan", "sensor-fault"),
                     within_s=_FIRST_STOP_S),)
    return make


def _wall_short(d: Draft) -> Made:
    return (f"wall-short@{_hot_place(d)}",), (
        Expected(("sudden-drop", "firing-stopped", "sensor-fault"), "wake", "wall-short", _FALLS),)


def _gap(d: Draft) -> Made:
    return (f"gap={d.minutes(20, 60)}@{_hot_place(d)}",), (
        Expected(("readings-missing",), "look", "gap", ("sensor-fault",), "end"),)


def _wrong_plan(d: Draft) -> Made:
    return (), (Expected(("wrong-plan",), "look", "keyed", (
        "hold-off-target", "heating-too-fast", "over-temperature", "hold-cut-short", "not-cooling", "firing-stopped",
        "not-climbing", "hold-overrun", "cooling-too-fast"), within_s=_FIRST_STOP_S),)


ROWS: dict[str, Row] = {
    "cooling-1.3": _cooling(1.3), "cooling-1.6": _cooling(1.6), "cooling-2.5": _cooling(2.5),
    "cooling-4": _cooling(4), "brisk-1.3": _cooling(1.3), "brisk-1.6": _cooling(1.6),
    "brisk-2.5": _cooling(2.5), "brisk-4": _cooling(4),
    "lid": _lid, "open": _blind("open"), "power-gone": _power_gone, "runaway": _runaway, "stall": _stall,
    "anneal-low": _anneal_low, "anneal-skipped": _anneal_skipped,
    "lid-stays-open": _lid_stays, "lid-ajar": _ajar, "short": _blind("short"), "silent": _blind("silent"),
    "open-cold": _blind_cold, "power-gone-climbing": _power_gone_climbing,
    "power-gone-cold": _power_gone_cold, "power-back": _power_back,
    "restart": _restart, "element-out": _element_out, "anneal-warm": _anneal_warm, "top-low": _hold_low,
    "anneal-short": _anneal_short, "top-overrun": _top_overrun, "stuck-falling": _stuck_falling,
    "welded-falling": _welded_falling, "heating": _heating, "never-started": _never_started,
    "probe-fallen": _fallen, "probe-pulled": _pulled, "probe-moved": _moved, "wall-short": _wall_short,
    "rows-missing": _gap, "wrong-plan": _wrong_plan, "wrong-unit": _wrong_plan,
    "reversed": _wired("reversed", "sensor-fault"),
    # A chip set to N or S shows a K probe far above the plan's top, which wakes whatever the truth.
    "set-to-n": _wired("set-to-n", "wrong-plan", "hold-off-target", "over-temperature", rank="wake"),
    "set-to-s": _wired("set-to-s", "sensor-fault", "wrong-plan", "over-temperature", rank="wake"),
    "n-set-to-k": _wired("n-set-to-k", "wrong-plan", "hold-off-target"),
    "copper-lead": _wired("copper-lead", "hold-off-target"),
}
"""Every row by name."""
