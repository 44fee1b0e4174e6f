"""The anneal that a thickness asks for: how hot and long to hold, how slowly to cool, and which rule says so.

Two kinds of rule are weighed and the stricter one is taken. The slab's own: no more than TARGET_MPA may stay
in the core (volume relaxation included), no more than TRANSIENT_MPA may stand in the skin while it cools
below the range. And the workshop's: rates and holds of common practice, which carry what the ideal slab
leaves out (uneven work, edges, a shelf or mould that stores heat), so advice is never looser than they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, floor, log10

from daemon.glass.common_practice import climb_c_per_h, cooling_c_per_h, counted_mm, slowest_s, two_kelvin_c_per_h
from daemon.glass.materials import Glass
from daemon.glass.relaxation import minutes_to_relax
from daemon.glass.stress import STRUCTURAL_FACTOR

TARGET_MPA = 1.0
"""Core tension of a well annealed piece [MPa]. [common practice]"""
TRANSIENT_MPA = 5.0
"""Tension borne for a while by flat, even work: in the face while it cools, in the core while it climbs [MPa].
[common practice]
"""
STAGE_K = 55.0
"""Depth of the first two stages [K]. [common practice]"""
SET_BELOW_STRAIN_K = 28.0
"""The first stage reaches at least this far below the computed strain point [K], so that a core that lags has set.

With it no family's advice leaves more than its target in up to 80 mm. [tuned: by trial on the slab, study not kept]
"""
ROOM_C = 40.0
"""Cool enough to open [°C]. [common practice]"""
_SECOND_TIMES = 2.0
"""How much faster the second stage may go than the first, as little sets there any more [1]. [common practice]"""
_HOLD_MIN_PER_MM = 10.0
_SHORTEST_HOLD_MIN = 30.0
"""Minutes of hold for each millimetre on a shelf, and the shortest hold of all [min]. [common practice]"""
_TIMES_TO_EVEN = 3.0
"""Time constants after which a slab counts as even [1]. [derived: e⁻³ leaves a twentieth, as SHARE in relaxation]"""

Rule = str
PRACTICE: Rule = "common practice"
STRESS: Rule = "stress that stays"
TENSION: Rule = "tension while cooling"
RELAXING: Rule = "time to even out and relax"


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
    def bears_c_per_h(self) -> float:
        """Return the cooling that this thickness ordinarily bears through its annealing range [°C/h].

        The first stage's rate. It is the one figure that is told to the maker: by alerts, page, ``lehrling anneal``
        and ``lehrling plan check``.
        """
        return self.stages[0].rate_c_per_h

    def bears_at_c_per_h(self, temp_c: float) -> float:
        """Return the cooling of the stage in which ``temp_c`` [°C] lies [°C/h]; above the hold that of the first."""
        stage = next((stage for stage in self.stages if temp_c > stage.to_c), self.stages[-1])
        return stage.rate_c_per_h

    @property
    def total_h(self) -> float:
        """Return hold and cooling to ROOM_C together [h], as keyed in; a kiln may be slower at the end."""
        here, hours = self.hold_c, self.hold_min / 60
        for stage in self.stages:
            hours += (here - stage.to_c) / stage.rate_c_per_h
            here = stage.to_c
        return hours


@lru_cache(maxsize=64)
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
        limits = {PRACTICE: cooling_c_per_h(number, thickness_mm, faces), **limits}
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
    depth_m = counted_mm(thickness_mm, faces) / 1000
    return 2 * glass.diffusivity_m2_s / depth_m**2 * 3600


def evening_min(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return how long a slab takes to even out [min]: three times its slowest time constant 4L²/(π²κ)."""
    return _TIMES_TO_EVEN * slowest_s(glass, thickness_mm, faces) / 60


def easing_min(glass: Glass, thickness_mm: float, faces: int, temp_c: float) -> float:
    """Return how long a slab takes at ``temp_c`` [°C] to even out and then to relax what stress it has [min]."""
    return evening_min(glass, thickness_mm, faces) + minutes_to_relax(glass, temp_c)


def waking_cooling_c_per_h(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return the cooling from which a fall may wake somebody though it is below 1.4 times its plan [°C/h].

    It differs from what is told as ordinarily borne: advice must also cover uneven work, edges and a shelf that
    stores heat, while a wake at night is worth it only where flat, even work would suffer. So the watch waits until
    face and core differ by 2 K, and never wakes for a fall that is no faster than advised.
    """
    return max(two_kelvin_c_per_h(glass, thickness_mm, faces), anneal(glass, thickness_mm, faces).bears_c_per_h)


def heating_limit(glass: Glass, thickness_mm: float, faces: int, *, loose: bool = False) -> tuple[float, Rule]:
    """Return how fast a piece may climb while brittle, as it is keyed in [°C/h], and the rule that says so.

    The slower of two limits: the workshop's (see ``practice.climb_c_per_h``), and the slab's own. A fused piece heats
    as one thick plate whose core is in tension by a third of Eα/(1−ν) times the steady difference R L²/(2κ); no more
    than TRANSIENT_MPA may stand there. It is the one figure that is told to the maker: in the lines to key in after a
    cut, on the page, by ``lehrling anneal --plan`` and ``lehrling plan check``.
    """
    limits: dict[Rule, float] = {
        PRACTICE: climb_c_per_h(thickness_mm, faces, loose=loose),
        TENSION: TRANSIENT_MPA * 3 / glass.mpa_per_k * _k_h_per_k(glass, thickness_mm, faces),
    }
    rule = min(limits, key=lambda name: limits[name])
    return _round_down(limits[rule]), rule


def climbing_core_mpa(glass: Glass, thickness_mm: float, faces: int, rate_c_per_h: float, for_s: float) -> float:
    """Return the tension in the core of one fused piece that has climbed at ``rate_c_per_h`` for ``for_s`` [MPa].

    A third of Eα/(1−ν) times the steady difference R L²/(2κ), as in ``heating_limit``, which is approached with the
    slab's slowest time constant: 1 − exp(−t/τ).
    """
    steady_mpa = rate_c_per_h / _k_h_per_k(glass, thickness_mm, faces) * glass.mpa_per_k / 3
    return steady_mpa * (1.0 - exp(-for_s / slowest_s(glass, thickness_mm, faces)))


def _hold(glass: Glass, thickness_mm: float, faces: int, hold_c: float) -> tuple[float, Rule]:
    """Return how long to hold at ``hold_c`` [min, in fives upwards], and the rule that asks for the longest."""
    needs = {
        PRACTICE: max(_SHORTEST_HOLD_MIN, _HOLD_MIN_PER_MM * counted_mm(thickness_mm, faces)),
        RELAXING: easing_min(glass, thickness_mm, faces, hold_c),
    }
    rule = max(needs, key=needs.__getitem__)
    return float(5 * -(-needs[rule] // 5)), rule


def _round_down(rate_c_per_h: float) -> float:
    """Return a rate that a controller takes [°C/h]: in fives from 50 on, else whole degrees; never faster than given.

    Below one degree an hour two figures are kept, so that a very thick casting still has a rate.
    """
    rate_c_per_h = round(rate_c_per_h, 9)  # 79.999999999 is 80
    if rate_c_per_h >= 50:
        return float(5 * (rate_c_per_h // 5))
    if rate_c_per_h >= 1:
        return float(int(rate_c_per_h))
    places = 10.0 ** (1 - floor(log10(rate_c_per_h)))
    return floor(rate_c_per_h * places) / places
