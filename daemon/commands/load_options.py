"""The options that describe a load, shared by replay, rehearse and plan check."""

from __future__ import annotations

import argparse
import re
from math import isfinite

from daemon.errors import BadInput
from daemon.files import read_text
from daemon.firing.plan.empty_kiln import says_empty
from daemon.firing.plan.plan import Plan, parse_plan
from daemon.firing.setup import DEFAULT_GLASS, DEFAULT_THICKNESS_MM, THICKEST_MM, THINNEST_MM, Setup
from daemon.glass.materials import Glass
from daemon.glass.reading import family, parse_glass

NO_GLASS = "none"
"""What --glass is of a kiln with nothing but shelves in it."""
_MOST = 8
"""Figures that one option takes at most. [chosen: more would not fit the page]"""


def add_load_options(parser: argparse.ArgumentParser, *, offset: bool = True, may_be_empty: bool = False) -> None:
    """Add --glass, --thickness-mm, --faces and, where it makes sense, --offset-c.

    With ``may_be_empty`` the kiln may hold no glass; ``load_setup`` is then given the same.
    """
    none = f'; {NO_GLASS}: only shelves are in the kiln, as where the plan has "empty kiln" in its name'
    parser.add_argument("--glass", default=None if may_be_empty else DEFAULT_GLASS, metavar="90|GLASS.toml",
                        help="a built-in family (33, float, 90, 96, 104) or a file (default: 90)"
                             f"{none if may_be_empty else ''}")
    parser.add_argument("--thickness-mm", default=f"{DEFAULT_THICKNESS_MM:g}", metavar="MM",
                        help="thickness of the load's pieces, for instance 6 or 12.5 or \"19 6\"; the thickest rules "
                             "(default: 6)")
    parser.add_argument("--faces", type=int, choices=(1, 2), default=1,
                        help="faces that cool: 1 on a shelf, 2 standing free (default: 1)")
    if offset:
        parser.add_argument("--above-c", default=None, metavar="C[,C...]",
                            help="temperatures in °C to count the minutes above, besides 540, 620, 700 and 760")
        parser.add_argument("--offset-c", default=None, metavar="K",
                            help="how much the probe reads above the plan; subtracted everywhere")


def load_glass(given: str) -> Glass:
    """Return the glass for --glass: a family's name, or a file."""
    if given.endswith(".toml") or "/" in given:
        return parse_glass(read_text(given, what="glass"), given)
    return family(given)


def load_plan(path: str) -> Plan:
    """Return the plan in a file."""
    return parse_plan(read_text(path, what="plan"), path)


def number(option: str, given: str, low: float, high: float, unit: str) -> float:
    """Return the number given for an option; BadInput says what is wrong with it."""
    try:
        value = float(given)
    except ValueError:
        raise BadInput(option, f"{given!r} is not a number.", f"Write it in {unit}, without the unit.") from None
    if not isfinite(value) or not low <= value <= high:
        raise BadInput(option, f"{given} {unit} is outside {low:.12g} to {high:.12g} {unit}.", "Check the figure.")
    return value


def whole(option: str, given: str, low: int, high: int) -> int:
    """Return the whole number given for an option; BadInput says which ones can be."""
    if not (given.strip().isascii() and given.strip().isdecimal()) or not low <= int(given) <= high:
        raise BadInput(option, f"{given!r} can't be used.", f"Write a whole number from {low} to {high}.")
    return int(given)


def numbers(option: str, given: str, low: float, high: float, unit: str) -> list[float]:
    """Return the numbers given for an option, each once and the highest first; at most eight."""
    found = {number(option, one, low, high, unit) for one in _apart(option, given)}
    if len(found) > _MOST:
        raise BadInput(option, f"{len(found)} figures are too many.", f"Give at most {_MOST}, with commas between.")
    return sorted(found, reverse=True)


_MAY_BE_ONE = re.compile(r"(\d+),(\d|\d[05])")
"""Two figures, or one with a decimal comma: 12,5 and 6,35 are usual thicknesses."""


def _apart(option: str, given: str) -> list[str]:
    """Return the figures of a list, apart by blanks or commas; where there are blanks, commas are decimal ones.

    Raises
    ------
    BadInput
        Where it may be one figure or two, with how to write each.
    """
    if " " in given.strip():
        return [one.rstrip(",;").replace(",", ".") for one in given.split()]
    found = _MAY_BE_ONE.fullmatch(given)
    if found:
        one, two = ".".join(found.groups()), " ".join(found.groups())
        raise BadInput(option, f"{given} may be one figure or two.",
                       f'Write {one} for one, or "{two}", with a blank and in quotes, for two.')
    return given.split(",")


def load_thicknesses(args: argparse.Namespace) -> list[float]:
    """Return the thicknesses given [mm], the thickest first."""
    return numbers("--thickness-mm", args.thickness_mm, THINNEST_MM, THICKEST_MM, "mm")


def load_setup(args: argparse.Namespace, plan: Plan | None, *, may_be_empty: bool = False) -> Setup:
    """Return the setup that the options describe; ``may_be_empty`` as of ``add_load_options``."""
    given = getattr(args, "offset_c", None)
    above = getattr(args, "above_c", None)
    thickest, *thinner = load_thicknesses(args)
    is_empty = may_be_empty and (
        args.glass == NO_GLASS if args.glass else plan is not None and says_empty(plan.title))
    return Setup(
        plan=plan, glass=load_glass(DEFAULT_GLASS if is_empty else args.glass or DEFAULT_GLASS), is_empty=is_empty,
        thickness_mm=thickest, thinner_mm=tuple(thinner), faces=args.faces,
        above_c=() if above is None else tuple(numbers("--above-c", above, 20.0, 1400.0, "°C")),
        offset_k=None if given is None else number("--offset-c", given, -100.0, 100.0, "K"),
        unit=plan.unit if plan else "C",
    )
