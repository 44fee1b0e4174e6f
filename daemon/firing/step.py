"""The one decision: ``step(state, entry) -> (state, events)``.

Live, replayed, rehearsed and re-judged firings all run through here with the same stored entries, so
they come to the same events. The state belongs to its firing and is used up by the call: go on with
the one returned. It is never stored; after a restart the daemon steps through the stored entries
again.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.events import Event, Said, Sample, Standing
from daemon.firing.plan import Plan
from daemon.glass.materials import Glass


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
    offset_c
        Probe minus plan [°C] as the owner knows it; subtracted everywhere. None where unknown.
    """

    plan: Plan | None
    glass: Glass
    thickness_mm: float = 6.0
    faces: int = 1
    offset_c: float | None = None
    unit: str = "C"
    """The unit the owner reads, for the texts."""


class State:
    """Everything the decision remembers of one firing; bounded whatever its length."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup


def begin(setup: Setup) -> State:
    """Return the state of a firing that has no reading yet."""
    return State(setup)


def step(state: State, entry: Sample | Said) -> tuple[State, tuple[Event, ...]]:
    """Take one entry in time order and return the state after it with what it brought about."""
    return state, ()


def standing(state: State) -> Standing:
    """Return where the firing stands after the last entry."""
    return Standing(
        t_s=0.0, temp_c=None, rate_c_per_h=None, part=None, confidence=0.0, planned_c=None,
        finished=False, sentence="No reading yet.",
    )
