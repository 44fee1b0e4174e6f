"""Kilowatt hours of a firing, as an estimate with its spread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import median

from daemon.firing.energy.heat_balance import HeatUse
from daemon.firing.energy.wall_heat import driving_k

HOLDS_C, ROOM_C = 800.0, 20.0
"""A kiln's share of power is told for holding this, in this room [°C]. [common practice: a full fuse]"""
LEAST_SHARE, MOST_SHARE = 0.2, 0.8
"""Share of its rated power that holds a kiln at HOLDS_C. [common practice: from a strong kiln to a tired one]"""
_HARDEST_SHARE = 0.9
"""Full power is at least this share of the largest g that was seen, which may have been reckoned too large.
[tuned: bench, docs/develop/decisions/054]"""
_SURE_SHARE = 0.9
"""What looked like full power was it where no firing passed it by more: it reached this share of the largest g.
[tuned: bench, docs/develop/decisions/054]"""
_HARDEST_OF = 3
"""It is the median of so many largest ones, where there are so many. [chosen: one firing may be reckoned badly]"""
_SPREAD_SHARE = 0.12
"""Half the width of the spread where full power was seen. [tuned: bench, docs/develop/decisions/054: mains and
elements differ from the rating, and the wall is not as simple]"""
_METERED_SHARE = 0.06
"""Half the width where a meter was read for other firings of the kiln. [tuned: bench, docs/develop/decisions/054]"""
_OUTER_SHARE = 0.1
"""A spread leaves out so much of the possible at each end. [chosen: it holds four of five]"""


class Basis(Enum):
    """What the scale of an estimate rests on, the surest first."""

    METER = "meter"
    """What a meter showed for firings of this kiln."""
    FULL_POWER = "full-power"
    """The kiln was seen with all its rated power."""
    USUAL = "usual"
    """What share of their power kilns usually need, and how hard this one was seen to climb."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """Energy of one firing [kWh]: four of five lie from ``low_kwh`` to ``high_kwh``."""

    low_kwh: float
    likely_kwh: float
    high_kwh: float
    basis: Basis


def estimate(use: HeatUse, of_kiln: Sequence[HeatUse], power_kw: float,
             metered: Sequence[tuple[HeatUse, float]] = ()) -> Estimate:
    """Return the energy of a firing.

    Parameters
    ----------
    use
        Of the firing.
    of_kiln
        Of all firings of the kiln that are known, this one among them.
    power_kw
        Rated power of the kiln [kW].
    metered
        Firings of the kiln for which a meter was read, with what it showed [kWh].
    """
    if metered:
        per_kelvin_h = median(kwh / other.kelvin_h for other, kwh in metered)
        return _about(use.kelvin_h * per_kelvin_h, _METERED_SHARE, Basis.METER)
    most_k = median(sorted((one.most_k for one in (use, *of_kiln)), reverse=True)[:_HARDEST_OF])
    seen_k = [one.full_k for one in of_kiln if one.full_k is not None and one.full_k > _SURE_SHARE * most_k]
    if seen_k:
        return _about(power_kw * use.kelvin_h / median(seen_k), _SPREAD_SHARE, Basis.FULL_POWER)
    held_k = driving_k(HOLDS_C, ROOM_C)
    low, high = LEAST_SHARE, max(LEAST_SHARE, min(MOST_SHARE, held_k / (_HARDEST_SHARE * most_k)))
    kwh, outer = power_kw * use.kelvin_h / held_k, _OUTER_SHARE * (high - low)
    return Estimate(kwh * (low + outer), kwh * (low + high) / 2, kwh * (high - outer), Basis.USUAL)


def _about(kwh: float, share: float, basis: Basis) -> Estimate:
    """Return an estimate whose spread is a share of it to each side."""
    return Estimate((1 - share) * kwh, kwh, (1 + share) * kwh, basis)
