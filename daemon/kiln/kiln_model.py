"""What is known of a kiln, as plain figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum
from typing import NamedTuple

from daemon.firing.energy.known_kiln import KnownKiln
from daemon.firing.energy.thermal import Thermal
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.natural_fall import is_unpowered
from daemon.firing.verdict.slowing import Slowing, by_power

FEW = 3
"""Fewer firings than this are said to be few. [chosen: from three on the figures of benchmarks.foresight hold]"""


class PartKind(Enum):
    """Parts that differ from the plan in the same way."""

    CLIMB = "climb"
    HOLD = "hold"
    FALL = "held fall"
    FREE_FALL = "free fall"
    LAST_FALL = "last fall"


class Difference(NamedTuple):
    """By how much parts of one kind last longer than foreseen."""

    longer_s: float
    off_share: float
    """One deviation, as a share of the part [1]; to be added to ``off_s`` as an independent error."""
    off_s: float
    """One deviation that does not grow with the part [s]."""


class KilnModel(NamedTuple):
    """One kiln with the probe, elements and lining that are in now."""

    thermal: Thermal
    power_k_per_s: float
    """How fast all the power alone would heat the chamber [K/s]."""
    is_power_known: bool
    """Whether a climb showed that the elements can do no more; else the kiln may be able to."""
    waits_s_per_k: float
    """By how much the controller makes each kelvin of a climb longer [s/K]."""
    starts_s: float
    """How long after the start press the climb begins [s]."""
    differences: Mapping[PartKind, Difference]
    firings: int
    """How many it was learned from."""
    slows: Slowing = by_power(0.0)
    """How the last fall becomes slower (daemon/kiln/slowing.py)."""
    for_watches: KnownKiln | None = None
    """What the watches may hold a night against, from the firings in which nothing was told; None where too little is
    known for that."""

    @property
    def is_rough(self) -> bool:
        """Return whether it was learned from so few firings that nobody can say how sure a forecast is."""
        return self.firings < FEW


def kind_of(planned: Sequence[PlannedPart], index: int) -> PartKind:
    """Return which kind a part of a plan is."""
    part = planned[index]
    if part.direction == 0:
        return PartKind.HOLD
    if part.direction > 0:
        return PartKind.CLIMB
    if index == len(planned) - 1:
        return PartKind.LAST_FALL
    return PartKind.FREE_FALL if is_unpowered(part) else PartKind.FALL
