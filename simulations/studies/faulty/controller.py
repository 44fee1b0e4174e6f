"""Rows of the study in which the controller, or what was keyed into it, is wrong."""

from __future__ import annotations

from simulations.cases import Expected
from simulations.studies.faulty.draft import FALLS, FIRST_STOP_S, Draft, Row, RowResult, hot_place

_COOLING = ("cooling-too-fast",)


def cooling(times: float) -> Row:
    """Return the row whose fall after the anneal hold runs ``times`` as fast as planned."""
    def make(d: Draft) -> RowResult:
        rank = "look" if times < 1.4 else "wake"
        cool = d.program.cool
        # Half of them have the wrong figure from the ramp's first second, half change under way.
        when = f"step{cool}:ramp" if d.rng.random() < 0.5 else d.into(cool, "ramp", 0.05, 0.4)
        return (f"cooling={times:g}@{when}",), (
            Expected(_COOLING, rank, "cooling", ("firing-stopped", "hold-cut-short"), "band"),)
    return make


def restart(d: Draft) -> RowResult:
    """Return a firing in which the mains blinks and the controller begins again at step 1."""
    # From the top the first step's target lies below: the kiln comes down to it before it climbs again.
    return (f"restart={d.minutes(0.3, 5)}@{hot_place(d)}",), (
        Expected(("restarted",), "wake", "restart", ("over-temperature", "hold-overrun", "not-cooling", *FALLS),
                 "climbs-again"),)


def stall(d: Draft) -> RowResult:
    """Return a firing in which the controller stands still in the climb to the top."""
    return (f"stuck={d.minutes(90, 180)}@{d.into(d.program.top, 'ramp', 0.2, 0.8)}",), (
        Expected(("not-climbing",), "look", "stuck", ("hold-overrun", "firing-stopped", "hold-off-target"),
                 is_wake_fine=True),)


def anneal_low(d: Draft) -> RowResult:
    """Return a firing in which the anneal hold is kept too cold."""
    return (f"hold-off=-{d.rng.uniform(14, 35):.0f}@step{d.program.anneal}",), (
        Expected(("hold-off-target",), "wake", "hold-off", ("hold-cut-short", "cooling-too-fast", "firing-stopped"),
                 follows_step=d.program.anneal),)


def anneal_warm(d: Draft) -> RowResult:
    """Return a firing in which the anneal hold is kept too hot."""
    return (f"hold-off={d.rng.uniform(12, 18):.0f}@step{d.program.anneal}",), (
        Expected(("hold-off-target",), "look", "hold-off", ("hold-cut-short", "not-cooling")),)


def top_low(d: Draft) -> RowResult:
    """Return a firing in which the hold at the top is kept too cold."""
    # The first hold of a firing can't tell a cold hold from an offset; a later one can.
    return (f"hold-off=-{d.rng.uniform(11, 18):.0f}@step{d.program.top}",), (
        Expected(("hold-off-target",), "look", "hold-off", ("not-climbing", "hold-cut-short")),)


def anneal_skipped(d: Draft) -> RowResult:
    """Return a firing in which the anneal hold is left at once."""
    return (f"skip-hold@step{d.program.anneal}",), (
        Expected(("hold-cut-short",), "wake", "skip-hold", ("cooling-too-fast", "firing-stopped"),
                 follows_step=d.program.anneal),)


def anneal_short(d: Draft) -> RowResult:
    """Return a firing in which the anneal hold lasts a fraction of what was planned."""
    return (f"hold-short={d.rng.uniform(0.15, 0.8) ** 3:.2f}@step{d.program.anneal}",), (
        Expected(("hold-cut-short",), "wake", "hold-short", ("cooling-too-fast", "firing-stopped"), "part-end",
                 follows_step=d.program.anneal),)


def top_short(d: Draft) -> RowResult:
    """Return a firing in which the top ends minutes early, before a free fall.

    Until the kiln is held at the anneal the readings are those of a power cut at the top, which must wake.
    """
    return (f"hold-short={d.rng.uniform(0.35, 0.65):.2f}@step{d.program.top}",), (
        Expected(("hold-cut-short", "firing-stopped"), "look", "hold-short", onset="cut-short", is_wake_fine=True),)


def restart_falling(d: Draft) -> RowResult:
    """Return a firing in which the controller stands for an hour in the fall, then begins again at step 1."""
    when = d.into(d.program.cool, "ramp", 0.1, 0.9)
    return (f"restart={d.minutes(50, 80)}@{when}",), (
        Expected(("restarted",), "wake", "restart", ("over-temperature", "not-cooling", *FALLS), "climbs-again"),)


def top_overrun(d: Draft) -> RowResult:
    """Return a firing in which the hold at the top lasts several times what was planned."""
    hold_s = d.plan.steps[d.program.top - 1].hold_s
    return (f"hold-long={d.rng.uniform(2.6, 6) + 900 / hold_s:.2f}@step{d.program.top}",), (
        Expected(("hold-overrun",), "wake", "hold-long", ("not-cooling",), "hold-over",
                 wake_after_s=max(900.0, hold_s / 2)),)


def stuck_falling(d: Draft) -> RowResult:
    """Return a firing in which the controller stands still in the fall after the anneal hold."""
    return (f"stuck={d.minutes(90, 180)}@{d.into(d.program.cool, 'ramp', 0.1, 0.6)}",), (
        Expected(("not-cooling",), "look", "stuck", ("hold-overrun", "hold-off-target")),)


def heating(d: Draft) -> RowResult:
    """Return a firing in which the first climb runs more than twice as fast as planned."""
    return (f"heating={d.rng.uniform(2.1, 2.8):.2f}@{d.into(1, 'ramp', 0.1, 0.5)}",), (
        Expected(("heating-too-fast",), "look", "heating", ("wrong-plan",), "fast", is_wake_fine=True),)


def never_started(d: Draft) -> RowResult:
    """Return a firing in which start is pressed in Lehrling; nobody starts the controller."""
    return ("never-started",), (Expected(("not-started",), "look", "never-started", within_s=2.5 * 3600),)


def wrong_plan(d: Draft) -> RowResult:
    """Return a firing in which the controller runs another plan, chosen in simulations.studies.faulty.case."""
    return (), (Expected(("wrong-plan",), "look", "keyed", (
        "hold-off-target", "heating-too-fast", "over-temperature", "hold-cut-short", "not-cooling", "firing-stopped",
        "not-climbing", "hold-overrun", "cooling-too-fast"), within_s=FIRST_STOP_S),)
