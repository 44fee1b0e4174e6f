"""What changed in a kiln, by what each change does to what the firings show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import erfc, exp, sqrt
from typing import Literal, NamedTuple

Cause = Literal["elements", "lining", "probe", "chance"]
CHANNELS = ("power", "loss", "probe_k")
_TRACES: Mapping[Cause, tuple[float, float, float]] = {
    "elements": (-1.0, 0.0, 0.0), "lining": (-0.6, 0.6, 0.0), "probe": (0.0, 0.0, 1.0)}
"""What a change of one does to power, loss and probe. A greater loss is taken for less power as well, because the
kiln is compared with its earlier figures. [tuned: kilns of the bench, seeds 1000 to 1026 of benchmarks.wear: what a
loss greater by 15 % shows in the falls, and in the climbs]"""
_SIZES: Mapping[Cause, float] = {"elements": 0.12, "lining": 0.15, "probe": 5.0}
"""How large changes usually are, one deviation from none [logarithm, logarithm, K]. [common practice: elements are
changed when a fifth of their power is gone]"""


class Difference(NamedTuple):
    """By how much a figure is another than before, and one deviation of that."""

    by: float
    off: float


def chances(differences: Sequence[Difference | None]) -> dict[Cause, float]:
    """Return how likely each cause is, all being as likely beforehand; they add up to 1.

    Parameters
    ----------
    differences
        Of power, loss and probe, as in CHANNELS; None where a figure can't be compared.

    Notes
    -----
    Each cause moves the figures along a line, by an unknown size that is half-normally distributed. The integral over
    the size is a closed form (a normal density times the normal distribution function).
    """
    weights: dict[Cause, float] = {"chance": 1.0}
    for cause, trace in _TRACES.items():
        sides = (1.0, -1.0) if cause == "probe" else (1.0,)
        weights[cause] = sum(_weight([side * each for each in trace], differences, _SIZES[cause])
                             for side in sides) / len(sides)
    whole = sum(weights.values())
    return {cause: weight / whole for cause, weight in weights.items()}


def _weight(trace: Sequence[float], differences: Sequence[Difference | None], size: float) -> float:
    """Return how many times likelier the differences are by a change along ``trace`` than by chance alone."""
    pairs = [(along, found) for along, found in zip(trace, differences, strict=True) if found is not None]
    precision = 1 / size**2 + sum((along / found.off) ** 2 for along, found in pairs)
    pull = sum(along * found.by / found.off**2 for along, found in pairs)
    likely = 0.5 * erfc(-pull / sqrt(2 * precision))
    return 2 / (size * sqrt(precision)) * exp(min(700.0, pull**2 / (2 * precision))) * likely
