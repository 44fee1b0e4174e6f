"""A glass from its TOML: explicit constants, or fixed points, and the maker's own band."""

from __future__ import annotations

import tomllib
from math import isfinite
from typing import Any

from daemon.errors import BadInput
from daemon.glass.materials import FAMILIES, Glass
from daemon.glass.viscosity import Viscosity, from_fixed_points

_GLASS_KEYS = {
    "name", "expansion_per_k", "youngs_modulus_gpa", "poisson", "diffusivity_m2_s", "conductivity_w_mk",
    "density_kg_m3", "heat_capacity_j_kgk", "strain_point_sheet_c", "source", "viscosity", "band",
}
_CONSTANTS = ("a", "b", "t0_c")
_POINTS = ("annealing_point_c", "softening_point_c", "working_point_c")
_RANGES = {
    "expansion_per_k": (1e-7, 3e-5), "youngs_modulus_gpa": (20.0, 150.0), "poisson": (0.0, 0.49),
    "diffusivity_m2_s": (1e-8, 1e-5), "conductivity_w_mk": (0.1, 10.0), "density_kg_m3": (1000.0, 8000.0),
    "heat_capacity_j_kgk": (200.0, 3000.0), "strain_point_sheet_c": (200.0, 1200.0),
    "a": (-20.0, 5.0), "b": (100.0, 30000.0), "t0_c": (-273.0, 900.0),
    "annealing_point_c": (200.0, 1200.0), "softening_point_c": (300.0, 1600.0),
    "working_point_c": (400.0, 2200.0), "low_c": (100.0, 1200.0), "high_c": (100.0, 1200.0),
}


def family(name: str) -> Glass:
    """Return the built-in family; BadInput lists those there are."""
    if name not in FAMILIES:
        raise BadInput("--glass", f"{name!r} is no built-in glass.",
                       f"Known: {', '.join(FAMILIES)}; or give a file that ends in .toml.")
    return FAMILIES[name]


class _Table:
    """Reads numbers of one table and collects what is wrong with them."""

    def __init__(self, values: dict[str, Any], prefix: str, problems: list[str]) -> None:
        self._values = values
        self._prefix = prefix
        self._problems = problems

    def number(self, key: str, default: float | None = None) -> float | None:
        value = self._values.get(key, default)
        if value is None:
            return None
        low, high = _RANGES[key]
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            self._problems.append(f"{self._prefix}{key}: {value!r} is not a number. Write a number without a unit.")
            return None
        if not low <= value <= high:
            self._problems.append(
                f"{self._prefix}{key}: {value:g} is outside {low:g} to {high:g}. Check the figure and its unit.")
            return None
        return float(value)

    def unknown(self, known: set[str]) -> None:
        for key in sorted(set(self._values) - known):
            self._problems.append(f"{self._prefix}{key}: unknown key. Known here: {', '.join(sorted(known))}.")


def parse_glass(text: str, source: str) -> Glass:
    """Return the glass written in TOML.

    What a file leaves out of expansion, modulus and the like is taken from family 90, and the glass's
    ``source`` says so; the viscosity has no default.

    Raises
    ------
    BadInput
        Naming every key that is wrong, its value and the remedy.
    """
    try:
        top = tomllib.loads(text)
    except tomllib.TOMLDecodeError as err:
        raise BadInput(source, f"not readable as TOML: {err}.", "Write a [glass] table.") from None
    values = top.get("glass")
    if not isinstance(values, dict):
        raise BadInput(source, "glass: the table is missing.", "Write [glass] and [glass.viscosity].")
    problems = [f"{key}: unknown table. Known here: glass." for key in sorted(set(top) - {"glass"})]
    table = _Table(values, "glass.", problems)
    table.unknown(_GLASS_KEYS)
    curve = _viscosity(values.get("viscosity"), problems)
    band = _band(values.get("band"), problems)
    base = FAMILIES["90"]
    alpha, modulus = table.number("expansion_per_k"), table.number("youngs_modulus_gpa")
    poisson, diffusivity = table.number("poisson"), _diffusivity(table)
    sheet = table.number("strain_point_sheet_c")
    name = values.get("name", source)
    if not isinstance(name, str):
        problems.append(f'glass.name: {name!r} is not text. Put it in quotes: "…".')
    if problems or curve is None:
        raise BadInput(source, "\n  ".join(["this glass can't be used:", *problems]))
    missing = [key for key, value in (("expansion_per_k", alpha), ("youngs_modulus_gpa", modulus),
                                      ("poisson", poisson), ("diffusivity_m2_s", diffusivity)) if value is None]
    origin = f"{source}" + (f"; {', '.join(missing)} of family 90 ({base.source})" if missing else "")
    return Glass(
        name=str(name), viscosity=curve,
        expansion_per_k=alpha if alpha is not None else base.expansion_per_k,
        youngs_modulus_gpa=modulus if modulus is not None else base.youngs_modulus_gpa,
        poisson=poisson if poisson is not None else base.poisson,
        diffusivity_m2_s=diffusivity if diffusivity is not None else base.diffusivity_m2_s,
        source=origin, strain_point_sheet_c=sheet, band_c=band,
    )


def _diffusivity(table: _Table) -> float | None:
    direct = table.number("diffusivity_m2_s")
    parts = [table.number(key) for key in ("conductivity_w_mk", "density_kg_m3", "heat_capacity_j_kgk")]
    if direct is not None:
        return direct
    conductivity, density, capacity = parts
    if conductivity is None or density is None or capacity is None:
        return None
    return conductivity / (density * capacity)


def _viscosity(values: Any, problems: list[str]) -> Viscosity | None:
    if not isinstance(values, dict):
        problems.append("glass.viscosity: missing. Write a, b, t0_c or the annealing, softening and working points.")
        return None
    table = _Table(values, "glass.viscosity.", problems)
    table.unknown({*_CONSTANTS, *_POINTS})
    before = len(problems)
    constants = [table.number(key) for key in _CONSTANTS]
    points = [table.number(key) for key in _POINTS]
    if len(problems) > before:
        return None
    a, b, t0 = constants
    if a is not None and b is not None and t0 is not None:
        return Viscosity(a, b, t0)
    annealing, softening, working = points
    if annealing is None or softening is None or working is None:
        problems.append("glass.viscosity: incomplete. "
                        "Write a, b and t0_c, or annealing_point_c, softening_point_c and working_point_c.")
        return None
    if not annealing < softening < working:
        problems.append(f"glass.viscosity: the points {annealing:g}, {softening:g}, {working:g} °C don't rise. "
                        "The annealing point is the lowest, the working point the highest.")
        return None
    curve = from_fixed_points(annealing, softening, working)
    if not (curve.b > 0 and curve.t0_c < annealing):
        problems.append(f"glass.viscosity: no curve runs through {annealing:g}, {softening:g}, {working:g} °C. "
                        "Check them against the data sheet.")
        return None
    return curve


def _band(values: Any, problems: list[str]) -> tuple[float, float] | None:
    if values is None:
        return None
    if not isinstance(values, dict):
        problems.append("glass.band: not a table. Write [glass.band] with low_c and high_c.")
        return None
    table = _Table(values, "glass.band.", problems)
    table.unknown({"low_c", "high_c"})
    low, high = table.number("low_c"), table.number("high_c")
    if low is None or high is None:
        problems.append("glass.band: incomplete. Write both low_c and high_c.")
        return None
    if low >= high:
        problems.append(f"glass.band: low_c {low:g} is not below high_c {high:g}.")
        return None
    return low, high
