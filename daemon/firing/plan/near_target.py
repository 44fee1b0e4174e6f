"""How closely a planned target can be told from the readings of one probe."""

from __future__ import annotations

NEAR_KNOWN_K, NEAR_UNKNOWN_K = 8.0, 14.0
"""A reading this close to a planned target may stand at it [K]: where the usual difference of probe and plan is
known, and where it is not. [tuned: by trial on the bench, study not kept]"""


def near_k(*, known: bool) -> float:
    """Return how closely a target can be told from the readings [K], the usual difference ``known`` or not."""
    return NEAR_KNOWN_K if known else NEAR_UNKNOWN_K
