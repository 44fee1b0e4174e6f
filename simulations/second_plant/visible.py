"""When a part's beginning leaves a mark in the watched curve: before that nobody can tell it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from math import inf

from simulations.marks import AFTER_S, BEFORE_S, is_unmarked
from simulations.truth import Truth

LEFT_K = 1.5
"""A boundary is seen once the curve has left that line by this, or by twice a reading's noise [K].
[chosen: what an eye sees on paper that shows a reading's noise]"""


def with_visible_starts(truth: Truth, noise_k: float, duties: Sequence[float]) -> Truth:
    """Return the truth with every part told from when to when its beginning is rightly placed.

    From when it happened until the noise-free curve has left the straight line of the minutes before. A boundary
    about which the power stays off, or full, leaves no mark of its own: it is never seen (infinite).

    Parameters
    ----------
    truth
        Of the firing.
    noise_k
        White noise of one reading, standard deviation [K].
    duties
        Share of full power at every row of the truth.
    """
    rows = [(t_s, c) for t_s, c in zip(truth.times_s, truth.probe_c, strict=True) if c is not None]
    times, temps = [t_s for t_s, _ in rows], [c for _, c in rows]
    left_k = max(LEFT_K, 2 * noise_k)
    parts = tuple(
        replace(part, bend_s=inf if is_unmarked(part.start_s, truth.times_s, duties) else
                _seen_s(part.start_s, times, temps, left_k)) for part in truth.parts)
    return replace(truth, parts=parts)


def _seen_s(start_s: float, times: list[float], temps: list[float], left_k: float) -> float:
    """Return when the curve has left the line of the minutes before ``start_s`` by ``left_k``."""
    first, here = bisect_left(times, start_s - BEFORE_S), bisect_left(times, start_s)
    if here >= len(times) or here - first < 2:
        return start_s
    t0_s, c0 = times[here], temps[here]
    rate = (c0 - temps[first]) / (t0_s - times[first])
    for t_s, c in zip(times[here:], temps[here:], strict=True):
        if t_s > start_s + AFTER_S:
            break
        if abs(c - c0 - rate * (t_s - t0_s)) > left_k:
            return t_s
    return min(start_s + AFTER_S, times[-1])
