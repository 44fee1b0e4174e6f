"""The kiln, learned from its past firings: how it falls, what its elements can do, how long its controller waits."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from statistics import median

from daemon.kiln.climbs import climbs_of, power, waits_s_per_k
from daemon.kiln.falls import last_fall, thermal_of
from daemon.kiln.for_watches import for_watches
from daemon.kiln.foresight import BAND_DEVIATIONS, foresee
from daemon.kiln.kiln_model import Difference, KilnModel, PartKind, kind_of
from daemon.kiln.past_firing import PastFiring
from daemon.kiln.slowing import slows
from daemon.kiln.spread import PRIOR_WEIGHT, times_prior

_PRIOR_DIFFERENCES = {
    PartKind.CLIMB: Difference(0.0, 0.06, 120.0), PartKind.HOLD: Difference(0.0, 0.02, 120.0),
    PartKind.FALL: Difference(0.0, 0.03, 120.0), PartKind.FREE_FALL: Difference(0.0, 0.12, 180.0),
    PartKind.LAST_FALL: Difference(0.0, 0.12, 900.0)}
"""How far a part may last longer or shorter than foreseen before any firing is known: by a share of itself and by so
much time [1, s]. [tuned: kilns of the bench, seeds 0 to 39 of benchmarks.foresight]"""
_STUDENT = (1.886, 1.638, 1.533, 1.476, 1.440, 1.415, 1.397, 1.383, 1.372)
"""Eight of ten lie within so many deviations, where few nights show how large one is: from 2 degrees of freedom on,
to 10. [source: tables of Student's distribution, 0.90 one-sided]"""
_CHI2_MEDIAN = 0.455
"""Median of a squared normal deviate. [source: tables of the chi-squared distribution, one degree of freedom]"""


def learn(past: Sequence[PastFiring]) -> KilnModel | None:
    """Return what firings teach of a kiln; None without any.

    Parameters
    ----------
    past
        Whole firings with the probe, elements and lining that are in now; a dozen is plenty.
    """
    if not past:
        return None
    thermal = thermal_of(past)
    climbs = climbs_of(past, thermal)
    greatest, is_known = power(climbs)
    found = KilnModel(thermal, greatest, is_known, waits_s_per_k(climbs), 0.0, {}, len(past), slows(past),
                      for_watches(past, thermal))
    began = [firing.ran[0].start_s for firing in past if firing.ran]
    return found._replace(starts_s=median(began) if began else 0.0, differences=_differences(past, found))


def _differences(past: Sequence[PastFiring], model: KilnModel) -> dict[PartKind, Difference]:
    """Return how parts differed from what the model foresees of them, by kind."""
    seen: dict[PartKind, list[tuple[float, float]]] = {kind: [] for kind in PartKind}
    for firing in past:
        foreseen = {part.part: part for part in foresee(
            firing.planned, model, firing.trace[0][1], room_c=firing.room_c).parts}
        for ran in firing.ran:
            part = foreseen.get(ran.part)
            kind = kind_of(firing.planned, ran.part)
            if part is not None and kind is not PartKind.LAST_FALL and part.slow_from_c is None:
                seen[kind].append((ran.took_s - (part.end_s - part.start_s), part.end_s - part.start_s))
        seen[PartKind.LAST_FALL] += last_fall(firing, model.thermal)
    found = {kind: _difference(_PRIOR_DIFFERENCES[kind], seen[kind]) for kind in PartKind}
    fall, wider = found[PartKind.LAST_FALL], few_nights(len(seen[PartKind.LAST_FALL]))
    return found | {PartKind.LAST_FALL: Difference(fall.longer_s, wider * fall.off_share, wider * fall.off_s)}


def few_nights(count: int) -> float:
    """Return how much wider the next night spreads than so many did, to which the kiln was fitted."""
    dof = min(max(2, count - 1), len(_STUDENT) + 1)
    return _STUDENT[dof - 2] / BAND_DEVIATIONS * sqrt((dof + 1) / dof)


def _difference(prior: Difference, seen: Sequence[tuple[float, float]]) -> Difference:
    """Return a kind's difference: what was believed, and what was seen [(s longer, s foreseen)]."""
    if not seen:
        return prior
    weight = len(seen) / (len(seen) + PRIOR_WEIGHT)
    longer_s = weight * median(longer for longer, _ in seen)
    squares = [((longer - longer_s) / sqrt((prior.off_share * took_s) ** 2 + prior.off_s**2)) ** 2
               for longer, took_s in seen]
    times = times_prior(squares)
    return Difference(longer_s, times * prior.off_share, times * prior.off_s)
