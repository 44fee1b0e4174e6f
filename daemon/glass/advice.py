"""The anneal that a thickness asks for: how hot and long to hold, how slowly to cool, and which rule says so.

Two kinds of rule are weighed and the stricter one is taken. The slab's own: no more than TARGET_MPA may stay
in the core (volume relaxation included), no more than TRANSIENT_MPA may stand in the skin while it cools
below the range. And the workshop's: rates and holds of common practice, which carry what the ideal slab
leaves out (uneven work, edges, a shelf or mould that stores heat), so advice is never looser than they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log, log10, pi

from daemon.glass.materials import Glass
from daemon.glass.relaxation import minutes_to_relax
from daemon.glass.stress import STRUCTURAL_FACTOR

TARGET_MPA = 1.0
"""Core tension of a well annealed piece [MPa]; common practice."""
TRANSIENT_MPA = 5.0
"""Skin tension borne while cooling below the range [MPa]; common practice."""
STAGE_K = 55.0
"""Depth of the first two stages [K]; common practice."""
SET_BELOW_STRAIN_K = 28.0
"""The first stage reaches at least this far below the computed strain point [K], so that a core that lags has set.

By trial on the slab: with it no family's advice leaves more than its target in up to 80 mm.
"""
ROOM_C = 40.0
"""Cool enough to open [°C]; common practice."""

_THIN_MM, _THICK_MM = 6.0, 12.0
_THIN_C_PER_H = (80.0, 150.0, 300.0)
_THICK_C_PER_H = (25.0, 45.0, 150.0)
"""Cooling of plates of _THIN_MM and _THICK_MM on a shelf in the three stages [°C/h]; common practice.

Thinner work is advised as _THIN_MM, what lies between by a power law through both; above _THICK_MM practice
goes no faster and the slab's own rules take over.
"""
_THIN_CLIMB_C_PER_H, _THICK_CLIMB_C_PER_H = 150.0, 80.0
"""Climb of fused plates of _THIN_MM and _THICK_MM while brittle [°C/h]; common practice."""
_LOOSE_CLIMB_C_PER_H = 250.0
"""Climb of loose layers of _THIN_MM in all [°C/h]; common practice."""
_SECOND_TIMES = 2.0
"""How much faster the second stage may go than the first: little sets there any more; common practice."""
_HOLD_MIN_PER_MM = 10.0
"""Minutes of hold for each millimetre on a shelf; common practice."""
_SHORTEST_HOLD_MIN = 30.0
_TIMES_TO_EVEN = 3.0

Rule = str
PRACTICE: Rule = "common practice"
STRESS: Rule = "stress that stays"
TENSION: Rule = "tension while cooling"
EVENING: Rule = "time to even out"
RELAXING: Rule = "time to relax"


@dataclass(frozen=True, slots=True)
class Stage:
    """One cooling step: to where [°C], how fast [°C/h], and the rule that limits it."""

    to_c: float
    rate_c_per_h: float
    ruled_by: Rule


@dataclass(frozen=True, slots=True)
class Anneal:
    """What a piece asks for; ``thickness_mm`` is what was asked, ``faces`` how many cool."""

    glass: Glass
    thickness_mm: float
    faces: int
    hold_c: float
    hold_min: float
    hold_ruled_by: Rule
    stages: tuple[Stage, ...]

    @property
    def total_h(self) -> float:
        """Return hold and cooling to ROOM_C together [h], as keyed in; a kiln may be slower at the end."""
        here, hours = self.hold_c, self.hold_min / 60
        for stage in self.stages:
            hours += (here - stage.to_c) / stage.rate_c_per_h
            here = stage.to_c
        return hours


def anneal(glass: Glass, thickness_mm: float, faces: int = 1) -> Anneal:
    """Return the advice for a flat, even piece; uneven work is annealed as twice its thickness."""
    hold_c = float(round(glass.annealing_point_c))
    hold_min, hold_rule = _hold(glass, thickness_mm, faces, hold_c)
    staying = staying_rate_c_per_h(glass, thickness_mm, faces, TARGET_MPA)
    skin = skin_rate_c_per_h(glass, thickness_mm, faces, TRANSIENT_MPA)
    rules: tuple[dict[Rule, float], ...] = (
        {STRESS: staying},
        {STRESS: _SECOND_TIMES * staying, TENSION: skin},
        {TENSION: skin},
    )
    set_c = float(floor(min(hold_c - STAGE_K, glass.strain_point_c - SET_BELOW_STRAIN_K)))
    ends = (set_c, set_c - STAGE_K, ROOM_C)
    stages = []
    for number, (to_c, limits) in enumerate(zip(ends, rules, strict=True)):
        limits = {PRACTICE: _practice(number, thickness_mm, faces), **limits}
        rule = min(limits, key=lambda name: limits[name])
        stages.append(Stage(to_c, _round_down(limits[rule]), rule))
    return Anneal(glass, thickness_mm, faces, hold_c, hold_min, hold_rule, tuple(stages))


def staying_rate_c_per_h(glass: Glass, thickness_mm: float, faces: int, core_mpa: float) -> float:
    """Return the cooling [°C/h] through the range that leaves ``core_mpa`` in the core.

    A third of Eα/(1−ν) times the steady difference R L²/(2κ), times STRUCTURAL_FACTOR.
    """
    return core_mpa * 3 / STRUCTURAL_FACTOR / glass.mpa_per_k * _k_h_per_k(glass, thickness_mm, faces)


def skin_rate_c_per_h(glass: Glass, thickness_mm: float, faces: int, skin_mpa: float) -> float:
    """Return the cooling [°C/h] of rigid glass that raises ``skin_mpa`` of tension in the face (two thirds)."""
    return skin_mpa * 1.5 / glass.mpa_per_k * _k_h_per_k(glass, thickness_mm, faces)


def _k_h_per_k(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return the cooling rate [K/h] that makes 1 K of steady difference: 2κ/L²."""
    depth_m = thickness_mm / 1000 / (2 if faces == 2 else 1)
    return 2 * glass.diffusivity_m2_s / depth_m**2 * 3600


def _practice(stage: int, thickness_mm: float, faces: int) -> float:
    """Return the workshop's rate [°C/h]; two cooled faces count as half the thickness."""
    counted_mm = min(_THICK_MM, max(_THIN_MM, thickness_mm / (2 if faces == 2 else 1)))
    thin, thick = _THIN_C_PER_H[stage], _THICK_C_PER_H[stage]
    return float(thin * (thick / thin) ** (log(counted_mm / _THIN_MM) / log(_THICK_MM / _THIN_MM)))


def evening_min(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return how long a slab takes to even out [min]: three times its slowest time constant 4L²/(π²κ)."""
    depth_m = thickness_mm / 1000 / (2 if faces == 2 else 1)
    return _TIMES_TO_EVEN * 4 * depth_m**2 / (pi**2 * glass.diffusivity_m2_s) / 60


def heating_limit(glass: Glass, thickness_mm: float, faces: int, *, loose: bool = False) -> tuple[float, Rule]:
    """Return how fast a piece may climb while brittle [°C/h], and the rule that says so.

    A fused piece heats as one thick plate: its core is in tension by a third of Eα/(1−ν) times the steady
    difference. Thin loose layers bear more. Practice for 6 and 12 mm, carried on by their power law for what
    is thicker, or the slab's limit of TRANSIENT_MPA in the core, whichever is slower.
    """
    counted_mm = max(_THIN_MM, thickness_mm / (2 if faces == 2 else 1))
    thin = _LOOSE_CLIMB_C_PER_H if loose and counted_mm < _THICK_MM else _THIN_CLIMB_C_PER_H
    power = log(_THICK_CLIMB_C_PER_H / thin) / log(_THICK_MM / _THIN_MM)
    limits: dict[Rule, float] = {
        PRACTICE: thin * (counted_mm / _THIN_MM) ** power,
        TENSION: TRANSIENT_MPA * 3 / glass.mpa_per_k * _k_h_per_k(glass, thickness_mm, faces),
    }
    rule = min(limits, key=lambda name: limits[name])
    return limits[rule], rule


def _hold(glass: Glass, thickness_mm: float, faces: int, hold_c: float) -> tuple[float, Rule]:
    evens_min = evening_min(glass, thickness_mm, faces)
    counted_mm = thickness_mm / (2 if faces == 2 else 1)
    needs = {
        PRACTICE: max(_SHORTEST_HOLD_MIN, _HOLD_MIN_PER_MM * counted_mm),
        EVENING: evens_min,
        RELAXING: minutes_to_relax(glass, hold_c) + evens_min,
    }
    rule = max(needs, key=needs.__getitem__)
    return float(5 * -(-needs[rule] // 5)), rule


def _round_down(rate_c_per_h: float) -> float:
    """Return a rate a controller takes: whole degrees, fives above fifty; never faster than given.

    Below one degree an hour two figures are kept, so that a very thick casting still has a rate.
    """
    if rate_c_per_h >= 50:
        return float(5 * (rate_c_per_h // 5))
    if rate_c_per_h >= 1:
        return float(int(rate_c_per_h))
    step = 10.0 ** (floor(log10(rate_c_per_h)) - 1)
    return round(floor(rate_c_per_h / step) * step, 12)
