"""Which unit the figures of a plan on paper are in: as a line says, as was chosen, or as the figures suggest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SURELY_C_BELOW = 900.0
SURELY_F_ABOVE = 1000.0
"""A plan whose highest figure is below the first was written in °C, since 900 °F (482 °C) moves no glass; above the
second in °F, since no glass is fused at 1000 °C. [common practice]"""
WORTH_A_PLAN = 450.0
"""A plan whose highest figure is below this suggests no unit: it may only dry something. [common practice]"""


@dataclass(frozen=True, slots=True)
class ReadUnit:
    """A unit, and why.

    Attributes
    ----------
    unit
        ``C`` or ``F``.
    why
        A sentence for the reader.
    wrong, line
        What contradicts itself, and where; empty and 0 where nothing does.
    """

    unit: str
    why: str
    wrong: str = ""
    line: int = 0


def unit_of(said: Sequence[tuple[int, str]], targets: Sequence[float], chosen: str, owner_unit: str) -> ReadUnit:
    """Return the unit of a paper.

    Parameters
    ----------
    said
        (line, unit) of each line that names one.
    targets
        The targets as written.
    chosen
        "C" or "F" where the maker chose one, else empty.
    owner_unit
        What is taken where nothing else says it.
    """
    if said:
        line, unit = said[0]
        other = next(((at, name) for at, name in said if name != unit), None)
        if other:
            return ReadUnit(unit, f"Read in °{unit}, as line {line} says.",
                            f"Line {other[0]}: it says °{other[1]}, but line {line} says °{unit}. "
                            "Write the whole plan in one unit.", other[0])
        if chosen and chosen != unit:
            return ReadUnit(unit, f"Read in °{unit}, as line {line} says, though °{chosen} is chosen.")
        return ReadUnit(unit, f"Read in °{unit}, as line {line} says.")
    if chosen:
        return ReadUnit(chosen, f"Read in °{chosen}, as chosen.")
    highest = max(targets, default=0.0)
    if highest > SURELY_F_ABOVE:
        return ReadUnit("F", f"Read in °F: no glass is fused at {highest:g} °C. If it is °C, choose that.")
    if WORTH_A_PLAN <= highest < SURELY_C_BELOW:
        return ReadUnit("C", f"Read in °C: {highest:g} °F moves no glass. If it is °F, choose that.")
    return ReadUnit(owner_unit, f"Read in °{owner_unit}, the unit of this page. If it is not, choose the other one.")
