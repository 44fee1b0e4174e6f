"""What the file knows of a firing before its first reading: its plan, its pieces, other plans, how the probe read.

Only what was there when the firing began counts, so that judging it again comes to the same.
"""

from __future__ import annotations

import logging
from collections.abc import Collection
from dataclasses import replace

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.energy.known_kiln import KnownKiln
from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.setup import DEFAULT_GLASS, Reads, Setup
from daemon.firing.tracking.offset_history import HoldOffset, OffsetBands, hold_offset, usual_offsets
from daemon.glass.materials import FAMILIES
from daemon.kiln.model_text import known_from_text
from daemon.lifecycle.broke_off import broken_off
from daemon.store import firings, found_parts, pieces, plans
from daemon.store.chain import source_file
from daemon.store.firings import Firing
from daemon.store.plans import StoredPlan
from daemon.store.wear import known_kilns

LOG = logging.getLogger(__name__)
MOST_BEFORE = 12
"""Firings behind the usual difference at most. [chosen: older ones tell of another age of the probe]"""
MOST_OTHERS = 100
"""Plans compared with the chosen one at most. [chosen: bounds the work of a step; a studio has some dozens]"""
_MOST_SLABS = 7
"""More thicknesses in one load than this are not reckoned each. [chosen: bounds the work of a reading]"""


def known_setup(db: sqlite_utils.Database, row: Firing, reads: Reads) -> Setup:
    """Return what the decision needs to know of a firing, as the file has it, for an owner who ``reads`` so."""
    left = left_of(db, row)
    known = setup_of(row, plan_of(db, row), reads, thinner_of(db, row), others_of(db, row, left), usual_of(db, row))
    return replace(known, left=tuple(left.values()), was_watched=source_file.name_of(db, row.firing_id) is None,
                   kiln=kiln_of(db, row))


def kiln_of(db: sqlite_utils.Database, row: Firing) -> KnownKiln | None:
    """Return what the watches knew of the kiln when a stored firing began; None where that was too little."""
    kept = known_kilns.told(db, row.firing_id)
    return None if kept is None else known_from_text(kept)


def usual_of(db: sqlite_utils.Database, row: Firing) -> dict[tuple[float, float], float]:
    """Return how the probe usually reads against the plan [K] by band, less the owner's own correction.

    Shown by the firings in this kiln, on this probe, that had ended when this one began and had not broken off; the
    latest of them, since a probe that was moved reads differently from then on.
    """
    before = firings.ended_before(db, row, MOST_BEFORE)
    left_out = broken_off(db, before)
    usual_c = usual_offsets([holds_of(db, firing) for firing in before if firing.firing_id not in left_out])
    return {band: k - (row.offset_c or 0.0) for band, k in usual_c.items()}


def holds_of(db: sqlite_utils.Database, row: Firing) -> list[HoldOffset]:
    """Return what the holds of an ended firing show, as the probe itself read."""
    plan = plan_of(db, row)
    planned = planned_parts(plan) if plan is not None else ()
    found = (hold_offset(part, planned[part.index].to_c, part.start_s, row.offset_c or 0.0)
             for part in found_parts.parts(db, row.firing_id) if 0 <= part.index < len(planned))
    return [hold for hold in found if hold is not None]


def plan_of(db: sqlite_utils.Database, row: Firing) -> Plan | None:
    """Return the firing's plan; None where it has none, or one that can't be read any more."""
    if row.plan_id is None:
        return None
    stored = plans.plan(db, row.plan_id)
    return None if stored is None else _parsed(stored)


def left_of(db: sqlite_utils.Database, row: Firing) -> dict[int, Plan]:
    """Return the plans that a firing left where lines were keyed in, by their numbers, the first one first.

    Empty where one of them can't be read: then the whole firing is judged by its present plan.
    """
    found: dict[int, Plan] = {}
    stored = None if row.plan_id is None else plans.plan(db, row.plan_id)
    plan = None if stored is None else _parsed(stored)
    while stored is not None and stored.only_for == row.firing_id:
        if plan is None or plan.keyed_in is None or plan.keyed_in.left is None or plan.keyed_in.left in found:
            break
        stored = plans.plan(db, plan.keyed_in.left)
        plan = None if stored is None else _parsed(stored)
        if stored is None or plan is None:
            return {}
        found = {stored.plan_id: plan, **found}
    return found


def thinner_of(db: sqlite_utils.Database, row: Firing) -> tuple[float, ...]:
    """Return the thicknesses of a firing's pieces below the one it is watched by [mm], the thickest first."""
    found = {piece.thickness_mm for number in row.piece_ids if (piece := pieces.piece(db, number)) is not None}
    return tuple(sorted((mm for mm in found if mm < row.thickness_mm), reverse=True)[:_MOST_SLABS])


def others_of(db: sqlite_utils.Database, row: Firing, left: Collection[int] = ()) -> tuple[Plan, ...]:
    """Return the other plans that were written down when the firing began, without those of the numbers ``left``."""
    stored = [found for found in plans.plans_then(db, row.started_utc)
              if found.plan_id != row.plan_id and found.plan_id not in left]
    parsed = (_parsed(found) for found in stored[:MOST_OTHERS])
    return tuple(plan for plan in parsed if plan is not None)


def _parsed(stored: StoredPlan) -> Plan | None:
    try:
        return stored.parsed()
    except BadInput as err:
        LOG.error("A stored plan can't be read any more: %s", err.text)
        return None


def setup_of(row: Firing, plan: Plan | None, reads: Reads, thinner_mm: tuple[float, ...] = (),
             others: tuple[Plan, ...] = (), usual_by_band: OffsetBands | None = None) -> Setup:
    """Return what the decision needs to know of a firing.

    Parameters
    ----------
    row
        The firing; an unknown glass is taken for the ordinary one.
    plan
        Its plan, parsed.
    reads
        The units the owner reads.
    thinner_mm
        Thicknesses of its thinner pieces [mm].
    others
        The other plans written down when it began.
    usual_by_band
        What the firings before it have shown the probe to differ by [K].
    """
    glass = FAMILIES.get(row.glass, FAMILIES[DEFAULT_GLASS])
    return Setup(plan, glass, row.thickness_mm, row.faces, row.offset_c, reads.unit, thinner_mm, others=others,
                 usual_by_band=usual_by_band or {}, key_unit=reads.key_unit)
