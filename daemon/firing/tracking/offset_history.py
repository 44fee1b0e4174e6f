"""How a probe usually reads against the plan, by band of temperature, as past firings in the same kiln show it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import NamedTuple

from daemon.firing.events import Part

BANDS_C = ((0.0, 400.0), (400.0, 600.0), (600.0, 720.0), (720.0, 2000.0))
"""Bands of temperature for which an offset is learned: below, around and above the anneal, and the top [°C].
[chosen: a plan's holds fall into different bands]"""
SETTLED_AFTER_S = 600.0
"""A hold shorter than this may still be settling and teaches nothing [s].
[tuned: by trial on the bench, study not kept]"""
BELIEVABLE_K = 20.0
"""A probe that reads lower than the plan by more shows a fault or a wrong plan, not an offset [K].
[tuned: by trial on the bench, study not kept]"""
READS_HIGH_K = 30.0
"""A probe may read so much higher than the plan [K]. It often sees more of the elements than the controller's own
sensor does; one that reads low may be right, and the kiln too cold. [common practice: two sound probes of type K,
class 2, may differ by 12 K at 800 °C, and top and bottom of a kiln by 20 K; both together are 32 K]"""
CREPT_K = 5.0
"""A hold that moved by more was approached slowly, or had been left unnoticed: the controller did not hold it there
[K]. [tuned: by trial on the bench, study not kept]"""
LEAST_FIRINGS = 3
"""So many firings must agree. [chosen: the median of fewer is no defence against one that went wrong]"""


class HoldOffset(NamedTuple):
    """What one hold shows of the probe."""

    target_c: float
    """What the plan asked [°C]."""
    difference_k: float
    """Mean of the readings less that [K]."""
    length_s: float
    """How long it was held [s]."""
    moved_k: float = 0.0
    """By how much the readings moved in it [K]."""

    @property
    def settled(self) -> bool:
        """Return whether it was long and steady enough, and its difference small enough to be an offset."""
        return (self.length_s >= SETTLED_AFTER_S and -BELIEVABLE_K <= self.difference_k <= READS_HIGH_K
                and abs(self.moved_k) <= CREPT_K)


def hold_offset(part: Part, target_c: float, until_s: float, owner_offset_k: float = 0.0) -> HoldOffset | None:
    """Return what a part shows of the offset; None where it is no hold, or one without readings.

    Parameters
    ----------
    part
        The part as it was run.
    target_c
        Its planned temperature [°C].
    until_s
        Now [s]; what a hold that still goes on has shown until then.
    owner_offset_k
        What was subtracted from the readings, and is put back here [K].
    """
    if part.part != "hold" or part.mean_c is None:
        return None
    length_s = (part.end_s if part.end_s is not None else until_s) - part.start_s
    return HoldOffset(target_c, part.mean_c + owner_offset_k - target_c, length_s,
                (part.rate_c_per_h or 0.0) * length_s / 3600)


OffsetBands = Mapping[tuple[float, float], float]
"""The usual difference [K] of the bands that are known."""


def offsets_by_band(holds: Iterable[HoldOffset]) -> dict[tuple[float, float], float]:
    """Return probe minus plan [K] of one firing by band: the mean over its settled holds there, by their length."""
    found = {}
    settled = [hold for hold in holds if hold.settled]
    for band in BANDS_C:
        here = [hold for hold in settled if band[0] <= hold.target_c < band[1]]
        if here:
            found[band] = sum(h.difference_k * h.length_s for h in here) / sum(h.length_s for h in here)
    return found


def usual_offsets(firings: Sequence[Iterable[HoldOffset]]) -> dict[tuple[float, float], float]:
    """Return the usual difference [K] of every band that LEAST_FIRINGS or more have shown: their median."""
    by_firing = [offsets_by_band(holds) for holds in firings]
    found = {}
    for band in BANDS_C:
        shown = [one[band] for one in by_firing if band in one]
        if len(shown) >= LEAST_FIRINGS:
            found[band] = median(shown)
    return found


def usual_offset_at(bands: OffsetBands, temp_c: float) -> float | None:
    """Return the usual difference [K] at ``temp_c``: its own band's, else the nearest one's; None without any.

    Thermocouples drift and draughts pull more with the temperature, so a neighbour tells better than nothing.
    """
    if not bands:
        return None
    nearest = min(bands, key=lambda band: max(band[0] - temp_c, temp_c - band[1], 0.0))
    return bands[nearest]
