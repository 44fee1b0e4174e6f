"""A probe as its owner keeps it: one that read far off in a hold, or swung wildly, was moved or sheathed long ago.

The kiln is fired once quickly, empty of mishaps, to a fusing temperature and held there. What the probe then reads
against the set-point is brought to an offset that an owner lives with. What it reads in a climb, after an unpowered
fall or in the cold stays as it comes.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random

from simulations.plant.controller import Segment
from simulations.second_plant.firing import STEP_S, Bench, Plant

TRIED_C = 760.0
"""The quick firing holds here [°C]. [chosen: between a tack and a full fuse]"""
TRIED_C_PER_H = 400.0
"""It climbs at this rate [°C/h]. [chosen: so fast as kilns can]"""
TRIED_STEP_S = 20.0
"""Its step in the climb [s]. [chosen: it is thrown away]"""
SETTLES_S, WATCHED_S = 900.0, 600.0
"""It settles in the hold for the first, and the probe is watched for the second [s].
[chosen: some cycles of power]"""
LIVED_WITH_K, MOVED_OVER_K = 5.0, 13.0
"""Standard deviation of the offsets that owners live with, and what none does [K]. [common practice]"""
SWINGS_K = 10.0
"""A probe whose reading swings by more from end to end gets a sheath [K]. [from memory: 3 to 8 K are usual]"""
SHEATH_M, SHEATH_LAG_S = 0.006, 60.0
"""The sheath's diameter [m] and lag [s]. [common practice: 6 mm ceramic]"""


def installed(bench: Bench, rng: Random) -> Bench:
    """Return the bench with a probe that its owner has kept."""
    lived_with_k = max(-MOVED_OVER_K, min(MOVED_OVER_K, rng.gauss(0.0, LIVED_WITH_K)))
    offset_k, swing_k = _tried(bench)
    if swing_k > SWINGS_K:
        sheathed = replace(bench.probe, diameter_m=SHEATH_M, lag_s=SHEATH_LAG_S)
        bench = replace(bench, probe=sheathed)
        offset_k, _ = _tried(bench)
    error_k = bench.probe.error_k + lived_with_k - offset_k
    return replace(bench, probe=replace(bench.probe, error_k=error_k))


def _tried(bench: Bench) -> tuple[float, float]:
    """Return how much too high the probe reads in a hold, and how far it swings there [K]."""
    tried = replace(bench, start_s=0.0, start_c=bench.room_c, habits=replace(
        bench.habits, clock="near", near_k=15.0, waits_k=20.0))
    plant = Plant(tried, (Segment(TRIED_C_PER_H, TRIED_C, 1e6),), (), 6.0, TRIED_STEP_S)
    while plant.controller.part != "hold" and plant.t_s < 10 * 3600.0:
        plant.advance()
    plant.step_s = STEP_S
    settled_s = plant.t_s + SETTLES_S
    seen = []
    while plant.t_s < settled_s + WATCHED_S:
        plant.advance()
        if plant.t_s > settled_s:
            seen.append(plant.probe.reads_c)
    return sum(seen) / len(seen) - TRIED_C, max(seen) - min(seen)
