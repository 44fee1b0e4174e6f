"""An ordinary fuse, two findings, and how one of them is ranked, for the tests of what follows from a finding."""

from __future__ import annotations

from daemon.firing.consequence import weigh
from daemon.firing.events import Rank
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.watches.cooling_too_fast import CoolingTooFast
from daemon.firing.watches.heating_too_fast import HeatingTooFast
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]
TOP, ANNEAL = 3, 5
HELD_MIN = {6.0: 60.0, 12.0: 120.0, 19.0: 190.0}
"""What a plan by the workshop's rule holds: ten minutes a millimetre."""
COOLS = CoolingTooFast(110.0, 60.0, 80.0, 500.0, 1, 438.6, True, (196.6, 786.6))
CLIMBS = HeatingTooFast(500.0, 200.0, 300.0, 540.0)


def plan_for(mm: float, fall: float | None = None) -> Plan:
    """Return a fuse of that thickness; from its top it falls freely, or by ``fall`` [°C/h]."""
    return Plan("Fuse", "C", (
        Step(300.0, 600.0, 1800.0), Step(300.0, 800.0, 600.0), Step(fall, 510.0, 60.0 * HELD_MIN[mm]),
        Step(60.0, 400.0)))


def weighed(finding, view) -> Rank:
    (found,) = weigh([finding], view)
    return found.rank
