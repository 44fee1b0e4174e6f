"""Stress in a flat slab that relaxes as a Maxwell body: what stands in it now, what stays for good.

Equal two-way stress, plane sections stay plane and flat, no net force. The elastic strain at each depth
follows the common strain less the free expansion there; the stress relaxes with τ = 6(1−ν)η/E, the Maxwell
rule for equal two-way stress with an elastic bulk (re-derived). The volume (structural) relaxation is not
in here; see STRUCTURAL_FACTOR.
"""

from __future__ import annotations

from math import exp, log

from daemon.glass.common_practice import counted_mm
from daemon.glass.materials import Glass
from daemon.glass.relaxation import log_speed
from daemon.glass.slab import MODES, Slab
from daemon.glass.twin import twin_of

_LOBATTO_7 = (0.0, 0.468848793470714, 0.830223896278567, 1.0)
_LOBATTO_WEIGHTS_7 = (0.487619047619048, 0.431745381209863, 0.276826047361566, 0.047619047619048)
"""Gauss-Lobatto points from 0 to 1 and their weights, of seven on [−1, 1]: both ends are nodes.

[source: Abramowitz & Stegun, 25.4.32]
"""

NODES: tuple[float, ...] = tuple(
    sorted((1 + sign * x) / 2 for x in _LOBATTO_7 for sign in ((1, -1) if x else (1,)))
)
"""Depths at which stress is kept, as shares of the way from core (0) to face (1). [derived: _LOBATTO_7 on 0 to 1]"""
WEIGHTS: tuple[float, ...] = tuple(
    w / 2 for w in (*reversed(_LOBATTO_WEIGHTS_7[1:]), *_LOBATTO_WEIGHTS_7)
)
"""Weights of NODES in a mean over the depth; they sum to 1. [derived: _LOBATTO_WEIGHTS_7 halved]"""

_NONE = [0.0] * len(NODES)
"""No stress at any of NODES [MPa]. [derived: liquid glass bears none]"""

STRUCTURAL_FACTOR = 1.7
"""Residual stress with volume relaxation over that without, ± 0.2 [1].

About 40 % of the residual stress of linearly cooled sheet comes from volume relaxation, a factor of 1.67. In a
quench it is less, about 24 % in tempering (Narayanaswamy, J. Am. Ceram. Soc. 61 (1978), abstract), a factor of 1.3,
so that the figure errs upwards there.
[source: Gardon & Narayanaswamy, J. Am. Ceram. Soc. 53 (1970) 380, abstract]
"""

_LIQUID_PER_S = 30.0
"""Glass that relaxes this many times a second bears no stress [1/s].

[derived: a fall of 600 K/h holds less than 0.005 MPa in it, Eα/(1−ν) · R · τ = 0.81 · 0.167 / 30]
"""
_RIGID_PER_S = 1e-7
"""Glass that relaxes less often is rigid [1/s]. [derived: a month at that speed would ease a stress by a quarter]"""


class Stress:
    """One slab: takes straight pieces of face temperature, knows temperatures and stresses at NODES.

    Liquid glass bears no stress, and in rigid glass the stress only follows the temperatures. So the seven nodes are
    computed at every step only while some of the glass is between the two; elsewhere when somebody asks.

    Parameters
    ----------
    glass
        Its glass.
    thickness_mm, faces
        The slab [mm], and how many of its faces cool, 1 or 2.
    start_c
        Its first temperature [°C], the same at every depth and without stress.

    Notes
    -----
    In equal two-way stress each depth x obeys (re-derived)

        dσ/dt = E/(1−ν) · (dε/dt − α dT/dt) − σ/τ(T),   τ = 6(1−ν)η(T)/E,   mean over x of σ = 0,

    with ε the strain that all depths have in common. The last condition gives ε. Tension is positive. With τ → ∞ the
    parabola of a steady fall gives the textbook's 2/3 in the face and 1/3 in the core of Eα/(1−ν) times core minus
    face; a fall through the range leaves the same with the opposite sign (Adams & Williamson, "The annealing of
    glass", J. Franklin Inst. 190 (1920), from memory).
    """

    def __init__(self, glass: Glass, thickness_mm: float, faces: int, start_c: float) -> None:
        self._slab = Slab(counted_mm(thickness_mm, faces) / 1000, glass.diffusivity_m2_s, NODES)
        self._scale = glass.mpa_per_k
        self._head, self._b, self._t0_c = log_speed(glass)
        self._liquid_c = self._temp_of_speed(_LIQUID_PER_S)
        self._rigid_c = self._temp_of_speed(_RIGID_PER_S)
        means = [sum(w * row[k] for w, row in zip(WEIGHTS, self._slab.shapes, strict=True)) for k in range(MODES + 1)]
        self._pulls = [tuple(self._scale * (mean - shape) for mean, shape in zip(means, row, strict=True))
                       for row in self._slab.shapes]
        """For each node the stress of a unit of each amplitude in rigid glass [MPa]."""
        self._face_c = start_c
        self._free_mpa: list[float] | None = [0.0] * len(NODES) if start_c < self._rigid_c else None
        """Where all is rigid, the stress at NODES without the temperatures' share [MPa]; None elsewhere."""
        self._temps_c: list[float] | None = None
        self._stress_mpa: list[float] | None = None
        """Temperatures and stresses at NODES now where some of the glass is setting; None elsewhere."""

    def twin(self) -> Stress:
        """Return one that stands where this one stands and goes on by itself."""
        other: Stress = twin_of(self)  # its lists are replaced and never changed
        other._slab = twin_of(self._slab)
        return other

    def _temp_of_speed(self, per_s: float) -> float:
        """Return the temperature [°C] at which stress relaxes ``per_s`` times a second."""
        return self._t0_c + self._b / (self._head - log(per_s))

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Go on by ``step_s`` with the face going straight from ``from_c`` to ``to_c``.

        Three cases, told apart by the face and ``Slab.reach_k``, an upper bound of how far any depth is from it: all
        liquid, where nothing is kept; all rigid, where the part of the stress that no temperature explains stays as
        it is; and setting glass, where seven nodes are relaxed by ``_relaxed``.

        Parameters
        ----------
        from_c, to_c
            Temperature of the face at both ends of the piece [°C]; ``from_c`` is where the last piece ended.
        step_s
            Length of the piece [s], above 0; within FINE_K and FINE_S of ``passage`` where the glass is setting.
        """
        slab = self._slab
        before = slab.amplitudes
        slab.advance(from_c, to_c, step_s)
        reach_k = slab.reach_k
        self._face_c = to_c
        if to_c - reach_k > self._liquid_c:
            self._free_mpa = self._temps_c = self._stress_mpa = None
            return
        rigid = to_c + reach_k < self._rigid_c
        if rigid and self._free_mpa is not None:
            return
        then = self._temps_c
        if then is None:
            then = slab.temps_c(from_c, before)
        self._temps_c = temps = slab.temps_c(to_c, slab.amplitudes)
        self._stress_mpa = self._relaxed(self._stress_with(before), then, temps, step_s)
        self._free_mpa = None
        if rigid:
            now = self._stress_mpa
            self._free_mpa = [0.0] * len(NODES)
            self._free_mpa = [s - p for s, p in zip(now, self._stress_with(slab.amplitudes), strict=True)]
            self._temps_c = self._stress_mpa = None

    def _stress_with(self, amplitudes: list[float]) -> list[float]:
        """Return the stress at NODES [MPa] that the kept part and these amplitudes of the slab give.

        In rigid glass σ(x) = kept(x) + Eα/(1−ν) · (mean of T − T(x)), linear in the amplitudes (``_pulls``).
        """
        free = self._free_mpa
        if free is None:
            return self._stress_mpa or _NONE
        a0, a1, a2, a3, a4, a5, a6 = amplitudes
        return [
            f + p0 * a0 + p1 * a1 + p2 * a2 + p3 * a3 + p4 * a4 + p5 * a5 + p6 * a6
            for f, (p0, p1, p2, p3, p4, p5, p6) in zip(free, self._pulls)  # noqa: B905 - per reading, seven each
        ]

    @property
    def temps_c(self) -> list[float]:
        """Return the temperatures at NODES now [°C]."""
        return self._temps_c or self._slab.temps_c(self._face_c, self._slab.amplitudes)

    @property
    def stress_mpa(self) -> list[float]:
        """Return the stress at NODES now [MPa, tension positive]."""
        return self._stress_with(self._slab.amplitudes)

    def _relaxed(self, stress: list[float], before: list[float], temps: list[float], step_s: float) -> list[float]:
        """Return the stress at NODES after a step in which it relaxes [MPa].

        The exact solution of dσ/dt = E/(1−ν) (dε/dt − α dT/dt) − σ/τ for a constant τ, taken at the middle of the
        step, and constant rates, with z = Δt/τ and φ = (1 − e^(−z))/z:

            σ' = σ e^(−z) + φ (c − Eα/(1−ν) ΔT),   c alike at every depth, such that the mean of σ' is 0.

        Parameters
        ----------
        stress
            Before the step, seven values from core to face [MPa].
        before, temps
            Temperatures before and after it, alike [°C].
        step_s
            Its length [s].
        """
        kept: list[float] = []
        eased: list[float] = []
        pull = ease = 0.0
        scale, b, two_t0 = self._scale, 2.0 * self._b, 2.0 * self._t0_c
        head = self._head + log(step_s)
        for w, new, old, s in zip(WEIGHTS, temps, before, stress):  # noqa: B905 - per reading, seven each
            above = new + old - two_t0
            power = head - b / above if above > 2.0 else -99.0
            if power < -13.8:
                left, phi = s - scale * (new - old), 1.0
            elif power > 6.0:
                phi = exp(-power)
                left = -scale * (new - old) * phi
            else:
                z = exp(power)
                stay = exp(-z)
                phi = (1.0 - stay) / z
                left = s * stay - scale * (new - old) * phi
            pull += w * left
            ease += w * phi
            kept.append(left)
            eased.append(phi)
        common = -pull / ease if ease > 1e-30 else 0.0
        return [left + common * phi for left, phi in zip(kept, eased)]  # noqa: B905

    @property
    def difference_k(self) -> float:
        """Return core minus face [K]."""
        s0, s1, s2, s3, s4, s5, s6 = self._slab.shapes[0]
        a0, a1, a2, a3, a4, a5, a6 = self._slab.amplitudes
        return float(s0 * a0 + s1 * a1 + s2 * a2 + s3 * a3 + s4 * a4 + s5 * a5 + s6 * a6)

    def residual_mpa(self) -> tuple[float, float]:
        """Return (core, face) stress [MPa, tension positive] once the temperatures have evened out here."""
        temps, stress = self.temps_c, self.stress_mpa
        mean = sum(w * t for w, t in zip(WEIGHTS, temps, strict=True))
        return stress[0] + self._scale * (temps[0] - mean), stress[-1] + self._scale * (temps[-1] - mean)

    def setting(self, from_c: float, to_c: float) -> bool:
        """Return whether any glass is neither liquid nor rigid, with the face between two temperatures [°C]."""
        reach_k = self._slab.reach_k
        high, low = (from_c, to_c) if from_c > to_c else (to_c, from_c)
        high, low = max(high, self._face_c + reach_k), min(low, self._face_c - reach_k)
        return high > self._rigid_c and low < self._liquid_c
