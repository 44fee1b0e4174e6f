"""Rows of the study in which the kiln, its lid or its supply fails."""

from __future__ import annotations

from simulations.cases import Expected
from simulations.studies.faulty.draft import FALLS, Draft, RowResult, hot_place


def lid(d: Draft) -> RowResult:
    """Return a firing in which the lid is opened for half a minute at the top or in the anneal hold."""
    return (f"lid={d.minutes(0.3, 0.7)}@{hot_place(d)}",), (
        Expected(("sudden-drop",), "look", "lid", ("firing-stopped", "hold-off-target"), within_s=900),)


def lid_stays_open(d: Draft) -> RowResult:
    """Return a firing in which the lid is left partly or wholly open at the top or in the anneal hold."""
    # After twenty minutes the alert asks whether the sensor moved or the lid is open; the first act is to look there.
    return (f"ajar={d.rng.uniform(0.3, 1):.2f},{d.minutes(10, 40)}@{hot_place(d)}",), (
        Expected(("sudden-drop", "sensor-fault"), "wake", "ajar", FALLS, "lid", wake_after_s=120),)


def lid_ajar(d: Draft) -> RowResult:
    """Return a firing in which the lid is left ajar in the fall after the anneal hold."""
    when = d.into(d.program.cool, "ramp", 0.1, 0.5)
    return (f"ajar={d.rng.uniform(0.15, 0.4):.2f}@{when}",), (
        Expected(("sudden-drop", "cooling-too-fast"), "wake", "ajar", FALLS, "lid"),)


def power_gone(d: Draft) -> RowResult:
    """Return a firing in which the mains goes for good at the top or in the anneal hold."""
    return (f"power-cut@{hot_place(d)}",), (
        Expected(("firing-stopped",), "wake", "power-cut", FALLS, "power", within_s=1800),)


def power_gone_coarse(d: Draft) -> RowResult:
    """Return a firing in which the mains goes for good at 600 to 660 °C in the climb, with a reading a minute."""
    return (f"power-cut@above{d.rng.randint(600, 660)}",), (
        Expected(("firing-stopped",), "wake", "power-cut", FALLS, within_s=1800),)


def ajar_top(d: Draft) -> RowResult:
    """Return a firing in which the lid is left ajar at the top and stays so, through the fall and the anneal."""
    return (f"ajar={d.rng.uniform(0.25, 0.7):.2f}@{d.into(d.program.top, 'hold', 0.2, 0.9)}",), (
        Expected(("sudden-drop", "firing-stopped"), "wake", "ajar", FALLS, "lid", within_s=1800, wake_after_s=120),)


def power_gone_climbing(d: Draft) -> RowResult:
    """Return a firing in which the mains goes for good on the way to the top."""
    # On the climb to the top, or late in the hold before it, where a climb is what should come next.
    before = d.program.top - 1
    late = d.plan.steps[before - 1].hold_s > 0 and d.rng.random() < 0.4
    when = d.into(before, "hold", 0.6, 1.0) if late else d.into(d.program.top, "ramp", 0.3, 0.9)
    return (f"power-cut@{when}",), (
        Expected(("firing-stopped",), "wake", "power-cut", FALLS, within_s=1800),)


def power_gone_cold(d: Draft) -> RowResult:
    """Return a firing in which the mains goes for good early in the first climb, where nothing can be spoilt."""
    # Below the band nothing can be lost that night: a stop there is noted.
    return (f"power-cut@{d.into(1, 'ramp', 0.2, 0.6)}",), (
        Expected(("firing-stopped",), "log", "power-cut", FALLS, within_s=1800),)


def power_back(d: Draft) -> RowResult:
    """Return a firing in which the mains is away for half an hour or more and comes back."""
    return (f"power-cut={d.minutes(30, 50)}@{hot_place(d)}",), (
        Expected(("firing-stopped",), "wake", "power-cut", FALLS, within_s=1800),
        # With full power a kiln may come back so fast that it is told as a runaway: the wake is the same.
        Expected(("restarted",), "wake", "power-cut", ("over-temperature",), onset="end"),
    )


def runaway(d: Draft) -> RowResult:
    """Return a firing in which the relay welds late in the climb to the top."""
    when = d.into(d.program.top, "ramp", 0.5, 0.95)
    return (f"runaway={d.minutes(90, 150)}@{when}",), (
        Expected(("over-temperature",), "wake", "runaway", onset="crossing"),)


def welded_falling(d: Draft) -> RowResult:
    """Return a firing in which the relay welds in the fall after the anneal hold."""
    return (f"runaway={d.minutes(30, 60)}@{d.into(d.program.cool, 'ramp', 0.1, 0.6)}",), (
        # A contact that welds in the fall climbs as no step of the plan does: it will be too hot, and that is told.
        Expected(("not-cooling", "over-temperature"), "wake", "runaway", ("restarted",), within_s=1800),)


def element_out(d: Draft) -> RowResult:
    """Return a firing in which half the elements fail in the climb to the top."""
    return (f"sag={d.rng.uniform(0.3, 0.55):.2f}@{d.into(d.program.top, 'ramp', 0.1, 0.6)}",), (
        Expected(("not-climbing",), "look", "sag", ("firing-stopped",), "slow", within_s=5400, is_wake_fine=True),)
