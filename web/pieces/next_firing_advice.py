"""What a piece's next firing must respect: advice of common practice from what it went through. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from daemon.firing.plan.plan import rate_to_unit, to_unit

FUSED_C = 700.0
"""Fired hotter than this, layers are one plate; common practice (a tack begins lower and is softer)."""
SHAPED_C = (600.0, 700.0)
"""A later top in between is taken for a slump; common practice."""
BRITTLE_C = 540.0
STANDING = "common practice; the data sheet of the glass comes first"

_THIN_MM, _THIN_C_PER_H = 6.0, 150.0
_THICK_MM, _THICK_C_PER_H = 12.0, 80.0
"""Fastest climbs of fused plates below BRITTLE_C; common practice."""
_LOW_FIRE_C = 620.0
"""Hotter, low-fire colour fades or burns out; common practice."""


@dataclass(frozen=True, slots=True)
class Been:
    """One firing a piece went through."""

    date: str
    peak_c: float | None
    short_anneal: bool
    outcome: tuple[str, ...]


def refire_limit_c_per_h(thickness_mm: float) -> float:
    """Return how fast a fused plate may climb below BRITTLE_C [°C/h], a power law through two points of practice.

    Thinner plates are advised as 6 mm.
    """
    power = log(_THICK_C_PER_H / _THIN_C_PER_H) / log(_THICK_MM / _THIN_MM)
    rate = _THIN_C_PER_H * (max(thickness_mm, _THIN_MM) / _THIN_MM) ** power
    return float(5 * int(rate / 5 + 1e-9)) if rate >= 10 else rate


def respects(been: Sequence[Been], thickness_mm: float, colour: str, unit: str) -> tuple[str, ...]:
    """Return what the next firing must respect, the weightiest first; ``been`` in the order they were.

    Parameters
    ----------
    been
        The firings it went through.
    thickness_mm
        Its thickest place [mm].
    colour
        Enamel or decal on it: "", "high-fire" or "low-fire".
    unit
        "C" or "F".
    """
    def temp(temp_c: float) -> str:
        return f"{to_unit(temp_c, unit):.0f} °{unit}"

    found: list[str] = []
    last = been[-1] if been else None
    if last is not None and "crack" in last.outcome:
        found.append("It came out cracked. Heat lets a crack run on: look at it under strong light first, and climb "
                     "as slowly as for twice its thickness, or leave it.")
    if last is not None and last.short_anneal:
        found.append(f"Its last anneal hold ({last.date}) was not whole. Stress may stand in it: look at it between "
                     "crossed polarisers, handle it with eye protection, and climb slowly.")
    fused = next((b for b in been if b.peak_c is not None and b.peak_c >= FUSED_C), None)
    if fused is not None:
        rate = refire_limit_c_per_h(thickness_mm)
        found.append(
            f"It was fused ({temp(fused.peak_c or 0)}, {fused.date}): one plate of {thickness_mm:g} mm now. Below "
            f"{temp(BRITTLE_C)} climb no faster than about {rate_to_unit(rate, unit):.0f} °{unit}/h; loose layers "
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
    if last is not None and "haze" in last.outcome:
        found.append("It came out hazy. Firing it again without a new surface seldom clears that; a skim of clear "
                     "powder or taking the surface off does.")
    return tuple(found)
