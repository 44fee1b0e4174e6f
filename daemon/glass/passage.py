"""What one slab goes through: straight piece by straight piece, with the figures of its last passage.

The band is the glass's annealing range. Only the last passage through it counts: a pass at or above its
upper end wipes the largest difference seen before, a pass at or above its lower end the largest tension.
"""

from __future__ import annotations

from itertools import pairwise
from math import ceil

from daemon.glass.common_practice import FUSED_C, slowest_s
from daemon.glass.materials import Glass
from daemon.glass.stress import Stress
from daemon.glass.twin import twin_of

FINE_K, FINE_S = 1.0, 20.0
"""The longest piece taken in one step while the glass is setting: change of the face [K], and time [s].

A step keeps one relaxation time, which changes by 12 % in a kelvin. With these the tests hold the stress that stays
within 4 % or 0.03 MPa of a reference. [tuned: by trial on the bench, study not kept]
"""
LOOK_S = 30.0
"""Elsewhere the largest difference or tension is looked for at least this often [s].

[chosen: shorter than the time constant of 6 mm on one face, 32 s]
"""
_SLOW_SHARE = 0.02
"""In a thick slab both may take longer: this share of its slowest time constant [1].

[chosen: a mode of the slab changes by 2 % meanwhile; from 35 mm on one face it is longer than FINE_S]
"""
_NOTHING = 1e-9
"""Cuts closer together than this are one, and so is a temperature this little below the band [1, K].

[chosen: far above rounding, far below a reading]
"""


def longest_piece_s(glass: Glass, thickness_mm: float, faces: int) -> float:
    """Return how long a straight piece may be that a slab takes in one step while its glass is setting [s]."""
    return max(FINE_S, _SLOW_SHARE * slowest_s(glass, thickness_mm, faces))


class Passage:
    """One slab of one glass, uniform and stress-free at its first temperature, flat ever after.

    Parameters
    ----------
    glass
        Its glass, with the band.
    thickness_mm, faces
        The slab [mm], and how many of its faces cool, 1 or 2.
    start_c
        Its first temperature [°C].
    """

    def __init__(self, glass: Glass, thickness_mm: float, faces: int, start_c: float) -> None:
        self._low_c, self._high_c = glass.band_low_c, glass.band_high_c
        self._stress = Stress(glass, thickness_mm, faces, start_c)
        self._fine_s = longest_piece_s(glass, thickness_mm, faces)
        self._look_s = max(LOOK_S, self._fine_s)
        self.largest_difference_k = 0.0
        """Largest core minus face while the face was in the band, since it last was at its upper end [K]."""
        self._passing_tension_mpa = 0.0
        """Largest tension anywhere, as it was, since the face was last at or above the band's lower end [MPa]."""
        self._is_below_band = False
        self.face_tension_mpa = 0.0
        """Largest tension in the face while that was below the band, since it was last at FUSED_C [MPa].

        Back in the band a stress relaxes, and what counts there begins anew. A crack that it made does not heal
        before the glass flows."""
        self.face_tension_at_c: float | None = None
        """How hot the face was at that instant [°C]; None before there was one."""

    @property
    def largest_tension_mpa(self) -> float:
        """Return the largest tension anywhere below the band's lower end, at any instant so far or evened out [MPa].

        A thick slab that falls evenly through the band is free of stress while it falls: what it keeps shows only
        when its temperatures even out. So what would stay from the present instant counts as well. It is 0 as long
        as the face is in the band or above.
        """
        if not self._is_below_band:
            return 0.0
        return max(self._passing_tension_mpa, *self._stress.residual_mpa())

    def twin(self) -> Passage:
        """Return one that stands where this one stands and goes on by itself."""
        other: Passage = twin_of(self)
        other._stress = self._stress.twin()
        return other

    @property
    def difference_k(self) -> float:
        """Return core minus face now [K]."""
        return self._stress.difference_k

    @property
    def residual_mpa(self) -> tuple[float, float]:
        """Return (core, face) stress [MPa] once the temperatures have evened out at the present one."""
        return self._stress.residual_mpa()

    def advance(self, from_c: float, to_c: float, step_s: float) -> None:
        """Go on by ``step_s`` [s] with the face going straight from ``from_c`` to ``to_c`` [°C]."""
        change = to_c - from_c
        if step_s <= self._fine_s and -FINE_K <= change <= FINE_K and not self._crosses(from_c, to_c):
            self._stress.advance(from_c, to_c, step_s)
            self._look(to_c)
            return
        done = 0.0
        for share in self._cuts(from_c, to_c, step_s):
            here_c, there_c = from_c + change * done, from_c + change * share
            self._stress.advance(here_c, there_c, step_s * (share - done))
            self._look(there_c)
            done = share

    def _crosses(self, from_c: float, to_c: float) -> bool:
        """Return whether the face crosses an end of the annealing band on the way."""
        return (from_c < self._low_c) != (to_c < self._low_c) or (from_c < self._high_c) != (to_c < self._high_c)

    def _cuts(self, from_c: float, to_c: float, step_s: float) -> list[float]:
        """Return where to cut a piece, as shares of it: finely while setting, and where it enters the band."""
        change = abs(to_c - from_c)
        if self._stress.setting(from_c, to_c):
            number = max(ceil(change / FINE_K), ceil(step_s / self._fine_s))
        else:
            number = ceil(step_s / self._look_s)
        shares = {n / number for n in range(1, number)}
        if self._crosses(from_c, to_c):
            shares |= {share for edge_c in (self._low_c, self._high_c)
                     if 0.0 < (share := (edge_c - from_c) / (to_c - from_c)) < 1.0}
        cuts = [*sorted(shares), 1.0]
        return [cut for before, cut in pairwise((0.0, *cuts)) if cut - before > _NOTHING or cut == 1.0]

    def _look(self, face_c: float) -> None:
        """Keep the largest difference in the band and the largest tension below it; higher up wipe them."""
        self._is_below_band = face_c < self._low_c - _NOTHING
        if face_c >= FUSED_C:
            self.face_tension_mpa, self.face_tension_at_c = 0.0, None
        if self._is_below_band:
            face_mpa = self._stress.stress_mpa[-1]
            if face_mpa > self.face_tension_mpa:
                self.face_tension_mpa, self.face_tension_at_c = face_mpa, face_c
            self._passing_tension_mpa = max(self._passing_tension_mpa, *self._stress.stress_mpa)
            return
        self._passing_tension_mpa = 0.0
        if face_c >= self._high_c:
            self.largest_difference_k = 0.0
        else:
            self.largest_difference_k = max(self.largest_difference_k, self._stress.difference_k)
