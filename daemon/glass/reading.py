"""A glass from its TOML: explicit constants, or fixed points, and the maker's own band."""

from __future__ import annotations

from typing import Any

from daemon.errors import BadInput
from daemon.glass.materials import FAMILIES, Glass
from daemon.glass.viscosity import LOG_ANNEALING, LOG_STRAIN, Viscosity, from_fixed_points
from daemon.toml import finite, named, not_a_line, read_toml, shown

_GLASS_KEYS = {
    "name", "expansion_per_k", "youngs_modulus_gpa", "poisson", "diffusivity_m2_s", "conductivity_w_mk",
    "density_kg_m3", "heat_capacity_j_kgk", "strain_point_sheet_c", "source", "viscosity", "band",
}
_CONSTANTS = ("a", "b", "t0_c")
_POINTS = ("annealing_point_c", "softening_point_c", "working_point_c")
_DIFFUSIVITY = ("conductivity_w_mk", "density_kg_m3", "heat_capacity_j_kgk")
_LEAST_APART_C = 20.0
"""Points of one glass lie further apart than this [K].

[chosen: the families' lie 155 K apart and more; closer ones are one figure written twice]
"""
_RANGES = {
    "expansion_per_k": (1e-7, 3e-5), "youngs_modulus_gpa": (20.0, 150.0), "poisson": (0.0, 0.49),
    "diffusivity_m2_s": (1e-8, 1e-5), "conductivity_w_mk": (0.1, 10.0), "density_kg_m3": (1000.0, 8000.0),
    "heat_capacity_j_kgk": (200.0, 3000.0), "strain_point_sheet_c": (200.0, 1200.0),
    "a": (-20.0, 5.0), "b": (100.0, 30000.0), "t0_c": (-273.0, 900.0),
    "annealing_point_c": (200.0, 1200.0), "softening_point_c": (300.0, 1600.0),
    "working_point_c": (400.0, 2200.0), "low_c": (100.0, 1200.0), "high_c": (100.0, 1200.0),
}
"""What each key may be, in its own unit. [chosen: wide, to catch a wrong unit or power of ten]"""


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
        """Return the number under ``key``; None, with the reason noted, where it is none or out of its range."""
        value = self._values.get(key, default)
        if value is None:
            return None
        low, high = _RANGES[key]
        number = finite(value)
        if number is None:
            self.wrong(key, f"{shown(value)} is not a number. Write a number without a unit.")
        elif not low <= number <= high:
            self.wrong(key, f"{number:g} is outside {low:g} to {high:g}. Check the figure and its unit.")
            return None
        return number

    def text(self, key: str, default: str) -> str:
        """Return the line of text under ``key``, or the default; where it is no line the reason is noted."""
        value = self._values.get(key, default)
        problem = not_a_line(value) if value else "is empty. Write it, or leave the line out."
        if problem:
            self.wrong(key, problem)
        return str(value)

    def has(self, key: str) -> bool:
        """Return whether the file has ``key``."""
        return key in self._values

    def wrong(self, key: str, problem: str) -> None:
        """Note what is wrong with ``key``."""
        self._problems.append(f"{self._prefix}{key}: {problem}")

    def unknown(self, known: set[str]) -> None:
        """Note every key that is not one of ``known``."""
        for key in sorted(set(self._values) - known):
            self._problems.append(f"{self._prefix}{named(key)}: unknown key. Known here: {', '.join(sorted(known))}.")


def parse_glass(text: str, source: str) -> Glass:
    """Return the glass written in TOML.

    What a file leaves out of expansion, modulus and the like is taken from family 90, and the glass's
    ``source`` says so; the viscosity has no default.

    Raises
    ------
    BadInput
        Naming every key that is wrong, its value and the remedy.
    """
    top = read_toml(text, source, "Write a [glass] table.")
    values = top.get("glass")
    if not isinstance(values, dict):
        raise BadInput(source, "glass: the table is missing.", "Write [glass] and [glass.viscosity].")
    problems = [f"{named(key)}: unknown table. Known here: glass." for key in sorted(set(top) - {"glass"})]
    table = _Table(values, "glass.", problems)
    table.unknown(_GLASS_KEYS)
    curve = _viscosity(values.get("viscosity"), problems)
    band = _band(values.get("band"), problems)
    base = FAMILIES["90"]
    alpha, modulus = table.number("expansion_per_k"), table.number("youngs_modulus_gpa")
    poisson, diffusivity = table.number("poisson"), _diffusivity(table)
    sheet = table.number("strain_point_sheet_c")
    name, origin = table.text("name", source), table.text("source", source)
    if band is not None and curve is not None and not problems:
        _holds_the_glass(band, curve, problems)
    if problems or curve is None:
        raise BadInput(source, "\n  ".join(["this glass can't be used:", *problems]))
    missing = [key for key, value in (("expansion_per_k", alpha), ("youngs_modulus_gpa", modulus),
                                      ("poisson", poisson), ("diffusivity_m2_s", diffusivity)) if value is None]
    if missing:
        origin += f"; {', '.join(missing)} of family 90 ({base.source})"
    return Glass(
        name=name, viscosity=curve,
        expansion_per_k=alpha if alpha is not None else base.expansion_per_k,
        youngs_modulus_gpa=modulus if modulus is not None else base.youngs_modulus_gpa,
        poisson=poisson if poisson is not None else base.poisson,
        diffusivity_m2_s=diffusivity if diffusivity is not None else base.diffusivity_m2_s,
        source=origin, strain_point_sheet_c=sheet, band_c=band,
    )


def _holds_the_glass(band: tuple[float, float], curve: Viscosity, problems: list[str]) -> None:
    """Refuse a band that lies wholly above or below what the viscosity gives as the annealing range."""
    low, high = band
    annealing, strain = curve.temp_c(LOG_ANNEALING), curve.temp_c(LOG_STRAIN)
    if low > annealing or high < strain:
        problems.append(f"glass.band: {low:g} to {high:g} °C leaves out the annealing range, {strain:.0f} to "
                        f"{annealing:.0f} °C by its viscosity. Check the figures and their unit.")


def _diffusivity(table: _Table) -> float | None:
    """Return the diffusivity [m²/s], given itself or as conductivity / (density · heat capacity)."""
    direct = table.number("diffusivity_m2_s")
    given = [key for key in _DIFFUSIVITY if table.has(key)]
    parts = [table.number(key) for key in _DIFFUSIVITY]
    if given and table.has("diffusivity_m2_s"):
        table.wrong("diffusivity_m2_s", f"given twice, by itself and by {', '.join(given)}. Leave one way out.")
    elif given and len(given) < len(_DIFFUSIVITY):
        table.wrong(given[0], f"not enough for the diffusivity. Write {', '.join(_DIFFUSIVITY)}, all three.")
    conductivity, density, capacity = parts
    if conductivity is None or density is None or capacity is None:
        return direct
    return conductivity / (density * capacity)


def _viscosity(values: Any, problems: list[str]) -> Viscosity | None:
    """Return the curve of the viscosity table; None, with the reason noted, where it gives none."""
    if not isinstance(values, dict):
        problems.append("glass.viscosity: missing. Write [glass.viscosity] with a, b and t0_c, or with the "
                        "annealing, softening and working points.")
        return None
    table = _Table(values, "glass.viscosity.", problems)
    table.unknown({*_CONSTANTS, *_POINTS})
    before = len(problems)
    constants = [number for key in _CONSTANTS if (number := table.number(key)) is not None]
    points = [number for key in _POINTS if (number := table.number(key)) is not None]
    if len(problems) > before:
        return None
    curve: Viscosity | str
    if len(constants) == len(_CONSTANTS) and not points:
        curve = _by_constants(*constants)
    elif len(points) == len(_POINTS) and not constants:
        curve = _by_points(*points)
    else:
        curve = ("given neither way whole. Write a, b and t0_c, or annealing_point_c, softening_point_c and "
                 "working_point_c, and nothing else.")
    if isinstance(curve, str):
        problems.append(f"glass.viscosity: {curve}")
        return None
    return curve


def _by_constants(a: float, b: float, t0_c: float) -> Viscosity | str:
    """Return the curve of the constants, or what is wrong with it."""
    curve = Viscosity(a, b, t0_c)
    annealing_c = curve.temp_c(LOG_ANNEALING)
    low, high = _RANGES["annealing_point_c"]
    if not low <= annealing_c <= high:
        return (f"these constants put the annealing point at {annealing_c:g} °C, outside {low:g} to {high:g} °C. "
                "They are meant for log10 of Pa·s and °C; a table in poise or dPa·s wants a less 1.")
    return curve


def _by_points(annealing_c: float, softening_c: float, working_c: float) -> Viscosity | str:
    """Return the curve through the points, or what is wrong with them."""
    named = f"{annealing_c:g}, {softening_c:g}, {working_c:g} °C"
    if min(softening_c - annealing_c, working_c - softening_c) < _LEAST_APART_C:
        return (f"the points {named} don't rise by {_LEAST_APART_C:g} °C each. "
                "The annealing point is the lowest, the working point the highest.")
    try:
        curve = from_fixed_points(annealing_c, softening_c, working_c)
    except ZeroDivisionError:
        return f"no curve runs through {named}. Check them against the data sheet."
    if not curve.t0_c < curve.temp_c(LOG_STRAIN) < annealing_c:  # which no curve with b below 0 fulfils
        return f"no curve runs through {named}. Check them against the data sheet."
    return curve


def _band(values: Any, problems: list[str]) -> tuple[float, float] | None:
    """Return (low, high) of the band table [°C]; None where there is none, or with the reason noted."""
    if values is None:
        return None
    if not isinstance(values, dict):
        problems.append("glass.band: not a table. Write [glass.band] with low_c and high_c.")
        return None
    table = _Table(values, "glass.band.", problems)
    table.unknown({"low_c", "high_c"})
    low, high = table.number("low_c"), table.number("high_c")
    if not (table.has("low_c") and table.has("high_c")):
        problems.append("glass.band: incomplete. Write both low_c and high_c.")
    elif low is not None and high is not None:
        if low < high:
            return low, high
        problems.append(f"glass.band: low_c {low:g} is not below high_c {high:g}. Write the lower end as low_c.")
    return None
