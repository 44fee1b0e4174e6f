"""Heat through a flat slab whose face follows the trace, exact for a trace of straight pieces.

With the face at T_s(t), core at x = 0 (mid-plane of two cooled faces, or the insulated face of one) and
face at x = L, the difference θ = T − T_s obeys θ_t = κ θ_xx − dT_s/dt. In the modes cos(λ_k x),
λ_k = (2k+1)π/(2L), each amplitude has its own decay μ_k = κ λ_k² and source c_k = 4(−1)^k/((2k+1)π):

    a_k(t + Δt) = a_k e^(−μ_k Δt) − r c_k (1 − e^(−μ_k Δt)) / μ_k

which is exact while dT_s/dt = r is constant (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed.,
ch. III; re-derived). The modes left out are lumped into one that has the shape of the rest of the parabola
r (L² − x²)/(2κ), which the kept ones do not carry, and the decay of the first of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, exp, pi

MODES = 6
"""Modes kept one by one; the rest are lumped. [tuned: on a prototype, 0.3 % from its reference]"""


class Slab:
    """Temperatures at given depths of one slab, one straight piece of face temperature at a time.

    Parameters
    ----------
    depth_m
        From core to face [m]: half the thickness with two cooled faces, the whole with one.
    diffusivity_m2_s
        Thermal diffusivity [m²/s], constant.
    nodes
        Depths as shares of ``depth_m`` from the core (0) to the face (1).
    """

    def __init__(self, depth_m: float, diffusivity_m2_s: float, nodes: Sequence[float]) -> None:
        waves = [(2 * k + 1) * pi / 2 for k in range(MODES + 1)]
        self._decay = [diffusivity_m2_s * (wave / depth_m) ** 2 for wave in waves]
        waves = waves[:MODES]
        source = [2.0 * (-1) ** k / wave for k, wave in enumerate(waves)]
        steady = [c / mu for c, mu in zip(source, self._decay, strict=False)]
        self._steady = [*steady, 1.0]
        shapes_of = [tuple(cos(wave * x) for wave in waves) for x in nodes]
        whole = [(1 - x * x) * depth_m**2 / (2 * diffusivity_m2_s) for x in nodes]
        self.shapes = [
            (*shapes, w - sum(s * shape for s, shape in zip(steady, shapes, strict=True)))
            for w, shapes in zip(whole, shapes_of, strict=True)
        ]
        """For each node the modes' shapes there, the lumped one's last."""
        self.amplitudes = [0.0] * (MODES + 1)
        """Of the modes, the lumped one's last [K, but K/s for that]; never changed in place."""
        self._step_s = -1.0
        self._keep: list[tuple[float, float]] = []
        """For each mode what of its amplitude is left after a step, and what a unit of rate adds."""
        self._lumped_k_s = depth_m**2 / (2 * diffusivity_m2_s)

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Go on by ``step_s`` [s] with the face going straight from ``from_c`` to ``to_c`` [°C]."""
        rate = (to_c - from_c) / step_s
        if step_s != self._step_s:
            self._step_s = step_s
            kept = [exp(-mu * step_s) for mu in self._decay]
            self._keep = [(keep, steady * (1.0 - keep)) for keep, steady in zip(kept, self._steady, strict=True)]
        a0, a1, a2, a3, a4, a5, a6 = self.amplitudes
        (k0, u0), (k1, u1), (k2, u2), (k3, u3), (k4, u4), (k5, u5), (k6, u6) = self._keep
        self.amplitudes = [a0 * k0 - rate * u0, a1 * k1 - rate * u1, a2 * k2 - rate * u2, a3 * k3 - rate * u3,
                           a4 * k4 - rate * u4, a5 * k5 - rate * u5, a6 * k6 - rate * u6]

    def temps_c(self, face_c: float, amplitudes: Sequence[float]) -> list[float]:
        """Return the temperatures [°C] at the nodes with the face at ``face_c`` [°C]."""
        a0, a1, a2, a3, a4, a5, a6 = amplitudes
        return [
            face_c + s0 * a0 + s1 * a1 + s2 * a2 + s3 * a3 + s4 * a4 + s5 * a5 + s6 * a6
            for s0, s1, s2, s3, s4, s5, s6 in self.shapes
        ]

    @property
    def reach_k(self) -> float:
        """Upper bound of |T(x) − T_face| over all depths [K].

        The sum of the amplitudes without their signs, since no mode's shape exceeds 1 and the lumped one's no more
        than L²/(2κ).
        """
        a0, a1, a2, a3, a4, a5, a6 = self.amplitudes
        return abs(a0) + abs(a1) + abs(a2) + abs(a3) + abs(a4) + abs(a5) + abs(a6) * self._lumped_k_s
