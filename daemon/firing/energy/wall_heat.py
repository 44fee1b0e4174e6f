"""Heat that flows into a kiln's wall, from the temperature of its hot face.

A flat wall of thickness L, conductivity k and diffusivity α, with the room behind it, takes at its hot face

    q / (k/L) = θ + 2 Σ h_n,    dh_n/dt = dθ/dt − (n²π²/τ) h_n,    τ = L²/α,

where θ is how much warmer the hot face is than the room: the steady loss, and one term for each mode of the wall that
still fills with heat (Carslaw & Jaeger, Conduction of Heat in Solids, the slab whose faces are kept at given
temperatures; from memory). After a step of θ the sum runs as √(τ/πt) at first, as it does for a wall without end.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, pi

MODES = 8
"""Modes of the wall that are followed; faster ones count as heat that is stored at once.
[chosen: the next one settles within two minutes in a wall of three hours]"""
GROWS_PER_K = 1.0e-3
"""A lining conducts so much better a kelvin, as a share of what it does at 0 °C [1/K]. [from memory: insulating brick
conducts about twice as well at 1000 °C as cold]"""


def driving_k(temp_c: float, room_c: float) -> float:
    """Return the difference of temperature that drives heat through the wall [K], as if it conducted as at 0 °C.

    Kirchhoff's transformation: ∫ k dT / k(0 °C) from ``room_c`` to ``temp_c``.
    """
    return (temp_c - room_c) * (1.0 + GROWS_PER_K * (temp_c + room_c) / 2)


def into_wall_k(driving: Sequence[float], step_s: float, time_s: float) -> list[float]:
    """Return what flows into the wall at each moment, as a multiple of its steady conductance [K].

    Parameters
    ----------
    driving
        ``driving_k`` at evenly spaced moments; before the first the wall lay still in balance with it [K].
    step_s
        Time between two of them [s].
    time_s
        The wall's own time τ = L²/α [s].
    """
    rates_per_s = [n * n * pi * pi / time_s for n in range(1, MODES + 1)]
    fades = [exp(-rate * step_s) for rate in rates_per_s]
    gains = [(1.0 - fade) / (rate * step_s) for rate, fade in zip(rates_per_s, fades, strict=True)]
    at_once_s = 2 * time_s * (1 / 6 - sum(1 / (n * n * pi * pi) for n in range(1, MODES + 1)))  # Σ 1/n²π² is 1/6
    fills = [0.0] * MODES
    found, last_k = [], driving[0] if driving else 0.0
    for here_k in driving:
        rise_k = here_k - last_k
        fills = [fill * fade + gain * rise_k for fill, fade, gain in zip(fills, fades, gains, strict=True)]
        found.append(here_k + 2 * sum(fills) + at_once_s * rise_k / step_s)
        last_k = here_k
    return found
