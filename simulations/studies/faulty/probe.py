"""Rows of the study in which our own probe, its wires, its chip or the logger fails."""

from __future__ import annotations

from simulations.cases import Expected
from simulations.studies.faulty.draft import FALLS, FIRST_STOP_S, Draft, Row, RowResult, hot_place

_BLIND = ("sensor-fault", "readings-missing")


def blind(name: str) -> Row:
    """Return the row in which the sensor fault ``name`` comes at the top or in the anneal hold."""
    def make(d: Draft) -> RowResult:
        return (f"{name}@{hot_place(d)}",), (Expected(_BLIND, "wake", name, wake_after_s=60),)
    return make


def frozen(d: Draft) -> RowResult:
    """Return a firing in which the reading stops at one value, at the top or in the anneal hold."""
    return (f"frozen@{hot_place(d)}",), (
        Expected(("reading-frozen",), "wake", "frozen", ("hold-overrun", "not-cooling", *FALLS), wake_after_s=240),)


def flickers(d: Draft) -> RowResult:
    """Return a firing in which the contact comes and goes, from the top or the anneal hold on."""
    return (f"flickers={d.rng.uniform(20, 60):.0f}@{hot_place(d)}",), (
        Expected(("reading-flickers",), "look", "flickers", _BLIND, is_wake_fine=True),)


def open_cold(d: Draft) -> RowResult:
    """Return a firing in which the thermocouple opens early in the first climb."""
    return (f"open@{d.into(1, 'ramp', 0.1, 0.5)}",), (Expected(_BLIND, "look", "open"),)


def probe_fallen(d: Draft) -> RowResult:
    """Return a firing in which the probe drops out of the kiln by a share, at once."""
    # A probe that has fallen or moved is the sensor's trouble: the name that is given after twenty minutes says so.
    return (f"fallen={d.rng.uniform(0.25, 0.6):.2f}@{hot_place(d)}",), (
        Expected(("sudden-drop", "sensor-fault"), "wake", "fallen", FALLS, wake_after_s=120),)


def probe_pulled(d: Draft) -> RowResult:
    """Return a firing in which the probe slides out of the kiln by a share, slowly."""
    return (f"pulled={d.rng.uniform(0.25, 0.6):.2f}@{hot_place(d)}",), (
        Expected(("sudden-drop", "hold-off-target", "firing-stopped", "sensor-fault"), "look", "pulled", FALLS,
                 is_wake_fine=True),)


def probe_moved(d: Draft) -> RowResult:
    """Return a firing in which the probe is knocked and reads too low from then on."""
    # A step that stays two minutes in or above the band is a wake: only the kiln's own display tells it from a lid.
    return (f"moved=-{d.rng.uniform(14, 30):.0f}@{hot_place(d)}",), (
        Expected(("sudden-drop", "hold-off-target", "sensor-fault"), "look", "moved", FALLS, is_wake_fine=True),)


def wired(name: str, *kinds: str, rank: str = "look") -> Row:
    """Return the row in which the wiring fault ``name`` is there from the start; any of ``kinds`` is right."""
    def make(d: Draft) -> RowResult:
        return (name,), (
            Expected(kinds, rank, name, ("hold-off-target", "not-climbing", "not-started", "over-temperature",
                                         "heating-too-fast", "wrong-plan", "sensor-fault"),
                     within_s=FIRST_STOP_S),)
    return make


def wall_short(d: Draft) -> RowResult:
    """Return a firing in which the wires touch inside the wall, so that the probe reads the wall."""
    return (f"wall-short@{hot_place(d)}",), (
        Expected(("sudden-drop", "firing-stopped", "sensor-fault"), "wake", "wall-short", FALLS),)


def rows_missing(d: Draft) -> RowResult:
    """Return a firing in which the logger writes no rows for a while."""
    return (f"gap={d.minutes(20, 60)}@{hot_place(d)}",), (
        Expected(("readings-missing",), "look", "gap", ("sensor-fault",), "end"),)


def blind_top(d: Draft) -> RowResult:
    """Return a firing in which the probe is lost for 20 minutes at the top and comes back."""
    return (f"open={d.minutes(18, 25)}@{d.into(d.program.top, 'hold', 0.1, 0.6)}",), (
        Expected(_BLIND, "wake", "open", wake_after_s=60),)


def coded_zeros(d: Draft) -> RowResult:
    """Return a firing whose logger writes 0.0 for every fourth reading, from some time in the first climb on."""
    return (f"zeros={d.rng.randint(3, 6)}@{d.into(1, 'ramp', 0.3, 0.8)}",), (
        Expected(("reading-flickers", "sensor-fault"), "look", "zeros", ("readings-missing",), is_wake_fine=True),)


def flickers_all_night(d: Draft) -> RowResult:
    """Return a firing in which the contact comes and goes from the first climb on."""
    return (f"flickers={d.rng.uniform(10, 40):.0f}@{d.into(1, 'ramp', 0.3, 0.8)}",), (
        Expected(("reading-flickers",), "look", "flickers", _BLIND, is_wake_fine=True),)


def frozen_anneal(d: Draft) -> RowResult:
    """Return a firing in which the reading freezes early in the anneal hold, for all of the night."""
    return (f"frozen@{d.into(d.program.anneal, 'hold', 0.05, 0.4)}",), (
        Expected(("reading-frozen",), "wake", "frozen", ("hold-overrun", "not-cooling", *FALLS), within_s=5400,
                 wake_after_s=240),)
