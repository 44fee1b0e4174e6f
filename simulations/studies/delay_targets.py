"""How soon a watcher must tell of the fault of a row, and the least delay that is possible."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DelayTarget:
    """Delays of a row from the true onset [min]; None where none is asked.

    Attributes
    ----------
    floor
        What a detector needs that knows the changed rate beforehand.
    median, p95
        Median and 95th percentile a watcher must keep to.
    at
        Which moment is meant: "raised" or "woke".
    """

    floor: float | None = None
    median: float | None = None
    p95: float | None = None
    at: str = "raised"


DELAY_TARGETS = {
    "cooling-1.3": DelayTarget(12.5, 14, 22),
    "cooling-1.6": DelayTarget(5.9, 7, 10, "woke"),
    "cooling-2.5": DelayTarget(2.3, 4.5, 6.5, "woke"),
    "cooling-4": DelayTarget(None, 3, 5, "woke"),
    "brisk-1.3": DelayTarget(7.5, 8.4, 13.2),
    "brisk-1.6": DelayTarget(3.5, 4.2, 6.0, "woke"),
    "brisk-2.5": DelayTarget(1.4, 2.7, 3.9, "woke"),
    "brisk-4": DelayTarget(None, 1.8, 3.0, "woke"),
    "lid": DelayTarget(p95=1.0),
    "open": DelayTarget(p95=1.0),
    "power-gone": DelayTarget(p95=3.0),
    "power-gone-woke": DelayTarget(p95=6.0, at="woke"),
    "runaway": DelayTarget(p95=1.0, at="woke"),
    "stall": DelayTarget(p95=6.0),
    "anneal-low": DelayTarget(p95=12.0, at="woke"),
    "anneal-skipped": DelayTarget(p95=8.0, at="woke"),
}
"""Targets by row. Rows "brisk" cool at 110 °C/h and have 0.6 of the delays of those that cool at 55."""
