"""What is known of a firing before its first reading."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from daemon.firing.energy.known_kiln import KnownKiln
from daemon.firing.plan.plan import Plan
from daemon.firing.tracking.offset_history import OffsetBands
from daemon.glass.materials import Glass

DEFAULT_GLASS, DEFAULT_THICKNESS_MM = "90", 6.0
"""Taken where nobody said what is in the kiln: the glass, and its thickness [mm]. [common practice]"""
THINNEST_MM, THICKEST_MM = 0.5, 300.0
"""What a load may measure [mm]. [common practice: thinner than any sheet, thicker than any kiln-formed work]"""


class Reads(NamedTuple):
    """The units in which the owner reads."""

    unit: str = "C"
    """Of the texts, "C" or "F"."""
    key_unit: str = ""
    """Of the lines to key in: the unit of the kiln's controller; as ``unit`` where empty."""


@dataclass(frozen=True)
class Setup:
    """What is known of a firing before its first reading.

    Attributes
    ----------
    plan
        The plan, or None where the maker chose none.
    glass
        The glass of the load.
    thickness_mm
        Thickest piece of the load [mm].
    faces
        How many faces cool, 1 (on a shelf) or 2.
    offset_k
        Probe minus plan [K] as the owner knows it; subtracted everywhere. None where unknown.
    unit
        The unit the owner reads, "C" or "F", for the texts.
    key_unit
        The unit of the kiln's controller, "C" or "F", for the lines to key in; as ``unit`` where empty.
    thinner_mm
        Thicknesses of the other pieces [mm], each judged as a slab of its own.
    above_c
        Temperatures to count the minutes above, besides the usual ones [°C].
    others
        The other plans the maker has written down; the controller may run one of them.
    usual_by_band
        What past firings of this kiln and probe have shown the readings to differ by from the plan [K], less the
        owner's ``offset_k``.
    left
        The plans that were left where lines were keyed in, the first one first; ``plan`` is the one from the last
        such lines on (see daemon.firing.told_before).
    is_empty
        Whether nothing but shelves is in the kiln: then nothing is said of any glass.
    was_watched
        False of a firing that is taken in from a file after it was over: its alarms told nobody anything.
    kiln
        What earlier firings taught of this kiln when the firing began; None where that was too little.
    """

    plan: Plan | None
    glass: Glass
    thickness_mm: float = DEFAULT_THICKNESS_MM
    faces: int = 1
    offset_k: float | None = None
    unit: str = "C"
    thinner_mm: tuple[float, ...] = ()
    above_c: tuple[float, ...] = ()
    others: tuple[Plan, ...] = ()
    usual_by_band: OffsetBands = field(default_factory=dict)
    key_unit: str = ""
    left: tuple[Plan, ...] = ()
    was_watched: bool = True
    is_empty: bool = False
    kiln: KnownKiln | None = None

    @property
    def thicknesses_mm(self) -> tuple[float, ...]:
        """Return every thickness of the load [mm], the thickest first."""
        return (self.thickness_mm, *self.thinner_mm)

    @property
    def glass_or_none(self) -> Glass | None:
        """Return the glass of the load; None of a kiln with nothing but shelves in it."""
        return None if self.is_empty else self.glass
