"""Glasses as data: each value with its source and standing."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from daemon.glass.viscosity import LOG_ANNEALING, LOG_SOFTENING, LOG_STRAIN, LOG_WORKING, Viscosity, from_fixed_points

FAMILY_SOURCE = (
    "generic family by expansion: common practice and from memory; "
    "replace it by the data sheet of your glass"
)


@dataclass(frozen=True)
class Glass:
    """What the decision and the physics need to know of a glass.

    Attributes
    ----------
    name
        What the maker calls it.
    viscosity
        Its curve; the computed points below come from it.
    expansion_per_k
        Linear expansion of the solid [1/K].
    youngs_modulus_gpa
        Young's modulus [GPa].
    poisson
        Poisson ratio [1].
    diffusivity_m2_s
        Thermal diffusivity near the annealing range [m²/s].
    source
        Where the values come from and how far to trust them.
    strain_point_sheet_c
        The data sheet's strain point [°C], kept beside the computed one.
    band_c
        The maker's own annealing band (low, high) [°C], where given.
    """

    name: str
    viscosity: Viscosity
    expansion_per_k: float
    youngs_modulus_gpa: float
    poisson: float
    diffusivity_m2_s: float
    source: str
    strain_point_sheet_c: float | None = None
    band_c: tuple[float, float] | None = None

    @cached_property
    def annealing_point_c(self) -> float:
        """Return the computed annealing point, the isokom of 10^12 Pa·s [°C]."""
        return self.viscosity.temp_c(LOG_ANNEALING)

    @cached_property
    def strain_point_c(self) -> float:
        """Return the computed strain point, the isokom of 10^13.5 Pa·s [°C]."""
        return self.viscosity.temp_c(LOG_STRAIN)

    @cached_property
    def softening_point_c(self) -> float:
        """Return the computed softening point, the isokom of 10^6.6 Pa·s [°C]."""
        return self.viscosity.temp_c(LOG_SOFTENING)

    @cached_property
    def working_point_c(self) -> float:
        """Return the computed working point, the isokom of 10^3 Pa·s [°C]."""
        return self.viscosity.temp_c(LOG_WORKING)

    @cached_property
    def mpa_per_k(self) -> float:
        """Return the stress of a kelvin held back in two directions, Eα/(1−ν) [MPa/K]."""
        return self.youngs_modulus_gpa * 1000 * self.expansion_per_k / (1 - self.poisson)

    @cached_property
    def band_low_c(self) -> float:
        """Return the lower end of the annealing band [°C]: the maker's, else strain point − 50."""
        return self.band_c[0] if self.band_c else self.strain_point_c - 50.0

    @cached_property
    def band_high_c(self) -> float:
        """Return the upper end of the annealing band [°C]: the maker's, else annealing point + 10."""
        return self.band_c[1] if self.band_c else self.annealing_point_c + 10.0


def _family(name: str, points_c: tuple[float, float, float], strain_c: float, alpha: float,
            modulus_gpa: float, poisson: float, diffusivity: float) -> Glass:
    """Return a built-in glass from (annealing, softening, working) points [°C] and the columns of FAMILIES."""
    return Glass(
        name=name, viscosity=from_fixed_points(*points_c), expansion_per_k=alpha,
        youngs_modulus_gpa=modulus_gpa, poisson=poisson, diffusivity_m2_s=diffusivity,
        source=FAMILY_SOURCE, strain_point_sheet_c=strain_c,
    )


FAMILIES: dict[str, Glass] = {
    # name: (annealing, softening, working) °C, sheet's strain °C, expansion 1/K, E GPa, ν, κ m²/s
    "33": _family("33", (560, 820, 1250), 510, 3.3e-6, 64, 0.20, 6.0e-7),
    "float": _family("float", (546, 723, 1020), 511, 8.5e-6, 72, 0.22, 4.5e-7),
    "90": _family("90", (515, 680, 960), 480, 9.0e-6, 70, 0.22, 4.5e-7),
    "96": _family("96", (510, 670, 940), 475, 9.6e-6, 70, 0.22, 4.5e-7),
    "104": _family("104", (495, 650, 910), 455, 10.4e-6, 68, 0.22, 4.5e-7),
}
"""The built-in families, named by expansion class as studios name them.

Within a class the annealing point varies by 30 K and more. [common practice]
"""
