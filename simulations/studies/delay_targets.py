"""What is promised of a row of the study's table, beside what a detector that knows the changed rate would need."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Promise:
    """What is promised of a row, in minutes from the true onset; None where nothing is."""

    floor: float | None = None
    median: float | None = None
    p95: float | None = None
    at: str = "raised"
    """Which moment is meant: "raised" or "woke"."""


PROMISED = {
    "cooling-1.3": Promise(12.5, 14, 22),
    "cooling-1.6": Promise(5.9, 7, 10, "woke"),
    "cooling-2.5": Promise(2.3, 4.5, 6.5, "woke"),
    "cooling-4": Promise(None, 3, 5, "woke"),
    "brisk-1.3": Promise(7.5, 8.4, 13.2),
    "brisk-1.6": Promise(3.5, 4.2, 6.0, "woke"),
    "brisk-2.5": Promise(1.4, 2.7, 3.9, "woke"),
    "brisk-4": Promise(None, 1.8, 3.0, "woke"),
    "lid": Promise(p95=1.0),
    "open": Promise(p95=1.0),
    "power-gone": Promise(p95=3.0),
    "power-gone-woke": Promise(p95=6.0, at="woke"),
    "runaway": Promise(p95=1.0, at="woke"),
    "stall": Promise(p95=6.0),
    "anneal-low": Promise(p95=12.0, at="woke"),
    "anneal-skipped": Promise(p95=8.0, at="woke"),
}
"""Floors and reaches by row. The brisk ones cool at 110 °C/h: 0.6 of the others."""
