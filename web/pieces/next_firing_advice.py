"""What a piece's next firing must respect: advice of common practice from what it went through. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from daemon.firing.plan.plan import to_unit
from daemon.firing.units import Units
from daemon.glass.advice import heating_limit
from daemon.glass.common_practice import FUSED_C, brittle_below_c
from daemon.glass.materials import Glass
from daemon.store.outcomes import Word

SHAPED_C = (600.0, 700.0)
"""A later top in between is taken for a slump [°C]. [common practice]"""
_LOW_FIRE_C = 620.0
"""Hotter, low-fire colour fades or burns out [°C]. [common practice]"""
_SHELF_FACES = 1
"""How the piece will lie is not known, so the slower rate is told, of a piece on a shelf. [chosen: the safe one]"""
STANDING = "common practice; the data sheet of the glass comes first"


@dataclass(frozen=True, slots=True)
class Been:
    """One firing a piece went through."""

    date: str
    peak_c: float | None
    short_anneal: bool
    outcome: tuple[str, ...]


def respects(been: Sequence[Been], thickness_mm: float, glass: Glass, colour: str, unit: str) -> tuple[str, ...]:
    """Return what the next firing must respect, the weightiest first; ``been`` in the order they were.

    Parameters
    ----------
    been
        The firings it went through.
    thickness_mm
        Its thickest place [mm].
    glass
        Its glass.
    colour
        Enamel or decal on it: "", "high-fire" or "low-fire".
    unit
        "C" or "F".
    """
    def temp(temp_c: float) -> str:
        return f"{to_unit(temp_c, unit):.0f} °{unit}"

    found: list[str] = []
    last = been[-1] if been else None
    if last is not None and Word.CRACK in last.outcome:
        found.append("It came out cracked. Heat lets a crack run on: look at it under strong light first, and climb "
                     "as slowly as for twice its thickness, or leave it.")
    if last is not None and last.short_anneal:
        found.append(f"Its last anneal hold ({last.date}) was not whole. Stress may stand in it: look at it between "
                     "crossed polarisers, handle it with eye protection, and climb slowly.")
    fused = next((b for b in been if b.peak_c is not None and b.peak_c >= FUSED_C), None)
    if fused is not None:
        limit, _ = heating_limit(glass, thickness_mm, _SHELF_FACES)
        found.append(
            f"It was fused ({temp(fused.peak_c or 0)}, {fused.date}): one plate of {thickness_mm:g} mm now. Below "
            f"{temp(brittle_below_c(glass))} climb no faster than about {Units(unit).rate(limit)}; loose layers "
            "bore more.")
    if fused is not None and any(b is not fused and b.peak_c is not None and SHAPED_C[0] <= b.peak_c < SHAPED_C[1]
                                 for b in been[been.index(fused) + 1:]):
        found.append(f"It seems to have been slumped. Above about {temp(SHAPED_C[0])} it loses that shape, unless it "
                     "lies in its mould.")
    if colour == "low-fire":
        found.append(f"Low-fire colour is on it: above about {temp(_LOW_FIRE_C)} it fades or burns out, so a slump "
                     "is too hot for it. Hottest firing first.")
    if colour:
        found.append("Colour gives off fumes while it burns: vent as its maker says, and air the room.")
    if last is not None and Word.HAZE in last.outcome:
        found.append("It came out hazy. Firing it again without a new surface seldom clears that; a skim of clear "
                     "powder or taking the surface off does.")
    return tuple(found)
