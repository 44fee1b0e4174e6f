"""What the file knows of the energy that a kiln takes, for a firing that is to come."""

from __future__ import annotations

import sqlite_utils

from daemon.firing.energy.heat_balance import HeatUse
from daemon.kiln.planning.energy_ahead import PastEnergy
from daemon.store.wear import heat
from daemon.store.wear.heat import Heat

LOOKED_AT = 60
"""Firings of a kiln behind an estimate. [chosen: a year of a studio that fires weekly]"""


def use_of(kept: Heat) -> HeatUse | None:
    """Return what a firing took; None where nothing could be reckoned."""
    if kept.kelvin_h is None or kept.most_k is None:
        return None
    return HeatUse(kept.kelvin_h, kept.most_k, kept.full_k)


def past_energy(db: sqlite_utils.Database, kiln_id: int, power_kw: float | None) -> PastEnergy | None:
    """Return what is known of a kiln's energy; None where its rated power [kW] was not given."""
    if power_kw is None:
        return None
    meters = heat.meters(db, kiln_id)
    uses = {number: use for number, one in heat.of_kiln(db, kiln_id, LOOKED_AT).items()
            if (use := use_of(one)) is not None}
    return PastEnergy(power_kw, list(uses.values()),
                      [(use, meters[number]) for number, use in uses.items() if number in meters])
