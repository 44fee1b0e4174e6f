"""The invented firing that every kind's examples belong to: a full fuse of 6 mm, annealed at 516 °C."""

from __future__ import annotations

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import anneal_hold, planned_parts
from daemon.firing.recovery.recovery import Mender
from daemon.firing.speaker import Speaker
from daemon.glass.materials import FAMILIES

PLAN = Plan("Full fuse", "C", (
    Step(220.0, 620.0), Step(50.0, 670.0, 1800.0, "squeeze"), Step(250.0, 800.0, 600.0),
    Step(None, 516.0, 3600.0, "anneal"), Step(80.0, 461.0), Step(150.0, 406.0), Step(None, 40.0)))
TOP_RAMP, TOP, FALL_TO_ANNEAL, ANNEAL = 3, 4, 5, 6
"""Parts of the plan, by their index. [derived: counted in PLAN]"""
GLASS = FAMILIES["90"]
THICKNESS_MM, FACES = 6.0, 1
"""The load: its thickest piece [mm], and how many of its faces cool. [chosen: an ordinary plate on a shelf]"""


def speaker(unit: str = "C", thickness_mm: float = THICKNESS_MM, key_unit: str = "") -> Speaker:
    """Return who puts the examples into words, in ``unit`` ("C" or "F"), for a controller in ``key_unit``."""
    parts = planned_parts(PLAN)
    mender = Mender(parts, anneal_hold(parts, GLASS), GLASS, THICKNESS_MM, FACES)
    return Speaker(unit, thickness_mm, mender, key_unit)
