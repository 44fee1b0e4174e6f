"""The energy that a foreseen firing will take, by the same reckoning as that of firings that were."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot
from statistics import median
from typing import NamedTuple

from daemon.firing.energy.estimate import Estimate, estimate
from daemon.firing.energy.heat_balance import HeatUse, heat_use
from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.kiln.foresight import Foresight, foresee
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.past_firing import PastFiring

_FORESEEN_SHARE = 0.12
"""Half the width that foreseeing adds to the spread, as an independent error [1]. [chosen: the load of the night
differs by a third, and is a third of the heat]"""
_COMPARED = 4
"""So many firings, the latest, show how the reckoning of a foreseen curve differs from that of a read one.
[chosen: bounds the work; each takes some tenths of a second of a Pi]"""


class PastEnergy(NamedTuple):
    """What is known of the energy that a kiln takes."""

    power_kw: float
    """Its rated power [kW]."""
    uses: Sequence[HeatUse] = ()
    """What its firings took."""
    metered: Sequence[tuple[HeatUse, float]] = ()
    """Those for which a meter was read, with what it showed [kWh]."""
    times: float = 1.0
    """How much more is reckoned along a read curve than along a foreseen one (see ``read_over_foreseen``) [1]."""


def read_over_foreseen(past: Sequence[PastFiring], model: KilnModel) -> float:
    """Return by how much the heat of a firing, reckoned along what was read, is more than along what is foreseen.

    The walls of a foreseen kiln are one body, those of a real one take heat in layer by layer, so that the same
    reckoning finds another wall in both. Firings that were show by how much: the median of the latest ones.

    Parameters
    ----------
    past
        What the kiln was learned from.
    model
        What was learned of it.
    """
    found = []
    for firing in past[-_COMPARED:]:
        parts = [Part(ran.part, firing.planned[ran.part].step, firing.planned[ran.part].part, ran.start_s, ran.end_s)
                 for ran in firing.ran]
        read = heat_use(firing.trace, firing.planned, parts)
        foreseen = _use(firing.planned, foresee(firing.planned, model, firing.trace[0][1], room_c=firing.room_c))
        if isinstance(read, HeatUse) and isinstance(foreseen, HeatUse):
            found.append(read.kelvin_h / foreseen.kelvin_h)
    return median(found) if found else 1.0


def energy_of(planned: Sequence[PlannedPart], found: Foresight, known: PastEnergy) -> Estimate | None:
    """Return the energy of a foreseen firing [kWh]; None where its curve does not show it.

    The foreseen curve is taken for a trace, and its parts for those that were found in it. The spread is wider than
    that of a firing that was.
    """
    use = _use(planned, found)
    if use is None:
        return None
    use = HeatUse(known.times * use.kelvin_h, known.times * use.most_k,
                  None if use.full_k is None else known.times * use.full_k)
    told = estimate(use, known.uses or [use], known.power_kw, known.metered)
    low, high = (told.likely_kwh * hypot(1 - edge / told.likely_kwh, _FORESEEN_SHARE)
                 for edge in (told.low_kwh, told.high_kwh))
    return Estimate(max(0.0, told.likely_kwh - low), told.likely_kwh, told.likely_kwh + high, told.basis)


def _use(planned: Sequence[PlannedPart], found: Foresight) -> HeatUse | None:
    parts = [Part(part.part, planned[part.part].step, planned[part.part].part, part.start_s, part.end_s)
             for part in found.parts]
    use = heat_use(found.curve, planned, parts)
    return use if isinstance(use, HeatUse) else None
